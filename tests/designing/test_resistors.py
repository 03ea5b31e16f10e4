"""Resistors: divider current, input impedance, gain with what the source takes away."""

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.designing.preferred_values import values_between
from singlerail_nb.designing.resistors import FEEDBACK_RANGE, LARGEST_LEG, WELL_WITHIN

USUAL = {"supply": "9 V", "gain": 23, "input_impedance": "100k", "low_cutoff": "25 Hz"}


def _design(topology="noninverting", **change):
    return sr.design(sr.Requirements(**USUAL | change), topology)


@pytest.mark.parametrize("gain", [1.05, 2, 3.3, 10, 46, 101, 480])
@pytest.mark.parametrize("series", ["E24", "E96"])
def test_no_pair_is_better(gain, series):
    design = _design(gain=gain, resistor_series=series, low_cutoff="200 Hz")
    v = design.stage.values
    feedbacks = np.array(values_between(*FEEDBACK_RANGE, series))
    legs = np.array(values_between(100.0, 1e7, series))
    errors = np.abs((1 + feedbacks[:, None] / legs) / gain - 1)
    missed = abs((1 + v["r_f"] / v["r_g"]) / gain - 1)
    assert missed <= max(errors.min(), WELL_WITHIN * 0.05) + 1e-3
    # No other pair as good has a larger gain leg, up to where that is no gain.
    good = legs[np.any(errors <= missed, axis=0)]
    assert min(v["r_g"], LARGEST_LEG) >= min(good.max(), LARGEST_LEG)
    assert FEEDBACK_RANGE[0] <= v["r_f"] <= FEEDBACK_RANGE[1]
    assert v["r_g"] >= 100.0


def test_a_gain_of_two_takes_equal_resistors():
    v = _design(gain=2).stage.values
    assert v["r_f"] == v["r_g"] == 10e3


@pytest.mark.parametrize("source", ["1k", "10k", "33k"])
def test_the_amplifier_makes_up_for_the_source(source):
    design = _design(source_resistance=source, resistor_series="E96")
    v = design.stage.values
    loss = v["r_bias"] / (v["r_bias"] + v["r_source"])
    assert loss * (1 + v["r_f"] / v["r_g"]) == pytest.approx(23, rel=0.013)  # half a step of E96
    assert design.stage.transfer("signal", "output").midband_gain() == pytest.approx(23, rel=0.013)


@pytest.mark.parametrize("gain", [-0.3, -1, -7.7, -90, 7.7])
def test_the_inverting_stage_counts_the_source_in_its_gain(gain):
    design = _design("inverting", gain=gain, input_impedance="8k2", source_resistance="1k5")
    v = design.stage.values
    assert v["r_f"] / (v["r_in"] + 1.5e3) == pytest.approx(abs(gain), rel=0.05)
    assert 8.2e3 <= v["r_in"] <= 2 * 8.2e3
    assert design.step("r_in").recomputed.value == v["r_in"]


def test_a_follower_needs_a_bias_resistor_far_above_its_source():
    easy = _design("follower", gain=1, source_resistance="1k")
    assert easy.stage.values["r_bias"] == 100e3
    assert easy.step("r_bias").recomputed.name == "input impedance"
    # 100 kohm behind 33 kohm would leave 0.75: 5 % loss asks for 19 times the source.
    hard = _design("follower", gain=1, source_resistance="33k")
    assert hard.step("r_bias").exact == pytest.approx(19 * 33e3)
    assert hard.stage.values["r_bias"] == 680e3
    assert hard.step("r_bias").recomputed.value == pytest.approx(680 / 713)


def test_the_opamp_takes_its_part_of_the_tolerance_of_a_follower():
    opamp = sr.OpAmp("invented", 1e6, dc_gain=200.0, source="invented")
    hard = _design("follower", gain=1, source_resistance="33k", opamp=opamp)
    room = 0.05 - 1 / 200 - 25 / 1e6
    assert hard.step("r_bias").exact == pytest.approx(33e3 * (1 - room) / room)
    assert hard.passed


@pytest.mark.parametrize("current", ["1 uA", "10 uA", "330 uA"])
def test_the_divider_draws_no_more_than_allowed(current):
    design = _design(divider_current=current, input_impedance="1M")
    step = design.step("r_top")
    assert step.recomputed.value <= step.known["I_div"][0]
    assert step.recomputed.value > 0.9 * step.known["I_div"][0]  # E24: at most 10 % above the exact value
    assert design.step("r_bottom").recomputed.value == pytest.approx(4.5)
