"""The worked tolerance stack: corners at 4.8, 1.6 and 1.6 Hz with real tolerances.

Computed for this project by the product of three isolated first-order corners (no published source):
capacitors 10, 20 and 20 %, resistors 1 %: nominal 5.68 Hz, extremes 5.01 and 6.59 Hz, 1 % and 99 % of random
boards 5.19 and 6.31 Hz; with the output capacitor at 0.34 of its value 7.66 Hz.  The first corner leaves the
source resistance out; with it the whole network lies up to 0.6 % lower.
"""

import math

import numpy as np
import pytest
from scipy.optimize import brentq

import singlerail_nb as sr
from singlerail_nb.analysis.tolerance import monte_carlo, worst_case

STAGE = sr.stage(
    "noninverting", supply=9, r_source=600, c_in="330n", r_bias="100k", r_top="100k", r_bottom="100k",
    c_bias=9.9e-3, r_f="100k", r_g="1k", c_g="100u", c_out="10u", r_load="10k",
)  # fmt: skip
TOLERANCE = {"c_in": 0.1, "c_g": 0.2, "c_out": 0.2, "resistors": 0.01}


def product_of_corners(corners):
    def excess(f):
        return math.prod(1.0 + (c / f) ** 2 for c in corners) - 2.0

    return brentq(excess, 0.1, 100.0)


def corners(c_in=1.0, c_g=1.0, c_out=1.0, resistors=1.0):
    base = 1 / (2 * math.pi * np.array([330e-9 * 100e3, 100e-6 * 1e3, 10e-6 * 10e3]))
    return base / np.array([c_in, c_g, c_out]) / resistors


def test_the_worked_figures_by_hand():
    assert product_of_corners(corners()) == pytest.approx(5.68, abs=0.006)
    assert product_of_corners(corners(1.1, 1.2, 1.2, 1.01)) == pytest.approx(5.01, abs=0.01)
    assert product_of_corners(corners(0.9, 0.8, 0.8, 0.99)) == pytest.approx(6.59, abs=0.01)
    assert product_of_corners(corners(c_out=0.34)) == pytest.approx(7.66, abs=0.01)


def test_the_whole_network_beside_them():
    found = worst_case(STAGE, TOLERANCE)["low_cutoff"]
    assert found.is_proven
    assert (found.nominal, *found.limits) == pytest.approx((5.68, 5.01, 6.59), rel=0.006)
    spread = monte_carlo(STAGE, 20_000, TOLERANCE, seed=1)
    assert spread.percentiles("low_cutoff") == pytest.approx((5.19, 6.31), rel=0.01)


def test_a_derated_ceramic_leaves_the_whole_spread():
    derated = STAGE.with_parts(c_out=0.34 * 10e-6).transfer("signal", "output").low_cutoff()
    assert derated == pytest.approx(7.66, rel=0.006)
    assert derated > worst_case(STAGE, TOLERANCE).low_cutoff[1]
