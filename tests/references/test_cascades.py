"""Bandwidth factors of several poles against published figures.

n identical poles shrink the band by sqrt(2^(1/n) - 1); the handbook row is a table of the kind found in
Millman (from memory).  Worked examples, via a textbook companion: S. Sharma 5.27 and 5.28; J. B. Gupta 8.13;
J. Paul, p. 423.
"""

import math
from functools import reduce

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.rational import HALF_POWER_DB, Rational

HALF = 10 ** (-HALF_POWER_DB / 20)
HANDBOOK = {1: 1.0, 2: 0.64, 3: 0.51, 4: 0.43, 5: 0.39, 6: 0.35}
EXACT = {1: 1.0, 2: 0.643594, 3: 0.509825, 4: 0.434979, 5: 0.385614, 6: 0.349946}


def low_passes(*corners):
    """Return the overall corner of low-pass poles, from the roots of their product."""
    bottom = reduce(np.convolve, [[1.0, 1 / corner] for corner in corners])
    (corner,) = Rational([1.0], bottom).crossings(HALF)
    return corner * 2 * math.pi


def high_passes(*corners):
    """Return the overall corner of high-pass poles, from the roots of their product."""
    bottom = reduce(np.convolve, [[1.0, 1 / corner] for corner in corners])
    top = np.zeros(len(corners) + 1)
    top[-1] = 1 / math.prod(corners)
    (corner,) = Rational(top, bottom).crossings(HALF)
    return corner * 2 * math.pi


@pytest.mark.parametrize("n", EXACT)
def test_identical_poles(n):
    assert low_passes(*[1.0] * n) == pytest.approx(EXACT[n], abs=5e-7)
    assert low_passes(*[1.0] * n) == pytest.approx(math.sqrt(2 ** (1 / n) - 1), rel=1e-9)
    assert high_passes(*[1.0] * n) == pytest.approx(1 / EXACT[n], rel=2e-6)


@pytest.mark.parametrize("n", HANDBOOK)
def test_the_handbook_row_is_the_exact_one_rounded(n):
    assert round(low_passes(*[1.0] * n), 2) == HANDBOOK[n]


def test_worked_examples_of_equal_poles():
    # Sharma 5.27: overall 25 Hz and 16 kHz of three stages: 12.74 Hz (cut off) and 31.38 kHz each.
    assert 25.0 / high_passes(1.0, 1.0, 1.0) == pytest.approx(12.74, abs=0.01)
    assert 16e3 / low_passes(1.0, 1.0, 1.0) == pytest.approx(31.38e3, rel=2e-4)
    # Sharma 5.28: four stages of 40 Hz and 20 kHz: 91.95 Hz and 8.7 kHz overall.
    assert high_passes(*[40.0] * 4) == pytest.approx(91.95, abs=0.01)
    assert low_passes(*[20e3] * 4) == pytest.approx(8.7e3, rel=1e-4)
    # Gupta 8.13: overall 100 kHz of three stages: 196.15 kHz each.
    assert 100e3 / low_passes(1.0, 1.0, 1.0) == pytest.approx(196.15e3, rel=1e-4)


def test_the_corrected_low_corner_of_gupta_is_wrong():
    """Gupta 8.13: 25 Hz overall of three stages; a companion has 49.04 Hz each, yet it is 12.75."""
    assert 25.0 / high_passes(1.0, 1.0, 1.0) == pytest.approx(12.75, abs=0.005)
    assert 25.0 * high_passes(1.0, 1.0, 1.0) == pytest.approx(49.04, abs=0.01)  # factor taken the wrong way


def three_coupling_corners(input_hz, leg_hz, output_hz):
    """Return a stage of the package whose low end has just these three corners."""
    r, gain = 100e3, 1e5
    return sr.stage("noninverting", supply=9, r_source=0, c_in=1 / (2 * math.pi * r * input_hz), r_bias=r,
                    r_top="10k", r_bottom="10k", c_bias=10e-3, r_g=100, r_f=100 * (gain - 1),
                    c_g=1 / (2 * math.pi * 100 * leg_hz), r_load=r,
                    c_out=1 / (2 * math.pi * r * output_hz))  # fmt: skip


def test_unequal_poles_do_not_add_as_squares():
    """Paul, p. 423: 100, 150, 200 by root of the sum of squares: 269.26 and 76.82; exact 300.76 and 68.96."""
    corners = (100.0, 150.0, 200.0)
    rule = math.sqrt(sum(corner**2 for corner in corners))
    assert rule == pytest.approx(269.26, abs=5e-3)
    assert 1 / math.sqrt(sum(corner**-2 for corner in corners)) == pytest.approx(76.82, abs=5e-3)
    assert high_passes(*corners) == pytest.approx(300.76, abs=5e-3)
    assert low_passes(*corners) == pytest.approx(68.96, abs=5e-3)
    stage = three_coupling_corners(*corners)
    assert stage.transfer("signal", "output").low_cutoff() == pytest.approx(300.76, rel=1e-3)
    assert high_passes(*corners) / rule == pytest.approx(1 / (1 - 0.105), rel=1e-3)
    assert low_passes(*corners) / 76.82 == pytest.approx(1 / 1.114, rel=1e-3)
