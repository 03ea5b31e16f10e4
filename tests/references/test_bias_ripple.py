"""Ripple through the bias source: published figures, worked examples and an independent solution."""

import math

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.supply_rejection import supply_rejection

# A source of 600 ohm through 330 nF, both divider resistors 100k: worked by hand for this project.
INPUT = {"supply": 9, "r_source": 600, "c_in": "330n", "r_bias": "100k"}
DIVIDER = {"r_top": "100k", "r_bottom": "100k"}
GAIN_101 = {"r_f": "100k", "r_g": "1k", "c_g": "100u"}
INVERTING = {"supply": 9, "r_source": 0, "c_in": 1e-3}


def decibels(stage, f=100.0, **conditions):
    return supply_rejection(stage, "output", **conditions).total.magnitude_db(f)


def test_a_plain_divider_gives_6_db():
    """AN-581 (Analog Devices, C. Kitchin): without a capacitor the rejection is only 6 dB."""
    stage = sr.stage("follower", bias="divider", **INPUT | {"c_in": "1n"}, **DIVIDER)
    assert -supply_rejection(stage, "bias", source="open").total.magnitude_db(50.0) == pytest.approx(
        6.02, abs=5e-3
    )


@pytest.mark.parametrize(
    ("r", "c", "printed", "within"),
    [
        ("100k", "100n", 32, 0.01),  # AN-937 (Analog Devices); OAFE (TI SLOD006), section 10.6
        ("100k", "10u", 0.3, 0.07),  # AN-937
        ("100k", "100u", 0.03, 0.07),  # AN-937
        ("100k", "100n", 30, 0.065),  # AN-581 rounds 31.8 Hz down
        ("1k", "100n", 3183.1, 1e-4),  # OAFE 10.6 prints 796 Hz: it takes 2k, not the Thevenin 500 ohm
    ],
)
def test_corners_of_divider_and_capacitor(r, c, printed, within):
    stage = sr.stage("inverting", r_in="10k", r_f="10k", r_top=r, r_bottom=r, c_bias=c, **INVERTING)
    assert stage.bias_filter().high_cutoff() == pytest.approx(printed, rel=within)


@pytest.mark.parametrize(("c_bias", "rejection"), [("100n", 16.38), ("10u", 55.96), ("100u", 75.96)])
def test_rejection_at_100_hz(c_bias, rejection):
    """100k/100k at 100 Hz: 6.02 dB and 20 dB per decade above the corner (derived for this project)."""
    stage = sr.stage("inverting", r_in="10k", r_f="10k", **DIVIDER, c_bias=c_bias, **INVERTING)
    found = supply_rejection(stage, "bias")
    assert -found.total.magnitude_db(100.0) == pytest.approx(rejection, abs=5e-3)
    assert found.sentence(100.0) == (
        f"At 100 Hz the filter gives {rejection:g} dB, of which 6.021 dB is the divider."
    )


@pytest.mark.parametrize(
    ("c_bias", "source", "expected"),
    [(None, "connected", 13.7), (None, "open", 34.1), ("10u", "connected", -42.2), ("10u", "open", -15.9)],
)
def test_worked_ripple_of_a_gain_of_101(c_bias, source, expected):
    """At 100 Hz: a connected source of low impedance shorts most of the ripple, an open jack none.

    The plain divider feeds the input directly, without a bias resistor worth mentioning.
    """
    bias = {"bias": "divider", "r_bias": 0.1} if c_bias is None else {"c_bias": c_bias}
    stage = sr.stage("noninverting", **DIVIDER, **GAIN_101, **INPUT | bias)
    assert decibels(stage, source=source) == pytest.approx(expected, abs=0.06)


@pytest.mark.parametrize(("source", "volts"), [("open", 1.0), ("connected", 0.16)])
def test_20_millivolts_of_60_hz(source, volts):
    """AN-581 and its article: 20 mV at 60 Hz on the rail become about 1 V with a gain of 100.

    True for an open or high-impedance source; 600 ohm through 330 nF leave 0.16 V (by hand).
    """
    stage = sr.stage("noninverting", bias="divider", **DIVIDER, **GAIN_101, **INPUT | {"r_bias": 0.1})
    (line,) = supply_rejection(stage, source=source).ripple(20e-3, lines=(60.0,))
    assert line.total == pytest.approx(volts, rel=0.02)


@pytest.mark.parametrize(("c_bias", "expected"), [("10u", -15.9), (None, 34.1)])
def test_worked_ripple_of_an_inverting_gain_of_100(c_bias, expected):
    bias = {"bias": "divider"} if c_bias is None else {"c_bias": c_bias}
    stage = sr.stage("inverting", r_in="1k", r_f="100k", **DIVIDER, **INVERTING, **bias)
    assert decibels(stage) == pytest.approx(expected, abs=0.06)


def test_worked_ripple_of_a_gain_of_ten():
    """|gain| 10: the inverting stage always has the noise gain of 11, the other a low-impedance source."""
    parts = {"r_f": "100k", "r_g": "10k", "c_g": "10u", "c_bias": "10u"}
    assert decibels(sr.stage("noninverting", **INPUT, **DIVIDER, **parts)) == pytest.approx(-61.5, abs=0.06)
    inverting = sr.stage("inverting", r_in="10k", r_f="100k", c_bias="10u", **DIVIDER, **INVERTING)
    assert decibels(inverting) == pytest.approx(-35.1, abs=0.06)


def test_limit_of_an_open_source():
    """Non-inverting, nothing connected: bias filter times gain."""
    stage = sr.stage("noninverting", **INPUT, **DIVIDER, c_bias="10u", **GAIN_101 | {"c_g": 1e-3})
    f = np.array([50.0, 100.0, 1e3])
    filtered = 0.5 / np.abs(1 + 2j * math.pi * f * 0.5)
    found = np.abs(supply_rejection(stage, "output", source="open").total(f))
    assert found == pytest.approx(101 * filtered, rel=1e-4)


@pytest.mark.parametrize(
    ("psrr_db", "gain", "ripple", "expected"),
    [
        (96.0, 101, 2.0, 3.202e-3),  # R. Gayakwad, Op-Amps, problem 4.11 (via a textbook companion)
        (96.0, 101, 10e-3, 16.01e-6),  # R. Gayakwad, problem 4.12
    ],
)
def test_the_op_amp_path_at_dc(psrr_db, gain, ripple, expected):
    parts = {"r_f": f"{gain - 1}k", "r_g": "1k"}
    stage = sr.stage("leg_without_capacitor", **INPUT, **DIVIDER, c_bias="10u", **parts)
    found = supply_rejection(stage, "output", psrr_db=psrr_db, psrr_corner=1e6)
    assert found.ripple(ripple, lines=(1e-3,))[0].opamp_path == pytest.approx(expected, rel=1e-3)


def test_numpy_solves_the_same_network():
    """Node equations of stage, op-amp pole and rejection by hand, at every frequency one matrix."""
    rs, cin, rb, ra, cb, rf, rg, cg, cout, rl = (
        600.0,
        330e-9,
        100e3,
        100e3,
        10e-6,
        100e3,
        1e3,
        10e-6,
        10e-6,
        10e3,
    )
    amplifier = sr.OpAmp("invented", gbw=1e6, dc_gain=2e5, source="invented")
    stage = sr.stage(
        "noninverting", supply=9, opamp=amplifier, r_source=rs, c_in=cin, r_bias=rb, r_top=ra, r_bottom=ra,
        c_bias=cb, r_f=rf, r_g=rg, c_g=cg, c_out=cout, r_load=rl,
    )  # fmt: skip
    found = supply_rejection(stage, "output", psrr_db=80.0, psrr_corner=100.0)
    for f in (1.0, 50.0, 100.0, 20e3, 100e3):
        s = 2j * math.pi * f
        zin, zg = rs + 1 / (s * cin), rg + 1 / (s * cg)
        # Unknown: bias, plus, minus, out, load.
        matrix = np.array([
            [2 / ra + s * cb + 1 / rb, -1 / rb, 0, 0, 0],
            [-1 / rb, 1 / rb + 1 / zin, 0, 0, 0],
            [0, 0, 1 / rf + 1 / zg, -1 / rf, 0],
            [0, 1, -1, -(1 / 2e5 + s / (2 * math.pi * 1e6)), 0],
            [0, 0, 0, -s * cout, s * cout + 1 / rl],
        ])  # fmt: skip
        error = 1e-4 * (1 + 1j * f / 100.0)
        by_bias = np.linalg.solve(matrix, [1 / ra, 0, 0, 0, 0])[4]
        by_opamp = np.linalg.solve(matrix, [0, 0, 0, -error, 0])[4]
        assert found.bias_path(f) == pytest.approx(by_bias, rel=1e-9)
        assert found.opamp_path(f) == pytest.approx(by_opamp, rel=1e-9)
        assert found.total(f) == pytest.approx(by_bias + by_opamp, rel=1e-9)
