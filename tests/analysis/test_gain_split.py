"""A gain over two stages: hand formulas, equal shares, the whole network."""

import math

import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.cascade import gain_sharing
from singlerail_nb.analysis.gain_split import gain_split, total_gain, with_first_gain
from singlerail_nb.errors import CircuitError, RequirementError

PARTS = {
    "r_source": 1e3, "c_in": "1u", "r_bias": "100k", "r_top": "22k", "r_bottom": "22k", "c_bias": "100u",
    "r_f": "11k", "r_g": "1k", "c_g": "220u", "c_in_2": "1u", "r_bias_2": "100k", "r_f_2": "2k",
    "r_g_2": "1k", "c_g_2": "220u", "c_out": "10u", "r_load": "10k",
}  # fmt: skip
OTHER = {k: v for k, v in PARTS.items() if k not in ("r_bias_2", "r_g_2", "c_g_2")} | {
    "r_in_2": "10k",
    "r_f_2": "30k",
}


def pair(**changes):
    """Return two stages in a row with a total gain of 36."""
    return sr.stage("two_stages", supply=9, opamp=sr.opamp("GPB"), **{**PARTS, **changes})


def test_the_total_gain_stays():
    assert total_gain(pair()) == pytest.approx(36.0, rel=1e-12)
    for first in (2.0, 6.0, 20.0):
        changed = with_first_gain(pair(), first)
        assert total_gain(changed) == pytest.approx(36.0, rel=1e-12)
        assert 1 + changed.values["r_f"] / 1e3 == pytest.approx(first)
        gain = changed.transfer("signal", "output").midband_gain()
        assert gain == pytest.approx(36 * 100 / 101, rel=2e-3)


def test_an_inverting_second_stage():
    stage = sr.stage("two_stages_inverting", supply=9, **OTHER)
    assert total_gain(stage) == pytest.approx(36.0)
    changed = with_first_gain(stage, 4.0)
    assert changed.values["r_f_2"] == pytest.approx(90e3)
    assert with_first_gain(stage, 72.0).values["r_f_2"] == pytest.approx(5e3)  # it may also attenuate


def test_equal_gains_reach_highest():
    table = gain_split(pair(), [3.0, 6.0, 12.0])
    tops = [split.high_cutoff for split in table]
    assert max(tops) == tops[1]
    shared = gain_sharing(36.0, sr.opamp("GPB").gbw)
    assert tops[1] == pytest.approx(shared.cutoff, rel=0.01)


def test_gain_in_front_is_quiet_and_gain_at_the_end_leaves_room():
    early, late = gain_split(pair(), [18.0, 2.0])
    assert early.input_noise < late.input_noise
    assert early.largest_input <= late.largest_input
    # By hand: two amplifiers of 42 nV/sqrt(Hz) with a corner at 40 Hz, source and gain leg of 1 k and 0.9 k.
    for split in (early, late):
        f = with_first_gain(pair(), split.first).transfer("signal", "output").midband.frequency
        amplifier = 42e-9 * math.sqrt(1 + 40 / f)
        resistors = math.sqrt(4 * 1.38e-23 * 300 * 1.9e3)
        expected = math.hypot(amplifier, amplifier / split.first, resistors)
        assert split.input_noise == pytest.approx(expected, rel=0.02)


def test_the_largest_input_clips_the_last_output():
    (split,) = gain_split(pair(), [6.0])
    stage = with_first_gain(pair(), 6.0)
    swing = sr.window(stage, amplifier="opamp_2").swing
    assert split.largest_input == pytest.approx(
        swing / 2 / abs(stage.transfer("signal", "amp_out_2")(1e3)), rel=0.01
    )
    assert f"{1e3 * split.largest_input:.4g} mVp" in repr(gain_split(pair(), [6.0]))


def test_what_cannot_be_split():
    for gain in (1.0, 36.0, 0.0, 100.0):
        with pytest.raises(RequirementError, match="6 each"):
            with_first_gain(pair(), gain)
    follower = sr.stage(
        "follower", supply=9, r_source=0, c_in="1u", r_bias="1k", r_top="1k", r_bottom="1k", c_bias="1u"
    )
    with pytest.raises(CircuitError, match="two_stages"):
        gain_split(follower, [2.0])
