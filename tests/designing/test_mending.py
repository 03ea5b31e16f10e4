"""The smallest change that mends: nearest range first, narrow ranges found, idle parts skipped."""

import math
from dataclasses import replace

import pytest

import singlerail_nb as sr
from singlerail_nb.designing.demands import Demands
from singlerail_nb.designing.mending import NOT_OURS, opamp_mends, part_mends
from singlerail_nb.designing.review import review

PARTS = {"r_source": "2k2", "c_in": "68n", "r_bias": "47k", "r_top": "30k", "r_bottom": "30k",
         "c_bias": "2u2", "r_f": "82k", "r_g": "2k", "c_g": "6u8", "c_out": "1u5",
         "r_load": "10k"}  # fmt: skip


@pytest.fixture(scope="module")
def stage():
    return sr.stage("noninverting", supply=9, opamp=sr.opamp("GPB"), **PARTS)


def only(mends):
    (mend,) = mends
    return mend


def inside(name, low, high):
    """Return a margin that is positive for one part between two values, and falls off outside."""

    def margin(stage):
        u = math.log(stage.values[name])
        return min(u - math.log(low), math.log(high) - u)

    return margin


@pytest.mark.parametrize(
    ("low", "high", "nearest"),
    [
        (100e3, 1e9, 100e3),
        (1.0, 50e3, 50e3),
        (82.1e3, 82.2e3, 82.1e3),
        (700e3, 702e3, 700e3),
        (9e3, 9.02e3, 9.02e3),
    ],
)
def test_the_nearest_value_that_passes_is_found_even_in_a_narrow_range(stage, low, high, nearest):
    margin = inside("r_f", low, high)
    mend = only(part_mends(stage, margin))
    assert mend.what == "r_f"
    assert margin(mend.stage) >= 0
    assert mend.value == pytest.approx(nearest, rel=2e-3)
    assert mend.size == pytest.approx(abs(math.log(mend.value / 82e3)))


def test_of_two_ranges_the_nearer_one_counts(stage):
    up, down = inside("c_g", 20e-6, 30e-6), inside("c_g", 1e-6, 3e-6)
    mend = only(part_mends(stage, lambda s: max(up(s), down(s))))
    assert mend.value == pytest.approx(3e-6, rel=2e-3)


def test_a_figure_that_is_nothing_nearby_may_wake_up_further_out(stage):
    awake = inside("r_top", 2e3, 9e3)
    mend = only(part_mends(stage, lambda s: max(-1.0, awake(s))))
    assert mend.value == pytest.approx(9e3, rel=2e-3)


def test_a_part_without_influence_costs_few_evaluations(stage):
    asked = []

    def margin(changed):
        asked.append(next((n for n, v in changed.values.items() if v != stage.values[n]), None))
        return math.log(changed.values["r_f"] / 100e3)

    mend = only(part_mends(stage, margin))
    assert mend.value == pytest.approx(100e3, rel=1e-3)
    assert asked.count("c_in") <= 9  # of 24 steps outwards
    assert not set(asked) & set(NOT_OURS)


def test_what_is_good_enough_ends_the_search(stage):
    near, far = inside("r_f", 100e3, 1e9), inside("c_g", 1e-3, 1.0)
    every = part_mends(stage, lambda s: max(near(s), far(s)))
    assert [mend.what for mend in every] == ["r_f", "c_g"]
    first = part_mends(stage, lambda s: max(near(s), far(s)), enough=lambda mend: mend.what == "r_f")
    assert [mend.what for mend in first] == ["r_f"]
    assert first[0].value == every[0].value
    picky = part_mends(stage, lambda s: max(near(s), far(s)), enough=lambda mend: mend.what == "c_g")
    assert [mend.what for mend in picky] == ["r_f", "c_g"]


def test_nothing_helps_where_no_value_passes(stage):
    assert part_mends(stage, lambda s: -abs(math.log(s.values["r_f"] / 82e3)) - 0.1) == []


def test_a_figure_of_the_op_amp_is_changed_with_its_limits(stage):
    def margin(changed):
        return 1.0 - changed.opamp.figure("offset_voltage", "worst") / 3e-3

    mend = only(opamp_mends(stage, margin, ("offset_voltage", "gbw")))
    assert mend.value == pytest.approx(1e-3, rel=2e-3)  # 2 mV typical, 6 mV at worst
    assert mend.text.startswith("an op-amp whose ")
    assert mend.text.endswith(" instead of 2 mV")
    assert opamp_mends(replace(stage, opamp=None), margin, ("gbw",)) == []


@pytest.mark.parametrize("changes", [{"r_top": 220e3}, {"r_top": 3e3}])
def test_a_bias_point_far_off_is_brought_back(stage, changes):
    demands = Demands(output_swing="3 Vpp", supply_min=6.0, supply_max=9.6)
    table = review(stage.with_parts(**changes), demands)
    (row,) = table.failed
    assert row.value == 0
    mend = table.mends[row.id]
    assert mend.what in {"r_top", "r_bottom"}
    assert review(mend.stage, demands).passed
