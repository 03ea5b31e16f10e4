"""The window of a stage against hand figures, a brute search over the bias, and changed parts."""

import math
from dataclasses import replace

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.output_load import output_load
from singlerail_nb.analysis.window import window
from singlerail_nb.analysis.window_findings import require_open, window_findings
from singlerail_nb.circuit.opamp import OpAmp
from singlerail_nb.circuit.opamp_figures import SwingPoint
from singlerail_nb.circuit.opamp_library import opamp
from singlerail_nb.errors import QuantityError, RequirementError, UnknownNameError

INPUT = {"r_source": 600, "c_in": 330e-9, "r_bias": 100e3, "r_top": 100e3, "r_bottom": 100e3, "c_bias": 10e-6}
INVERTING = {name: value for name, value in INPUT.items() if name != "r_bias"}
BIPOLAR = OpAmp("bipolar", 1e9, dc_gain=1e9, common_mode_low=-0.1, common_mode_high=1.5,
                swing=(SwingPoint(10e3, 0.05, 1.5),))  # fmt: skip
JFET = OpAmp("jfet", 1e9, dc_gain=1e9, common_mode_low=3.5, common_mode_high=0.3,
             swing=(SwingPoint(10e3, 1.5, 1.5),))  # fmt: skip


def follower(supply, amplifier):
    return sr.stage("follower", supply=supply, opamp=amplifier, **INPUT)


def gain_stage(supply, amplifier, **changes):
    parts = INPUT | {"r_f": 10e3, "r_g": 1e3, "c_g": 100e-6} | changes
    return sr.stage("noninverting", supply=supply, opamp=amplifier, **parts)


# Own figures (part G, g11; job step 6).
@pytest.mark.parametrize(
    ("supply", "amplifier", "swing", "best_volts", "best_swing"),
    [(5.0, BIPOLAR, 2.0, 1.78, 3.45), (3.3, BIPOLAR, 0.3, 0.925, 1.75), (9.0, JFET, 2.0, 5.5, 4.0)],
)
def test_swing_and_best_bias(supply, amplifier, swing, best_volts, best_swing):
    found = window(follower(supply, amplifier))
    assert found.swing == pytest.approx(swing, rel=1e-6)
    assert found.best_bias.volts[0] == pytest.approx(best_volts, abs=0.006)
    assert found.best_bias.swing == pytest.approx(best_swing, rel=1e-6)
    assert found.best_bias.bought == pytest.approx(best_swing - swing, rel=1e-6)


def test_moving_the_bias_there_really_buys_it():
    best = window(follower(5.0, BIPOLAR)).best_bias
    moved = follower(5.0, BIPOLAR).with_parts(r_bottom=100e3 * best.fraction / (1 - best.fraction))
    assert window(moved).swing == pytest.approx(best.swing, rel=1e-6)


def test_output_allows_what_the_input_forbids():
    found = window(gain_stage(7.0, JFET)).rails[0]
    assert found.swing == pytest.approx(0.0, abs=1e-6)
    assert min(found.limits["output low"], found.limits["output high"]) == pytest.approx(4.0, rel=1e-6)
    assert found.limited_by == "input low"


def test_published_bias_point():
    # Analog Devices AN-581: 5 V, input limit 1.8 V below the rail, bias 1.5 V: 3 Vpp (its figure for
    # a bias of 2.5 V is an arithmetic slip and no golden).
    amplifier = OpAmp("a", 1e9, dc_gain=1e9, common_mode_high=1.8, swing=(SwingPoint(10e3, 0.0, 0.0),))
    at_1v5 = follower(5.0, amplifier).with_parts(r_bottom=30e3, r_top=70e3)
    assert window(at_1v5).swing == pytest.approx(3.0, rel=1e-6)
    assert window(at_1v5).best_bias.volts[0] == pytest.approx(1.6, rel=1e-6)
    assert window(at_1v5).best_bias.swing == pytest.approx(3.2, rel=1e-6)


@pytest.mark.parametrize("name", ["GPB", "LNB", "JFT"])
@pytest.mark.parametrize("kind", ["follower", "noninverting", "inverting"])
def test_best_bias_agrees_with_a_search(name, kind):
    parts = {"follower": {}, "noninverting": {"r_f": 4.7e3, "r_g": 1e3, "c_g": 1e-4},
             "inverting": {"r_f": 10e3, "r_in": 1e3}}[kind]  # fmt: skip
    shared = INVERTING if kind == "inverting" else INPUT
    stage = sr.stage(kind, supply=9, opamp=opamp(name), **shared | parts)
    best = window(stage, supply_min=8.0, supply_max=9.6).best_bias
    # Rth stays 50k, so that the bias current moves the input by the same.
    swings = {
        k: window(
            stage.with_parts(r_top=50e3 / k, r_bottom=50e3 / (1 - k)), supply_min=8.0, supply_max=9.6
        ).swing
        for k in np.linspace(0.2, 0.8, 61)
    }
    found = max(swings.values())
    assert best.swing == pytest.approx(found, abs=0.02 * 8.0 * (1.0 if kind != "follower" else 2.0))
    assert best.swing >= found - 1e-3


def test_worst_rail_counts():
    found = window(gain_stage(9.0, opamp("GPB")), supply_min=6.0, supply_max=9.6)
    assert [rail.supply for rail in found.rails] == [6.0, 9.0, 9.6]
    assert found.worst.supply == 6.0
    assert found.swing == min(rail.swing for rail in found.rails)


def test_output_drives_load_and_feedback_together():
    stage = gain_stage(9.0, None, c_out=100e-6, r_load=2e3)
    expected = 1 / (1 / 2e3 + 1 / 11e3)
    assert abs(output_load(stage, 1e4)) == pytest.approx(expected, rel=1e-4)
    assert window(stage).load == pytest.approx(expected, rel=0.02)
    assert math.isinf(abs(output_load(follower(9.0, None), 1e3)))
    inverting = sr.stage("inverting", supply=9, r_f=10e3, r_in=1e3, **INVERTING)
    # The + input rests, the summing node does not when the output is driven: Rf + Rin + Rs.
    assert abs(output_load(inverting, 1e6)) == pytest.approx(11.6e3, rel=1e-4)


def test_heavier_load_narrows_the_window():
    light = window(gain_stage(9.0, opamp("GPB"), c_out=100e-6, r_load=10e3)).swing
    heavy = window(gain_stage(9.0, opamp("GPB"), c_out=100e-6, r_load=2e3)).swing
    assert heavy < light - 0.2


def test_input_of_an_inverting_stage_rests():
    rail = window(sr.stage("inverting", supply=9, opamp=opamp("GPB"), r_f=10e3, r_in=1e3, **INVERTING)).rails[
        0
    ]
    assert rail.gain == math.inf
    assert rail.limits["input low"] == rail.limits["input high"] == math.inf


def test_dc_errors_take_from_both_sides():
    quiet = window(gain_stage(9.0, replace(opamp("GPB"), bias_current=0.0, offset_voltage=0.0, limits=())))
    worst = window(gain_stage(9.0, opamp("GPB")), spread="worst")
    assert worst.swing < quiet.swing - 2 * 6e-3


def test_ideal_opamp_reaches_both_rails():
    found = window(gain_stage(9.0, None))
    assert found.swing == pytest.approx(9.0)
    assert found.worst.asymmetry == pytest.approx(1.0)
    assert window_findings(found) == ()


def kinds(found):
    return {finding.kind: finding for finding in window_findings(found)}


def test_empty_window_says_what_to_change():
    found = window(gain_stage(7.0, JFET))
    finding = kinds(found)["empty window"]
    assert finding.severity == "fault"
    assert "+ input" in finding.message
    assert "0.524 of the rail" in finding.remedy
    with pytest.raises(RequirementError, match="empty window"):
        require_open(found)
    assert "No bias point serves" in kinds(window(follower(5.0, opamp("JFT"))))["empty window"].remedy


def test_rail_outside_the_supply_range_is_a_fault():
    found = window(follower(9.0, opamp("LNB")), supply_min=6.0)
    finding = kinds(found)["supply range"]
    assert (finding.severity, finding.supply) == ("fault", 6.0)
    with pytest.raises(RequirementError, match="supply range"):
        require_open(found)
    assert require_open(window(follower(9.0, opamp("LNB")))).swing > 0


def test_handover_zone():
    # Job step 5: handover 2.25 V to 1.25 V below the rail: at 5 V with 2.5 V bias 0.25 V peak is left.
    amplifier = OpAmp("rr", 1e9, dc_gain=1e9, handover_far=2.25, handover_near=1.25,
                      common_mode_low=-0.1, swing=(SwingPoint(10e3, 0.02, 0.02),))  # fmt: skip
    assert "250 mVp" in kinds(window(follower(5.0, amplifier)))["handover zone"].message
    # At 4 V the zone is 1.75 V to 2.75 V, and the input rests at 2 V.
    inside = kinds(window(follower(4.0, amplifier)))["handover zone"].message
    assert inside.endswith("between 1.75 V and 2.75 V; the input rests inside that zone")
    inverting = sr.stage("inverting", supply=5, opamp=amplifier, r_f=10e3, r_in=1e3, **INVERTING)
    assert "handover zone" not in kinds(window(inverting))


def test_cautions():
    bare = kinds(window(follower(9.0, OpAmp("bare", 1e6))))
    assert bare["not given"].severity == "caution"
    assert "one-sided clipping" in kinds(window(follower(5.0, BIPOLAR)))
    assert "phase reversal" in kinds(window(follower(9.0, opamp("JFT"))))
    assert "heavy load" in kinds(window(gain_stage(9.0, opamp("GPB"), c_out=1e-3, r_load=600)))


def test_bad_input_is_named():
    for low, high in ((10.0, None), (None, 8.0), (-1.0, 12.0)):
        with pytest.raises(QuantityError, match="rail"):
            window(follower(9.0, None), supply_min=low, supply_max=high)
    with pytest.raises(UnknownNameError, match="opamp"):
        window(follower(9.0, None), amplifier="opam")
    parts = {name: value for name, value in INPUT.items() if name != "r_bias"}
    drifting = sr.stage("input_without_bias_path", supply=9, r_f=10e3, r_g=1e3, c_g=1e-4, **parts)
    with pytest.raises(QuantityError, match="undefined"):
        window(drifting)


def test_of_two_stages_in_a_row_the_last_one_limits():
    one = {"r_source": "2k2", "c_in": "220n", "r_bias": "47k", "r_f": "15k", "r_g": "3k", "c_g": "10u"}
    two = {"c_in_2": "220n", "r_bias_2": "47k", "r_f_2": "15k", "r_g_2": "3k", "c_g_2": "10u"}
    rest = {"r_top": "30k", "r_bottom": "30k", "c_bias": "2u2", "c_out": "1u5", "r_load": "10k"}
    stage = sr.stage("two_stages", supply=9, opamp=opamp("GPB"), **one, **two, **rest)
    found, first = window(stage), window(stage, amplifier="opamp")
    assert found.amplifier == "opamp_2"
    assert found.rails == window(stage, amplifier="opamp_2").rails
    moves = [abs(stage.transfer("signal", node)(1e3)) for node in ("amp_out", "amp_out_2")]
    assert found.swing / moves[1] < first.swing / moves[0]
