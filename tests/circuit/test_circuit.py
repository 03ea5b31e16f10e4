"""Operations on circuits: taking parts out, replacing them by wires, joining nodes."""

import pytest

from singlerail_nb.circuit.builder import CircuitBuilder
from singlerail_nb.circuit.circuit import closest
from singlerail_nb.circuit.elements import GROUND
from singlerail_nb.circuit.stages import build_circuit
from singlerail_nb.errors import CircuitError, UnknownNameError


def bias_filter():
    """Return a divider with a filter capacitor, a series resistor and a follower."""
    circuit = CircuitBuilder("bias_filter", ("supply", "bias", "buffered"))
    circuit.resistor("r_top", "supply", "bias", "Divider, upper resistor")
    circuit.resistor("r_bottom", "bias", GROUND, "Divider, lower resistor")
    circuit.resistor("r_filter", "bias", "filtered", "Filter resistor", when_absent="short")
    circuit.capacitor("c_bias", "filtered", GROUND, "Filter capacitor", when_absent="open")
    circuit.opamp("filtered", "buffered", "buffered")
    return circuit.build()


def test_nodes_come_in_order_without_ground():
    assert bias_filter().nodes == ("signal", "supply", "bias", "filtered", "buffered")


def test_parts_keep_their_order_and_kind():
    circuit = bias_filter()
    assert circuit.part_names == ("r_top", "r_bottom", "r_filter", "c_bias")
    assert [p.name for p in circuit.capacitors] == ["c_bias"]
    assert [p.name for p in circuit.resistors] == ["r_top", "r_bottom", "r_filter"]
    assert {p.name: p.unit for p in circuit.parts if p.name.startswith("c")} == {"c_bias": "F"}
    assert circuit.part("r_top").unit == "ohm"


def test_an_opened_part_is_gone_and_the_original_stays():
    circuit = bias_filter()
    assert circuit.opened("c_bias").part_names == ("r_top", "r_bottom", "r_filter")
    assert "c_bias" in circuit.part_names


def test_a_shorted_part_merges_its_nodes_and_both_names_stay_valid():
    circuit = bias_filter().shorted("r_filter")
    assert circuit.nodes == ("signal", "supply", "bias", "buffered")
    assert circuit.node("filtered") == circuit.node("bias") == "bias"
    assert circuit.part("c_bias").nodes == ("bias", GROUND)
    assert circuit.opamps[0].plus == "bias"


def test_the_name_on_the_signal_path_is_kept():
    one = bias_filter().merged("filtered", "bias")
    other = bias_filter().merged("bias", "filtered")
    assert one == other
    assert one.aliases == (("filtered", "bias"),)


def test_a_driven_node_keeps_its_name():
    circuit = bias_filter().merged("bias", "supply")
    assert circuit.node("bias") == "supply"
    assert circuit.path == ("supply", "buffered")


def test_merging_twice_follows_the_chain_of_names():
    circuit = bias_filter().merged("filtered", "bias").merged("bias", "supply")
    assert [circuit.node(n) for n in ("filtered", "bias", "supply")] == ["supply"] * 3
    assert circuit.opamps[0].plus == "supply"


def test_merging_a_node_with_itself_changes_nothing():
    circuit = bias_filter()
    assert circuit.merged("bias", "bias") is circuit


def test_a_part_between_merged_nodes_is_bridged_not_removed():
    circuit = bias_filter().merged("bias", GROUND)
    assert circuit.part("r_bottom").nodes == (GROUND, GROUND)
    assert circuit.node("bias") == GROUND


@pytest.mark.parametrize("pair", [("supply", GROUND), ("signal", "supply"), ("supply", "buffered")])
def test_a_wire_between_two_driven_nodes_is_refused(pair):
    with pytest.raises(CircuitError, match=r"0 ohm.*may not join.*Put a resistance between"):
        bias_filter().merged(*pair)


def test_two_parts_of_one_name_are_refused():
    circuit = CircuitBuilder("twice", ("signal",))
    circuit.resistor("r_in", "signal", "a", "First")
    with pytest.raises(CircuitError, match=r"r_in: got named twice; allowed: one part of a name\. Give"):
        circuit.capacitor("r_in", "a", GROUND, "Second")


@pytest.mark.parametrize(
    ("lookup", "wrong", "meant"),
    [
        ("part", "r_botom", "r_bottom"),
        ("node", "filterd", "filtered"),
        ("source", "suply", "supply"),
        ("opamp", "opmap", "opamp"),
    ],
)
def test_an_unknown_name_is_answered_with_the_nearest(lookup, wrong, meant):
    with pytest.raises(UnknownNameError, match=f"{wrong}.*bias_filter.*Did you mean '{meant}'"):
        getattr(bias_filter(), lookup)(wrong)


def test_a_name_near_to_nothing_is_answered_with_the_list():
    assert closest("xyz", ["b", "a"]) == "Choose one of: a, b."
    assert closest("c_bais", ["c_bias", "c_in"]) == "Did you mean 'c_bias'?"


def test_circuits_are_values():
    one, other = build_circuit("noninverting"), build_circuit("noninverting")
    assert one == other
    assert hash(one) == hash(other)
    assert one != one.opened("c_f")
    with pytest.raises(AttributeError):
        one.name = "another"


def test_capitals_and_spaces_do_not_hide_a_near_name():
    assert closest("gpb", ["GPB", "JFT"]) == "Did you mean 'GPB'?"


@pytest.mark.parametrize(
    ("typed", "part"), [("R_A", "r_top"), ("r_s", "r_source"), ("ra", "r_top"), ("R_L", "r_load")]
)
def test_a_part_is_found_by_its_symbol(typed, part):
    assert closest(typed, ["r_top", "r_bottom", "r_source", "r_load", "r_g"]) == f"Did you mean {part!r}?"
    assert closest(" C_IN ", ["c_in", "r_f"]) == "Did you mean 'c_in'?"
