"""Rounding to the E series and moving along them."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from singlerail_nb.designing.preferred_values import (
    SERIES,
    half_gap,
    is_preferred,
    neighbours,
    preferred,
    series,
    step,
    values_between,
)
from singlerail_nb.errors import QuantityError, UnknownNameError

names = st.sampled_from(sorted(SERIES))
values = st.floats(1e-13, 1e10)


@pytest.mark.parametrize(
    ("value", "name", "rounding", "expected"),
    [
        (4.6e-6, "E24", "nearest", 4.7e-6),
        (4.6e-6, "E3", "up", 4.7e-6),
        (4.6e-6, "E3", "down", 2.2e-6),
        (47e3, "E24", "up", 47e3),
        (47e3, "E24", "down", 47e3),
        (95.0, "E24", "up", 100.0),
        (95.0, "E24", "down", 91.0),
        (96.0, "E24", "nearest", 100.0),  # across the decade
        (0.99, "E6", "nearest", 1.0),
        (0.99, "E6", "down", 0.68),
        (3.2, "E3", "nearest", 2.2),  # by ratio: 3.2/2.2 is less than 4.7/3.2
        (3.3, "E3", "nearest", 4.7),  # and not by difference: 3.3 is nearer to 2.2
        (919.0, "E192", "nearest", 920.0),
    ],
)
def test_rounding(value, name, rounding, expected):
    assert preferred(value, name, rounding) == expected


@pytest.mark.parametrize("rounding", ["nearest", "up", "down"])
@pytest.mark.parametrize("name", SERIES)
def test_every_figure_of_every_decade_is_itself(name, rounding):
    digits = len(str(series(name)[0]))
    for decade in range(-12, 10):
        for figure in series(name):
            value = float(f"{figure}e{decade - digits + 1}")
            assert preferred(value, name, rounding) == value
            assert is_preferred(value, name)


def test_noise_of_a_computation_does_not_skip_a_value():
    assert preferred(0.1 + 0.2, "E24", "up") == 0.3
    assert preferred(47e3 * (1 - 1e-12), "E24", "down") == 47e3
    assert is_preferred(0.1 + 0.2)
    assert not is_preferred(47e3 * (1 + 1e-8))


@given(values, names)
def test_up_and_down_enclose(value, name):
    below, above = preferred(value, name, "down"), preferred(value, name, "up")
    assert below <= value * (1 + 1e-9)
    assert above >= value * (1 - 1e-9)
    nearest = preferred(value, name)
    assert nearest in (below, above)
    assert abs(math.log(nearest / value)) <= min(math.log(value / below), math.log(above / value)) + 1e-9
    if below != above:
        assert step(below, name) == above
        assert neighbours(value, name) == (below, above)


@given(values, names, st.integers(-30, 30))
def test_steps_can_be_taken_back(value, name, steps):
    start = preferred(value, name)
    end = step(start, name, steps)
    assert step(end, name, -steps) == start
    assert (end > start) == (steps > 0)


@given(values, names, st.integers(-4, 4))
def test_one_decade_is_as_many_steps_as_the_series_has(value, name, decades):
    start = preferred(value, name)
    assert step(start, name, decades * len(SERIES[name])) == pytest.approx(start * 10.0**decades, rel=1e-15)


@given(values, names)
def test_neighbours_of_a_preferred_value_leave_it_out(value, name):
    middle = preferred(value, name)
    below, above = neighbours(middle, name)
    assert below < middle < above
    assert values_between(below, above, name) == (below, middle, above)


def test_first_step_from_between_two_values():
    assert step(4800, "E24", 1) == 5100.0
    assert step(4800, "E24", -1) == 4700.0
    assert step(4800, "E24", 0) == 4700.0
    assert step(4800, "E24", 2) == 5600.0
    assert step(4800, "E24", -2) == 4300.0


def test_values_between_include_both_ends():
    assert values_between(1e-6, 10e-6, "E6") == (1e-6, 1.5e-6, 2.2e-6, 3.3e-6, 4.7e-6, 6.8e-6, 1e-5)
    assert values_between(90, 120, "E12") == (100.0, 120.0)
    assert values_between(1.1, 1.4, "E6") == ()
    assert values_between(47, 47, "E3") == (47.0,)


@given(values, st.floats(1, 1e4), names)
def test_values_between_are_all_there(low, ratio, name):
    found = values_between(low, low * ratio, name)
    assert all(step(a, name) == b for a, b in pairwise(found))
    if found:
        assert found[0] == preferred(low, name, "up")
        assert found[-1] == preferred(low * ratio, name, "down")


@given(values, names)
def test_no_value_is_farther_than_the_half_gap(value, name):
    nearest = min((*neighbours(value, name), preferred(value, name)), key=lambda v: abs(v - value))
    assert abs(nearest - value) / value <= half_gap(name) * (1 + 1e-9)


CALLS = (
    preferred,
    is_preferred,
    neighbours,
    lambda value, name: step(value, name, 0),
    lambda value, name: step(value, name, 2),
    lambda value, name: values_between(value, 1e3, name),
    lambda value, name: values_between(1.0, value, name),
)


@pytest.mark.parametrize("call", CALLS)
@pytest.mark.parametrize("value", [0, -4.7, math.nan, math.inf, 1e-31, 1e31])
def test_values_that_cannot_be_preferred(call, value):
    with pytest.raises(QuantityError, match="a positive number"):
        call(value, "E24")


@pytest.mark.parametrize("call", [*CALLS, lambda _, name: series(name), lambda _, name: half_gap(name)])
def test_unknown_series_lists_the_known_ones(call):
    with pytest.raises(UnknownNameError, match="E3, E6, E12, E24, E48, E96, E192"):
        call(4.7, "E25")


def test_unknown_rounding():
    with pytest.raises(UnknownNameError, match="nearest, up, down"):
        preferred(4.7, "E24", "ceiling")


def test_ends_the_wrong_way_round():
    with pytest.raises(QuantityError, match="Exchange"):
        values_between(10, 1)


def test_steps_out_of_the_world():
    with pytest.raises(QuantityError, match="after 9999 steps"):
        step(4.7, "E24", 9999)


def test_the_series_cannot_be_changed():
    with pytest.raises(TypeError):
        SERIES["E24"] = (1,)
