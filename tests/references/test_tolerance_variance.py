"""Random boards against the variance in closed form.

Source: elementary probability: for independent factors the mean of a product is the product of the means;
for y uniform from -t to t the mean of 1/(1+y) is ln((1+t)/(1-t))/(2t) and that of 1/(1+y)^2 is 1/(1-t^2).
"""

import math

import numpy as np
import pytest

from singlerail_nb.analysis.tolerance import monte_carlo, root_sum_square
from tests.sensible_stages import inverting, noninverting

BOARDS = 200_000


def test_gain_of_the_inverting_stage():
    t = 0.1
    stage = inverting(r_source=0)
    gain = monte_carlo(stage, BOARDS, {"r_f": t, "r_in": t}, seed=3).midband_gain
    mean_inverse = math.log((1 + t) / (1 - t)) / (2 * t)
    mean = 10 * mean_inverse
    variance = 100 * ((1 + t**2 / 3) / (1 - t**2) - mean_inverse**2)
    assert gain.mean() == pytest.approx(mean, abs=4 * math.sqrt(variance / BOARDS))
    assert gain.var() == pytest.approx(variance, rel=0.01)


def test_two_causes_of_one_part_multiply():
    stage = inverting(r_source=0)
    gain = monte_carlo(stage, BOARDS, {"r_f": 0.2}, seed=5).midband_gain
    assert gain.var() == pytest.approx(100 * 0.2**2 / 3, rel=0.01)


@pytest.mark.parametrize("distribution", ["uniform", "normal", "binned"])
def test_small_tolerances_follow_the_sensitivities(distribution):
    stage, tolerance = noninverting(), 0.002
    spread = monte_carlo(stage, BOARDS, tolerance, seed=2, distribution=distribution)
    squares = root_sum_square(stage, tolerance)
    for name in ("low_cutoff", "midband_gain"):
        expected = squares.deviation(name, distribution)
        assert np.std(spread.of(name)) == pytest.approx(expected, rel=0.01)
