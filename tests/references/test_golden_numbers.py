"""Figures and limits worked out by hand for this project, independent of any product."""

import math

import numpy as np
import pytest

import singlerail_nb as sr

INPUT = {
    "r_source": 600,
    "c_in": "330n",
    "r_bias": "100k",
    "r_top": "100k",
    "r_bottom": "100k",
    "c_bias": "10u",
}
STIFF = {"r_source": 0, "c_bias": 10e-3, "r_top": "1k", "r_bottom": "1k"}


def noninverting(**parts):
    return sr.stage("noninverting", supply=9, **{**INPUT, **parts})


@pytest.mark.parametrize(("gain", "corner"), [(2, 11.254), (11, 15.783), (101, 15.914)])
def test_the_gain_leg_alone(gain, corner):
    """R_g 1k, C_g 10 uF: its pole at 15.915 Hz times sqrt(1 - 2/G^2)."""
    leg = noninverting(r_g="1k", c_g="10u", r_f=(gain - 1) * 1e3).section("plus", "amp_out")
    assert leg.low_cutoff() == pytest.approx(corner, abs=5e-4)
    assert leg.low_cutoff() == pytest.approx(15.9154943 * math.sqrt(1 - 2 / gain**2), rel=1e-8)


def test_below_a_gain_of_the_square_root_of_two_the_leg_has_no_corner():
    """Down to DC the gain is 1, less than 3 dB below: there is no -3 dB frequency."""
    leg = noninverting(r_g="10k", c_g="1u", r_f="4k").section("plus", "amp_out")
    assert leg.midband_gain() == pytest.approx(1.4, rel=1e-9)
    assert leg.low_cutoff() == 0.0


def test_towards_unity_gain_the_leg_vanishes():
    """The whole stage then has the corner of its input, as a follower has."""
    parts = {"r_f": 0.1, "r_g": "100k", "c_g": "1u"}
    whole = noninverting(**parts).transfer("signal", "output").low_cutoff()
    follower = sr.stage("follower", supply=9, **INPUT).transfer("signal", "output").low_cutoff()
    assert whole == pytest.approx(follower, rel=1e-5)


def test_a_stiff_bias_and_a_stiff_source_leave_the_textbook_corner():
    """R_s to 0 and C_bias to infinity: 1/(2 pi R_bias C_in)."""
    stage = noninverting(**STIFF, r_f="10k", r_g="1k", c_g="1000u")
    expected = 1 / (2 * math.pi * 100e3 * 330e-9)
    assert stage.transfer("signal", "plus").low_cutoff() == pytest.approx(expected, rel=1e-4)
    soft = noninverting(r_f="10k", r_g="1k", c_g="1000u")
    assert soft.transfer("signal", "plus").low_cutoff() != pytest.approx(expected, rel=1e-3)


def test_without_errors_the_output_rests_on_the_bias():
    """No leakage, no bias current: V_out = V_bias, whatever the gain."""
    for stage in (
        noninverting(r_f="100k", r_g="1k", c_g="100u"),
        sr.stage("follower", supply=9, **INPUT),
        sr.stage(
            "inverting", supply=9, r_in="10k", r_f="100k", **{k: v for k, v in INPUT.items() if k != "r_bias"}
        ),
    ):
        point = sr.operating_point(stage)
        assert point.voltage("amp_out") == pytest.approx(point.voltage("bias"), rel=1e-12)
        assert point.voltage("bias") == pytest.approx(4.5, rel=1e-12)


def test_without_its_capacitor_the_leg_amplifies_the_bias():
    """The first wrong circuit: 4.5 V times 11 asks for 49.5 V."""
    wrong = sr.stage("leg_without_capacitor", supply=9, r_f="10k", r_g="1k", **INPUT)
    assert sr.operating_point(wrong).voltage("amp_out") == pytest.approx(49.5, rel=1e-12)


def test_an_unloaded_output_has_no_corner_of_its_own():
    """R_L to infinity moves the corner of C_out to 0."""
    parts = {"r_f": "10k", "r_g": "1k", "c_g": "100u", "c_out": "1u"}
    corners = [
        noninverting(**parts, r_load=load).section("amp_out", "output").low_cutoff()
        for load in (1e4, 1e6, 1e9)
    ]
    assert corners == pytest.approx(1 / (2 * np.pi * 1e-6 * np.array([1e4, 1e6, 1e9])), rel=1e-9)
