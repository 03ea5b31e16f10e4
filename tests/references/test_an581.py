"""Single-supply stages of a published note, recomputed as the networks they are.

Source: Analog Devices AN-581, Biasing and Decoupling Op Amps in Single Supply Applications (C. Kitchin;
author and year from memory), tables 1, 2, 4 and 5.  The note sizes its capacitors by rules of thumb
(the square root of two for two equal poles, rounded up to the next common value), so the corner it
prints is the wanted one and not that of the circuit.  The exact corners were derived for this
project: ideal op-amp, source of 0 ohm, relative to the mid-band gain.
"""

import math

import pytest

import singlerail_nb as sr

# printed: gain, corner Hz, C_IN, R1, C1, C2, C_OUT; derived: gain, corner before and behind C_OUT in Hz.
TABLE_1 = [
    ((10, 10, "0.3u", "16.5k", "1.5u", "3u", "0.2u"), (10.091, 9.440, 13.234)),
    ((20, 10, "0.3u", "7.87k", "3u", "3u", "0.2u"), (20.060, 9.717, 13.453)),
]
# printed: gain, R1; the same R2 of 50k is printed for all.
TABLE_2 = [(10, "2k", 25), (20, "1k", 50), (10, "2k", 25), (100, "1k", 50)]
# printed: gain, corner, C_IN, R1, C1, C_OUT; derived: 1 + 100k/R1.
TABLE_4 = [
    (10, 10, "0.3u", "11.0k", "2u", "0.2u", 10.09),
    (20, 10, "0.3u", "5.23k", "4.7u", "0.2u", 20.12),
    (10, 50, "0.1u", "11.0k", "0.47u", "0.05u", 10.09),
    (101, 20, "0.2u", "1.0k", "15u", "0.1u", 101.0),
]
# printed: gain, corner, R1, C1, C_OUT.
TABLE_5 = [
    (10, 10, "10k", "2.7u", "0.2u"),
    (20, 10, "5k", "4.7u", "0.2u"),
    (10, 50, "10k", "0.5u", "0.05u"),
    (100, 20, "1k", "12u", "0.1u"),
]


def noninverting(c_in, r_g, c_g, c_bias, c_out, r_f="150k"):
    """Return the note's figure 2: a divider of 100k, R_IN and R_L of 100k."""
    return sr.stage("noninverting", supply=12, r_source=0, c_in=c_in, r_bias="100k", r_top="100k",
                    r_bottom="100k", c_bias=c_bias, r_f=r_f, r_g=r_g, c_g=c_g, c_out=c_out,
                    r_load="100k")  # fmt: skip


def inverting(r_in, c_in, c_out, r_f):
    """Return the note's figure 3 or 5: the + input on the bias node, R_L of 100k."""
    return sr.stage("inverting", supply=12, r_source=0, c_in=c_in, r_in=r_in, r_top="100k",
                    r_bottom="100k", c_bias="100u", r_f=r_f, c_out=c_out, r_load="100k")  # fmt: skip


@pytest.mark.parametrize(("printed", "derived"), TABLE_1)
def test_table_1_recomputed(printed, derived):
    gain, corner, c_in, r_1, c_1, c_2, c_out = printed
    exact_gain, exact_before, exact_overall = derived
    stage = noninverting(c_in, r_1, c_1, c_2, c_out)
    whole = stage.transfer("signal", "output")
    assert stage.section("plus", "amp_out").midband_gain() == pytest.approx(exact_gain, abs=5e-4)
    assert whole.midband_gain() == pytest.approx(gain, rel=0.01)
    assert stage.transfer("signal", "amp_out").low_cutoff() == pytest.approx(exact_before, abs=1e-3)
    assert whole.low_cutoff() == pytest.approx(exact_overall, abs=5e-4)
    # What is printed is the wanted corner: the parts miss it by a third.
    assert whole.low_cutoff() > 1.3 * corner


@pytest.mark.parametrize(("printed", "r_1", "of_the_parts"), TABLE_2)
def test_table_2_contradicts_itself(printed, r_1, of_the_parts):
    """With the printed R2 of 50k no row has the printed gain; 20k, 20k, 20k and 100k would give it."""
    fitting = {10: "20k", 20: "20k", 100: "100k"}[printed]
    built, meant = (
        inverting(r_1, "100u", "10u", r_2).section("signal", "amp_out").midband_gain()
        for r_2 in ("50k", fitting)
    )
    assert built == pytest.approx(of_the_parts, rel=1e-4)
    assert built != pytest.approx(printed, rel=0.3)
    assert meant == pytest.approx(printed, rel=1e-4)


@pytest.mark.parametrize(("printed", "corner", "c_in", "r_1", "c_1", "c_out", "exact"), TABLE_4)
def test_table_4_gains_hold_and_corners_are_missed(printed, corner, c_in, r_1, c_1, c_out, exact):
    # The Zener of figure 4 holds the bias node; a large filter capacitor does the same for signals.
    stage = noninverting(c_in, r_1, c_1, "1000u", c_out, r_f="100k")
    assert stage.section("plus", "amp_out").midband_gain() == pytest.approx(exact, abs=5e-3)
    assert exact == pytest.approx(printed, rel=0.01)
    assert stage.transfer("signal", "output").low_cutoff() > corner


@pytest.mark.parametrize(("printed", "corner", "r_1", "c_1", "c_out"), TABLE_5)
def test_table_5_gains_hold_and_corners_are_not_those_printed(printed, corner, r_1, c_1, c_out):
    stage = inverting(r_1, c_1, c_out, "100k")
    whole = stage.transfer("signal", "output")
    assert stage.section("signal", "amp_out").midband_gain() == pytest.approx(printed, rel=1e-9)
    assert whole.low_cutoff() != pytest.approx(corner, rel=0.01)


def test_the_rule_of_the_square_root_of_two_falls_short():
    """Two equal poles at f meet -3 dB at 1.5538 f: sized for f/sqrt(2) they give 1.0987 times f."""
    wanted = 20.0
    c_in = math.sqrt(2) / (2 * math.pi * 100e3 * wanted)
    c_out = math.sqrt(2) / (2 * math.pi * 10e3 * wanted)
    stage = sr.stage("follower", supply=12, r_source=0, c_in=c_in, r_bias="100k", r_top="100k",
                     r_bottom="100k", c_bias=10e-3, c_out=c_out, r_load="10k")  # fmt: skip
    assert stage.transfer("signal", "output").low_cutoff() / wanted == pytest.approx(1.0987, abs=1e-4)


def test_resting_voltages_of_figure_2():
    """The note: the output idles at half the supply, as the gain leg has a capacitor."""
    point = sr.operating_point(noninverting(*TABLE_1[0][0][2:]))
    assert point.voltage("bias") == pytest.approx(6.0, rel=1e-12)
    assert point.voltage("amp_out") == pytest.approx(6.0, rel=1e-12)
    assert point.voltage("output") == 0.0
