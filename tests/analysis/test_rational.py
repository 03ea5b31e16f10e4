"""Ratios of polynomials with numbers, against cases that can be solved by hand."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from singlerail_nb.analysis.rational import (
    HALF_POWER_DB,
    Rational,
    horner,
    polynomials_at,
    roots,
    squared_magnitude,
    trimmed,
)

HALF = 10 ** (-HALF_POWER_DB / 20)
TWO_PI = 2 * math.pi

low_pass = Rational([1.0], [1.0, 1.0])
high_pass = Rational([0.0, 1.0], [1.0, 1.0])
band_pass = Rational([0.0, 1.0], [1.0, 1e4 + 1, 1e4])  # corners at 1e-4 and 1 rad/s
zero = Rational([0.0], [1.0, 2.0])


def test_half_power_is_half_the_power():
    assert pytest.approx(math.sqrt(0.5), rel=1e-15) == HALF


def test_horner_takes_scalars_and_arrays():
    assert horner([1.0, 2.0, 3.0], 2.0) == 17.0
    assert horner([1.0, 2.0, 3.0], np.array([0.0, 1.0])).tolist() == [1.0, 6.0]
    assert horner([5.0], np.zeros(3)).tolist() == [5.0] * 3
    boards = [np.array([1.0, 10.0]), np.array([2.0, 20.0])]
    assert horner(boards, 3.0).tolist() == [7.0, 70.0]


@given(
    st.lists(st.lists(st.floats(-5, 5), min_size=1, max_size=8), min_size=1, max_size=4),
    st.lists(st.floats(0.01, 100), max_size=5),
)
def test_many_polynomials_at_once_equal_horner_one_by_one(polynomials, omegas):
    omega = np.array(omegas, dtype=float)
    found = polynomials_at(polynomials, omega)
    assert found.shape == (len(polynomials), omega.size)
    for row, coefficients in zip(found, polynomials, strict=True):
        size = sum(abs(c) * omega**k for k, c in enumerate(coefficients))
        assert np.all(np.abs(row - horner(coefficients, 1j * omega)) <= 1e-14 * size)


def test_trimmed_drops_the_highest_zeros_only():
    assert trimmed([0.0, 1.0, 0.0, 0.0]).tolist() == [0.0, 1.0]
    assert trimmed([0.0, 0.0]).tolist() == [0.0]


@given(st.lists(st.floats(-5, 5), min_size=1, max_size=7), st.floats(0.01, 100))
def test_squared_magnitude_is_the_square_of_the_magnitude(coefficients, omega):
    expected = abs(horner(coefficients, 1j * omega)) ** 2
    found = horner(squared_magnitude(coefficients), omega**2)
    size = sum(abs(c) * omega**k for k, c in enumerate(coefficients)) ** 2
    smallest = 1e-300  # the squares of numbers below 1e-150 fade away
    assert abs(found - expected) <= 1e-13 * size + smallest


def test_roots_at_zero_are_exact_and_first():
    assert roots(np.array([0.0, 0.0, 6.0, 5.0, 1.0])).tolist() == pytest.approx([0, 0, -2, -3])
    assert roots(np.array([0.0])).size == 0
    assert roots(np.array([4.0])).size == 0


@given(st.lists(st.floats(-5.0, 9.0), min_size=1, max_size=6, unique_by=round))
def test_roots_many_decades_apart_are_found(decades):
    """Coupling capacitors and op-amps set corners fourteen decades apart in one polynomial."""
    wanted = -(10.0 ** np.sort(decades))
    ascending = np.poly(wanted)[::-1]
    assert np.allclose(np.sort(roots(ascending).real), np.sort(wanted), rtol=1e-6)


def test_one_pole_by_hand():
    assert low_pass.midband().frequency == 0.0
    assert high_pass.midband().frequency == math.inf
    assert low_pass.crossings(HALF) * TWO_PI == pytest.approx([1.0], rel=1e-14)
    assert high_pass.crossings(HALF) * TWO_PI == pytest.approx([1.0], rel=1e-14)
    assert low_pass.group_delay(np.array([0.0, 1.0])).tolist() == pytest.approx([1.0, 0.5])


def test_the_midband_of_a_band_pass_lies_at_the_geometric_mean_of_its_corners():
    midband = band_pass.midband()
    assert midband.frequency * TWO_PI == pytest.approx(1e-2, rel=1e-9)
    assert midband.gain == pytest.approx(1 / (1e4 + 1), rel=1e-12)
    assert midband.stationary


def test_the_corners_of_a_band_pass_lie_around_it():
    low, high = band_pass.crossings(band_pass.midband().gain * HALF) * TWO_PI
    assert math.sqrt(low * high) == pytest.approx(1e-2, rel=1e-12)
    assert high - low == pytest.approx(1 + 1e-4, rel=1e-12)  # as for every single resonance


def test_a_shelf_has_its_gain_at_the_high_end():
    """The gain leg: 1 at DC, G far above, both flat; mid-band is the higher one."""
    shelf = Rational([1.0, 11.0], [1.0, 1.0])
    assert (shelf.midband().gain, shelf.midband().frequency) == (11.0, math.inf)


def test_of_two_plateaus_within_a_factor_of_two_the_flatter_wins():
    step = Rational([1.0, 1.5e3], [1.0, 1e3])
    assert step.midband().gain in (1.0, 1.5)
    assert step.midband().stationary


def test_a_plateau_is_found_although_it_slopes_everywhere():
    """Zeros and poles that rise all the way: no stationary point, yet two decades of 'flat' gain."""
    rising = Rational(np.poly([-1e6])[::-1], [1.0]).numerator
    terraced = Rational(np.convolve([0.0, 1.0], rising), np.poly([-1.0])[::-1])
    midband = terraced.midband()
    assert not midband.stationary
    assert midband.frequency * TWO_PI == pytest.approx(1e3, rel=1e-6)
    assert midband.gain == pytest.approx(1e6, rel=1e-5)


def test_a_peak_serves_where_nothing_is_flat():
    resonance = Rational([0.0, 1.0], [1.0, 1e-3, 1.0])
    assert resonance.midband().frequency * TWO_PI == pytest.approx(1.0, rel=1e-9)
    assert resonance.midband().gain == pytest.approx(1e3, rel=1e-9)


def test_a_response_that_only_rises_or_only_falls_has_an_infinite_gain_at_that_end():
    rising, falling = Rational([0.0, 2.0], [1.0]).midband(), Rational([1.0], [0.0, 2.0]).midband()
    assert (rising.gain, rising.frequency) == (math.inf, math.inf)
    assert (falling.gain, falling.frequency) == (math.inf, 0.0)


def test_a_level_that_is_never_reached_has_no_crossing():
    assert low_pass.crossings(2.0).size == 0
    assert band_pass.crossings(1.0).size == 0


def test_a_resonance_crosses_one_level_twice_and_a_ripple_more_often():
    two = Rational([0.0, 1.0], np.convolve([1.0, 0.01, 1.0], [1e4, 1.0, 1.0]))
    assert two.crossings(1e-4).size == 4


@given(st.floats(-3, 9), st.floats(0.01, 0.99))
def test_a_crossing_lies_on_its_level(decade, level):
    corner = 10.0**decade
    function = Rational([0.0, 1.0], np.poly([-corner, -3 * corner])[::-1] / corner)
    for omega in function.crossings(level * function.midband().gain) * TWO_PI:
        assert abs(function(1j * omega)) == pytest.approx(level * function.midband().gain, rel=1e-12)


def test_log_slopes_are_the_derivatives_of_the_logarithm():
    function = Rational([1.0, 0.3, 0.02], [1.0, 2.0, 5.0, 1.0])
    h = 1e-4
    for omega in (0.1, 0.7, 4.0):
        before, here, after = (math.log(abs(function(1j * omega * math.exp(x)))) for x in (-h, 0.0, h))
        first, second = function.log_slopes(omega)
        assert first == pytest.approx((after - before) / (2 * h), abs=1e-6)
        assert second == pytest.approx((after - 2 * here + before) / h**2, abs=1e-6)


def test_the_zero_function_is_quiet():
    assert zero.is_zero
    assert zero.zeros().size == 0
    assert (zero.midband().gain, zero.midband().frequency) == (0.0, 0.0)
    assert zero.group_delay(np.array([1.0, 2.0])).tolist() == [0.0, 0.0]
    assert zero(1j) == 0
