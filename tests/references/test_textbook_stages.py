"""AC-coupled stages of textbooks, built with their parts and solved as networks.

Sources, each via a textbook companion unless said otherwise: R. Gayakwad, Op-Amps and Linear Integrated
Circuits, examples 6.1 and 6.2; D. Bell, Electronic Devices and Circuits, 14.4 and 14.7; S. Franco, Design
with Operational Amplifiers, 3rd ed., 3.5; M. Tooley, Electronic Circuits, 8.6; P. Horowitz and W. Hill,
The Art of Electronics (from memory).
"""

import math

import numpy as np
import pytest

import singlerail_nb as sr

ONE_MEGAHERTZ = sr.OpAmp("unity-gain bandwidth 1 MHz", gbw=1e6, dc_gain=1e7)
STIFF_BIAS = {"r_top": "1k", "r_bottom": "1k", "c_bias": 10e-3}


def corners(stage, start="signal", end="output"):
    """Return the frequencies of all poles in Hz."""
    return np.abs(stage.section(start, end).poles()) / (2 * math.pi)


def test_gayakwad_6_1_inverting():
    """R_o 50, R_1 100, R_F 1k, C_i 0.1 uF, 1 MHz: 10.61 kHz to 90.91 kHz."""
    parts = {"r_source": 50, "r_in": 100, "r_f": "1k", "c_in": "0.1u", **STIFF_BIAS}
    ideal = sr.stage("inverting", supply=15, **parts)
    assert ideal.transfer("signal", "output").low_cutoff() == pytest.approx(10.61e3, rel=1e-3)
    # The printed top end leaves the source resistance and the capacitor out of the noise gain of 11.
    alone = parts | {"r_source": 0, "c_in": 10e-3}
    printed = sr.stage("inverting", supply=15, opamp=ONE_MEGAHERTZ, **alone)
    assert printed.transfer("signal", "output").high_cutoff() == pytest.approx(90.91e3, rel=1e-3)
    # With them the noise gain is 7.7 and the band is wider than the printed 80.3 kHz.
    whole = sr.stage("inverting", supply=15, opamp=ONE_MEGAHERTZ, **parts).transfer("signal", "output")
    assert whole.high_cutoff() - whole.low_cutoff() > 1.3 * 80.3e3


def test_gayakwad_6_2_single_supply():
    """R_o 50, C_i and C_1 0.1 uF, R_1 = R_2 = R_3 = 100k, R_F 1M, +15 V: prints f_L = 31.8 Hz."""
    stage = sr.stage("noninverting", supply=15, bias="divider", r_source=50, c_in="0.1u", r_bias=0.1,
                     r_top="100k", r_bottom="100k", r_f="1M", r_g="100k", c_g="0.1u")  # fmt: skip
    # The input capacitor alone gives the printed figure; the book ignores the 15.9 Hz of the gain leg.
    assert stage.transfer("signal", "plus").low_cutoff() == pytest.approx(31.80, abs=5e-3)
    assert corners(stage, "plus") == pytest.approx([15.9155], abs=1e-3)
    assert stage.transfer("signal", "output").low_cutoff() == pytest.approx(37.92, abs=0.01)
    assert sr.operating_point(stage).voltage("amp_out") == pytest.approx(7.5, rel=1e-9)
    real = sr.stage("noninverting", supply=15, bias="divider", opamp=ONE_MEGAHERTZ, **stage.values)
    assert real.transfer("signal", "output").high_cutoff() == pytest.approx(90.91e3, rel=1e-3)


def test_bell_14_4_follower():
    """70 Hz, R_1 120k, R_L 4k: C_1 for a tenth of R_1 is 0.19 uF, so the output alone sets the corner."""
    c_1, c_2 = 10 / (2 * math.pi * 70 * 120e3), 1 / (2 * math.pi * 70 * 4e3)
    assert c_1 == pytest.approx(0.19e-6, rel=5e-3)
    stage = sr.stage("follower", supply=12, r_source=0, c_in=c_1, r_bias="120k", c_out=c_2, r_load="4k",
                     **STIFF_BIAS)  # fmt: skip
    assert np.sort(corners(stage))[-2:] == pytest.approx([7.0, 70.0], rel=1e-3)
    # "Negligible" costs one per cent: two poles a factor of ten apart, 1.0099.
    assert stage.transfer("signal", "output").low_cutoff() == pytest.approx(70 * 1.0099, rel=1e-3)


def test_bell_14_7_output_capacitor_and_gain():
    """8.2 uF into 600 ohm: prints 32.36 Hz with 3.14 for pi, 32.349 exactly; R_2 50k, R_3 2.2k: 23.73."""
    stage = sr.stage("noninverting", supply=12, r_source=0, c_in="10u", r_bias="100k", r_f="50k", r_g="2.2k",
                     c_g="1000u", c_out="8.2u", r_load=600, **STIFF_BIAS)  # fmt: skip
    assert stage.section("amp_out", "output").low_cutoff() == pytest.approx(32.349, abs=5e-4)
    assert 32.349 * math.pi / 3.14 == pytest.approx(32.36, abs=0.01)
    assert stage.section("plus", "amp_out").midband_gain() == pytest.approx(23.73, abs=5e-3)


def test_franco_3_5_band_pass():
    """20 dB from 20 Hz to 20 kHz: 7.96k, 79.6k, 1 uF and 100 pF."""
    r_1 = 1 / (2 * math.pi * 20 * 1e-6)
    assert r_1 == pytest.approx(7.96e3, rel=1e-3)
    c_2 = 1 / (2 * math.pi * 20e3 * 10 * r_1)
    assert c_2 == pytest.approx(100e-12, rel=1e-3)
    stage = sr.stage("inverting", supply=9, r_source=0, c_in=1e-6, r_in=r_1, r_f=10 * r_1, c_f=c_2,
                     **STIFF_BIAS)  # fmt: skip
    whole = stage.transfer("signal", "output")
    assert corners(stage) == pytest.approx([20.0, 20e3], rel=1e-9)
    assert whole.magnitude_db(math.sqrt(20 * 20e3)) == pytest.approx(20.0, abs=0.01)
    assert (whole.low_cutoff(), whole.high_cutoff()) == pytest.approx((20.0, 20e3), rel=3e-3)


def test_tooley_8_6_band_pass():
    """R_in 10k, 250 Hz to 15 kHz: C_F 1.06 nF (and C_in 63.66 nF, derived)."""
    stage = sr.stage("inverting", supply=9, r_source=0, c_in=63.66e-9, r_in="10k", r_f="10k", c_f=1.061e-9,
                     **STIFF_BIAS)  # fmt: skip
    assert corners(stage) == pytest.approx([250.0, 15e3], rel=1e-3)


def test_art_of_electronics_corners():
    """From memory: 2.0k and 4.7 uF give 17 Hz, 100k and 0.1 uF give 16 Hz."""
    stage = sr.stage("noninverting", supply=9, r_source=0, c_in="0.1u", r_bias="100k", r_f="18k", r_g="2.0k",
                     c_g="4.7u", **STIFF_BIAS)  # fmt: skip
    assert corners(stage, "plus") == pytest.approx([16.93], abs=5e-3)
    assert stage.transfer("signal", "plus").low_cutoff() == pytest.approx(15.92, abs=5e-3)
