"""Capacitors: side corners out of the way, a firm bias node, a floor against rumble."""

import math

import pytest

import singlerail_nb as sr
from singlerail_nb.designing.draft import Draft
from singlerail_nb.designing.low_end import FIRM_BIAS_RATIO, SIDE_CORNER_RATIO, strain

USUAL = {"supply": "9 V", "gain": 23, "input_impedance": "100k", "low_cutoff": "25 Hz", "load": "10k"}


def _design(topology="noninverting", **change):
    return sr.design(sr.Requirements(**USUAL | change), topology)


def _reactance(capacitance, f):
    return 1.0 / (2.0 * math.pi * f * capacitance)


def test_corners_that_do_not_set_the_cut_off_lie_at_a_fifth():
    design = _design()
    for part in ("c_g", "c_out"):
        step = design.step(part)
        assert step.known["f_side"] == (SIDE_CORNER_RATIO * 25.0, "Hz")
        assert step.recomputed.value <= SIDE_CORNER_RATIO * 25.0
        assert "common practice" in step.source


def test_ripple_decides_the_bias_capacitor_of_a_high_bias_resistor():
    step = _design(input_impedance="1M").step("c_bias")
    assert step.known["f_b"][0] == pytest.approx(2.5)
    assert "ripple" in step.reason
    assert "R_bias" not in step.reason


def test_a_low_bias_resistor_asks_for_a_firm_node():
    # 10 kohm behind a divider of 1 Mohm each: at a tenth of the cut-off the node would still be 50 kohm.
    design = _design(input_impedance="10k", divider_current="4.5 uA")
    step = design.step("c_bias")
    assert "ends on a firm node" in step.reason
    assert step.recomputed.value < 0.1 * 25.0
    values = design.stage.values
    assert _reactance(values["c_bias"], 25.0) <= FIRM_BIAS_RATIO * values["r_bias"]
    assert _reactance(step.exact, 25.0) == pytest.approx(FIRM_BIAS_RATIO * values["r_bias"], rel=1e-9)
    # Now the divider is no more than a tenth of the story.
    whole = design.stage.transfer("signal", "output")
    firm = design.stage.with_parts(c_bias=900e-6).transfer("signal", "output")
    assert whole.low_cutoff() == pytest.approx(firm.low_cutoff(), rel=0.12)


def test_an_inverting_stage_needs_no_firmer_node_than_ripple_asks():
    step = _design("inverting", input_impedance="10k", divider_current="4.5 uA").step("c_bias")
    assert step.known["f_b"][0] == pytest.approx(2.5)


def test_the_input_capacitor_makes_room_for_the_other_corners():
    step = _design().step("c_in")
    own_corner = step.known["f_in"][0]
    assert own_corner < 25.0
    assert f"{own_corner:.4g} Hz" in step.reason
    assert "25 Hz itself" in step.rejected
    alone = _design("follower", gain=1, load=None).step("c_in")
    assert own_corner < alone.known["f_in"][0] <= 25.0 * 1.02


def test_a_floor_that_is_met_anyway_changes_nothing():
    assert _design(rumble_floor="10 Hz").stage == _design().stage


def test_a_close_floor_moves_capacitors():
    free, kept = _design(), _design(rumble_floor="24.5 Hz")
    cutoff = kept.stage.transfer("signal", "output").low_cutoff()
    assert free.stage.transfer("signal", "output").low_cutoff() < 24.5 <= cutoff <= 25.0
    moved = [step for step in kept.steps if "rumble floor" in step.rounding]
    assert kept.step("c_in") in moved
    assert [step.part for step in kept.steps].count("c_in") == 1
    assert kept.steps[-1].part == "c_in"
    assert {step.part for step in kept.steps} == {step.part for step in free.steps}


def test_a_floor_with_a_droop_keeps_both():
    kept = _design(low_cutoff=None, droop=("0.5 dB", "70 Hz"), rumble_floor="23.5 Hz", capacitor_series="E12")
    assert kept.passed
    assert {"droop at 70 Hz", "rumble floor"} <= {check.requirement for check in kept.checks}


def test_strain_is_the_harder_of_the_two_requirements():
    needed = sr.Requirements(**USUAL | {"droop": ("1 dB", "50 Hz")})
    design = sr.design(needed)
    draft = Draft(needed, "noninverting")
    whole = design.stage.transfer("signal", "output")
    drop = 20 * math.log10(whole.midband_gain() / abs(whole(50.0)))
    assert strain(design.stage, draft) == max(whole.low_cutoff() / 25.0, drop / 1.0)
    assert strain(design.stage, draft) <= 1.0
    assert strain(design.stage.with_parts(c_in=design.stage.values["c_in"] / 3), draft) > 1.0
