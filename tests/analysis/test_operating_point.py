"""Resting voltages and their errors against independent DC calculation; capacitors; supply current."""

import math

import pytest

import singlerail_nb as sr
from singlerail_nb.circuit.opamp import OpAmp
from singlerail_nb.circuit.opamp_library import opamp
from singlerail_nb.errors import QuantityError, UnknownNameError
from tests.networks import solved

PARTS = {"r_source": 600, "c_in": 330e-9, "r_bias": 100e3, "r_top": 120e3, "r_bottom": 80e3, "c_bias": 10e-6,
         "r_f": 100e3, "r_g": 1e3, "c_g": 47e-6, "c_out": 10e-6, "r_load": 10e3}  # fmt: skip
AMPLIFIER = OpAmp("a", 1e6, dc_gain=1e5, bias_current=-40e-9, offset_current=5e-9, offset_voltage=2e-3,
                  offset_drift=6e-6, quiescent_current=0.35e-3)  # fmt: skip


def rest(**changes):
    return sr.operating_point(sr.stage("noninverting", supply=9, opamp=AMPLIFIER, **PARTS), **changes)


def by_hand(**drive):
    """Return the DC node voltages of the stage from numpy matrices; the gain leg is open at DC."""
    branches = [(a, b, lambda _, g=g: g) for a, b, g in (
        ("supply", "bias", 1 / 120e3), ("bias", "ground", 1 / 80e3), ("bias", "plus", 1 / 100e3),
        ("amp_out", "minus", 1 / 100e3), ("minus", "leg", 1 / 1e3),
        ("output", "ground", 1 / 10e3))]  # fmt: skip
    nodes = ["supply", "bias", "plus", "minus", "leg", "amp_out", "output"]
    loop = ("plus", "minus", "amp_out", lambda _: 1e-5)
    volts = solved(nodes, branches, loop, 0.0, **{"source": {"supply": 0.0}, **drive})
    return {node: float(value.real) for node, value in volts.items()}


def test_voltages_agree_with_matrices():
    found, expected = rest(), by_hand(source={"supply": 9.0})
    for node, volts in expected.items():
        assert found.voltage(node) == pytest.approx(volts, rel=1e-12, abs=1e-12)
    assert found.voltage("bias") == pytest.approx(3.6)


@pytest.mark.parametrize("node", ["bias", "plus", "leg", "amp_out"])
def test_errors_agree_with_matrices(node):
    found = rest(temperature=318.15, leakage={"c_g": 5e-6, "c_bias": 1e-6, "c_in": 1e-9}).errors(node)
    expected = {
        "bias current": by_hand(inject={"plus": 40e-9, "minus": 40e-9}),
        "offset current": by_hand(inject={"plus": -2.5e-9, "minus": 2.5e-9}),
        "offset voltage": by_hand(error=2e-3),
        "offset drift": by_hand(error=120e-6),
        "leakage of c_g": by_hand(inject={"leg": -5e-6}),
        "leakage of c_bias": by_hand(inject={"bias": -1e-6}),
        "leakage of c_in": by_hand(inject={"plus": -1e-9}),
    }
    assert list(found) == list(expected)
    for name, volts in expected.items():
        assert found[name] == pytest.approx(volts[node], rel=1e-9, abs=1e-15)


def test_range_adds_known_signs_and_brackets_the_others():
    found = rest(leakage={"c_g": 5e-6})
    errors = found.errors("amp_out")
    low, high = found.voltage_range("amp_out")
    either = sum(abs(errors[name]) for name in ("offset current", "offset voltage", "offset drift"))
    middle = found.voltage("amp_out") + errors["bias current"] + errors["leakage of c_g"]
    assert (low, high) == pytest.approx((middle - either, middle + either), rel=1e-14)


def test_without_errors_the_output_rests_on_the_bias():
    ideal = sr.operating_point(sr.stage("noninverting", supply=9, **PARTS))
    assert ideal.voltage("amp_out") == pytest.approx(ideal.voltage("bias"), rel=1e-15)
    assert ideal.voltage_range("amp_out") == (ideal.voltage("amp_out"),) * 2


def test_worst_figures():
    stage = sr.stage("noninverting", supply=9, opamp=opamp("GPB"), **PARTS)
    typical, worst = sr.operating_point(stage), sr.operating_point(stage, spread="worst")
    for name, factor in (("bias current", 5.0), ("offset voltage", 3.0), ("offset current", 1.0)):
        ratio = worst.errors("amp_out")[name] / typical.errors("amp_out")[name]
        assert ratio == pytest.approx(factor, rel=1e-9)


def test_polarity_of_every_capacitor():
    states = {state.name: state for state in rest().capacitors}
    assert states["c_in"].voltage == pytest.approx(3.6)
    assert states["c_g"].voltage == pytest.approx(3.6, rel=1e-4)
    assert not any(state.is_reversed for state in states.values())
    # A source that carries more than the bias turns the input capacitor round.
    lifted = {state.name: state for state in rest(signal=5.0).capacitors}
    assert lifted["c_in"].voltage == pytest.approx(-1.4)
    assert lifted["c_in"].is_reversed


def test_leakage_follows_the_voltage():
    forward = rest(leakage={"c_in": 1e-6}).errors("plus")["leakage of c_in"]
    backward = rest(leakage={"c_in": 1e-6}, signal=5.0).errors("plus")["leakage of c_in"]
    assert forward == pytest.approx(-backward)
    assert forward < 0


def test_supply_current_and_battery_life():
    found = rest()
    assert found.supply_current == pytest.approx(9 / 200e3 + 0.35e-3, rel=1e-9)
    assert found.battery_life(0.5) == pytest.approx(0.5 / 395e-6, rel=1e-6)
    ideal = sr.operating_point(sr.stage("noninverting", supply=9, **PARTS))
    assert ideal.supply_current == pytest.approx(45e-6)


def test_output_that_feeds_a_dc_load_draws_from_the_rail():
    parts = {name: value for name, value in PARTS.items() if name != "c_out"}
    stage = sr.stage("noninverting", supply=9, opamp=AMPLIFIER, **parts)
    expected = 45e-6 + 0.35e-3 + 3.6 / 10e3
    assert sr.operating_point(stage).supply_current == pytest.approx(expected, rel=1e-4)


def test_drifting_input_has_no_voltage():
    parts = {name: value for name, value in PARTS.items() if name != "r_bias"}
    found = sr.operating_point(sr.stage("input_without_bias_path", supply=9, opamp=AMPLIFIER, **parts))
    assert found.voltage("bias") == pytest.approx(3.6)
    assert math.isnan(found.capacitors[0].voltage)
    for ask in (found.voltage, found.errors, found.voltage_range):
        with pytest.raises(QuantityError, match="undefined"):
            ask("plus")


def test_bad_input_is_named():
    with pytest.raises(UnknownNameError, match="c_g"):
        rest(leakage={"c_gg": 1e-6})
    with pytest.raises(UnknownNameError, match="electrolytic"):
        rest(leakage="tantalum")
    with pytest.raises(QuantityError, match="leakage of c_g"):
        rest(leakage={"c_g": -1e-6})
    with pytest.raises(QuantityError, match="temperature"):
        rest(temperature=0.0)
    with pytest.raises(QuantityError, match="capacity"):
        rest().battery_life(0.0)
    with pytest.raises(QuantityError, match="rated_voltage"):
        rest(leakage="electrolytic", rated_voltage=-1.0)


def test_operating_point_is_a_table_of_nodes():
    plain = sr.operating_point(sr.stage("noninverting", supply=9, **PARTS))
    title, _, header, *rows = repr(plain).splitlines()
    assert title == "Non-inverting stage on 9 V at rest"
    assert header.split("  ")[0] == "node"
    cells = dict(line.split(maxsplit=1) for line in rows)
    assert list(cells) == [node for node in plain.stage.circuit.nodes if node != "ground"]
    assert (cells["supply"], cells["bias"], cells["output"]) == ("9 V", "3.6 V", "0 V")
    assert "| amp_out | 3.6 V |" in plain._repr_markdown_()


def test_table_of_nodes_shows_the_reach_of_dc_errors():
    found = rest(spread="worst")
    low, high = found.voltage_range("amp_out")
    assert f"| amp_out | 3.6 V | {low:.4g} V to {high:.4g} V |" in found._repr_markdown_()
    assert "with worst DC errors" in repr(found)


def test_table_of_nodes_says_what_drifts_and_what_the_rail_cannot_give():
    parts = {name: value for name, value in PARTS.items() if name not in {"c_g", "c_out", "r_load"}}
    wrong = sr.operating_point(sr.stage("leg_without_capacitor", supply=9, **parts))
    assert "363.6 V" in repr(wrong)
    assert repr(wrong).endswith(
        "The rail cannot give amp_out that voltage: the output rests against the rail, "
        "and the nodes that follow it rest elsewhere."
    )
    del parts["r_bias"]
    hanging = sr.operating_point(sr.stage("input_without_bias_path", supply=9, **parts, c_g=47e-6))
    assert "| plus | drifts: no DC path |" in hanging._repr_markdown_()
    assert "rail cannot" not in repr(hanging)
