"""Choosers of bias source, op-amp, rail and topology: what they offer, what they bring, what they refuse."""

import pytest

import singlerail_nb as sr
from singlerail_nb.circuit.supplies import supplies, supply_rail
from singlerail_nb.errors import RequirementError, SingleRailError, UnknownNameError
from singlerail_nb.widgets.choosers import bias_chooser, opamp_chooser, rail_chooser, topology_chooser
from singlerail_nb.widgets.panel import panel
from tests.circuits_for_tests import FULL_CASES, random_stage


@pytest.fixture
def bench(stage, limits):
    choosers = [topology_chooser(), bias_chooser(), opamp_chooser(), rail_chooser()]
    return panel(stage, limits=limits, controls=[*choosers, "c_in", "r_top"])


def test_they_show_what_the_stage_is(bench):
    assert bench.chosen == {
        "topology": "Non-inverting stage", "bias": "Filtered divider", "opamp": "ideal", "rail": "as given",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("option", "parts"),
    [
        ("Plain divider", {"r_top", "r_bottom"}),
        ("Zener", {"r_zener", "r_dynamic"}),
        ("Zener with filter", {"r_zener", "r_dynamic", "r_filter", "c_bias"}),
        ("Buffered divider", {"r_top", "r_bottom", "c_bias"}),
        ("Reference", {"r_reference"}),
    ],
)
def test_a_bias_source_comes_with_values(bench, option, parts):
    before = bench.stage
    bench.choose("bias", option)
    assert parts <= set(bench.stage.values)
    assert bench.chosen["bias"] == option
    assert 0.3 < sr.operating_point(bench.stage).voltage("bias") / 9.0 < 0.7
    assert bench.stage.values["c_in"] == before.values["c_in"]
    assert bench.payload["choosers"][1]["value"] == option


def test_a_slider_of_a_part_that_is_gone_goes_and_returns(bench):
    def adjustable():
        return [part["name"] for part in bench.payload["parts"] if part["adjustable"]]

    assert adjustable() == ["c_in", "r_top"]
    bench.choose("bias", "Zener")
    assert adjustable() == ["c_in"]
    bench.choose("bias", "Plain divider")
    assert adjustable() == ["c_in", "r_top"]


def test_a_rail_brings_its_range(bench):
    bench.choose("rail", "12 V: 12 V of the farm vehicle")
    assert bench.stage.supply == 12.0
    assert bench.stage_model.rail == supply_rail("vehicle")
    bench.choose("bias", "Zener")
    assert bench.stage.levels["zener"] < 9.0
    assert len(bench.chosen) == 4
    assert {rail_chooser().names(bench.stage_model)[k] for k in range(5)} == {
        f"{supply_rail(name).nominal:g} V: {supply_rail(name).title}" for name in supplies()
    }


def test_an_op_amp_adds_the_top_end(bench):
    bench.choose("opamp", "GPB, invented")
    assert bench.stage.opamp == sr.opamp("GPB")
    assert "high_cutoff" in bench.stage_model.figures
    bench.choose("opamp", "ideal")
    assert "high_cutoff" not in bench.stage_model.figures
    assert len(bench.checks) == 2


def test_another_topology_does_the_same(bench):
    before = bench.stage_model.figures
    bench.choose("topology", "Inverting stage")
    after = bench.stage_model.figures
    assert bench.stage.name == "inverting"
    assert after["midband_gain"] == pytest.approx(before["midband_gain"], rel=0.06)
    assert after["low_cutoff"] <= before["low_cutoff"] / 0.9


def test_a_topology_of_a_design_keeps_its_requirements():
    need = sr.Requirements(
        supply="9 V", gain=10, low_cutoff="40 Hz", input_impedance="20 kohm", source_resistance=0
    )
    bench = panel(sr.design(need), controls=[topology_chooser()])
    bench.choose("topology", "Inverting stage")
    assert bench.stage.transfer("signal", "output").low_cutoff() <= 40.0


def test_what_cannot_work_is_refused_and_nothing_changes(bench):
    before = bench.stage
    with pytest.raises(UnknownNameError, match="Battery"):
        bench.choose("bias", "Battery")
    bench.choose("opamp", "PRC, invented")
    chosen = bench.chosen
    with pytest.raises(RequirementError, match="PRC"):
        bench.choose("topology", "Inverting stage")
    assert bench.chosen == chosen
    assert bench.stage.values == before.values


@pytest.mark.parametrize("case", FULL_CASES, ids=str)
def test_every_stage_takes_every_choice_or_says_why_not(case):
    stage = random_stage(case)
    for chooser in (bias_chooser(), rail_chooser(), opamp_chooser()):
        for option in chooser.names(panel(stage).stage_model)[:6]:
            bench = panel(stage, controls=[chooser])
            refused = refusal(bench, chooser.name, option)
            assert refused is None or (refused.remedy and bench.stage == stage)


def refusal(bench, name, option):
    """Choose; return the error that refused it, or None."""
    try:
        bench.choose(name, option)
    except SingleRailError as error:
        return error
    return None
