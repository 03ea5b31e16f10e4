"""The highest point of a response: below the cut-off, in a resonance, at an end."""

import math

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.rational import Rational

FIRM = {"r_top": 10.0, "r_bottom": 10.0, "c_bias": 10e-3}


def test_a_low_pass_of_second_order():
    """Q/sqrt(1 - 1/(4 Q^2)) at f_0 sqrt(1 - 1/(2 Q^2))."""
    for quality in (0.8, 1.5, 6.0):
        peak = Rational([1.0], [1.0, 1.0 / quality, 1.0]).peak()
        assert peak.gain == pytest.approx(quality / math.sqrt(1 - 1 / (4 * quality**2)), rel=1e-12)
        assert 2 * math.pi * peak.frequency == pytest.approx(math.sqrt(1 - 1 / (2 * quality**2)), rel=1e-9)


def test_without_a_resonance_the_highest_point_is_the_flat_end():
    assert Rational([1.0], [1.0, 3.0, 1.0]).peak() == Rational([1.0], [1.0, 3.0, 1.0]).midband()
    assert math.isinf(Rational([0.0, 2.0], [1.0, 2.0]).peak().frequency)
    assert Rational([0.0], [1.0]).peak().gain == 0.0
    assert math.isinf(Rational([0.0, 1.0], [1.0]).peak().gain)


@pytest.mark.parametrize("c_boost", ["100n", "1u", "10u", "100u"])
def test_the_bootstrap_as_a_scan_sees_it(c_boost):
    stage = sr.stage("bootstrapped_follower", supply=9, r_source="2k2", c_in="100n", r_bias="100k",
                     r_boost="82k", c_boost=c_boost, **FIRM)  # fmt: skip
    whole = stage.transfer("signal", "output")
    f = np.geomspace(0.01, 1e3, 200_001)
    levels = whole.magnitude_db(f)
    assert whole.peak().above_midband_db == pytest.approx(levels.max(), abs=1e-6)
    assert whole.peak().frequency == pytest.approx(f[levels.argmax()], rel=1e-4)
    assert whole.low_cutoff() < whole.peak().frequency


def test_the_bootstrap_in_closed_form():
    """Firm bias, R_source 0, both resistors R: (s C_in R (2 + s C_b R)) over the same plus 1."""
    c_in, c_boost, r = 100e-9, 1e-6, 100e3
    stage = sr.stage("bootstrapped_follower", supply=9, r_source=0, c_in=c_in, r_bias=r, r_boost=r,
                     c_boost=c_boost, r_top=0.1, r_bottom=0.1, c_bias=10e-3)  # fmt: skip
    s = 2j * math.pi * np.geomspace(0.1, 1e3, 9)
    top = s * c_in * r * (2 + s * c_boost * r)
    whole = stage.transfer("signal", "output")
    assert whole((s / 2j / math.pi).real) == pytest.approx(top / (1 + top), rel=1e-4)
    # The input sees an inductance: at 1 kHz far more than the 200 kilohm of the resistors.
    seen = abs(stage.input_impedance()(1e3))
    assert seen == pytest.approx(
        abs(2 * r + 2j * math.pi * 1e3 * c_boost * r * r - 1j / (2e3 * math.pi * c_in)), rel=1e-3
    )


def test_the_capacitor_at_zero_ohm_source_and_no_boost_is_a_plain_follower():
    """With a boost capacitor that is hardly there the corner is that of both resistors in series."""
    stage = sr.stage("bootstrapped_follower", supply=9, r_source=0, c_in="100n", r_bias="100k", c_boost="1p",
                     r_boost="100k", **FIRM)  # fmt: skip
    whole = stage.transfer("signal", "output")
    assert whole.low_cutoff() == pytest.approx(1 / (2 * math.pi * 200e3 * 100e-9), rel=1e-3)
    assert whole.peak().above_midband_db == pytest.approx(0.0, abs=1e-4)
