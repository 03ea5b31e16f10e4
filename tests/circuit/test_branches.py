"""Circuits cut into branches at their chief nodes."""

import pytest
import sympy

from singlerail_nb.circuit.branches import branches, branches_between, chief_nodes, impedance_between
from singlerail_nb.circuit.elements import GROUND
from singlerail_nb.circuit.stages import build_circuit
from singlerail_nb.circuit.symbols import S, part_symbol
from singlerail_nb.errors import UnknownNameError
from tests.circuits_for_tests import PAIRS

EVERY = pytest.mark.parametrize(("name", "bias"), PAIRS)


def _names(branch):
    return {part.name for part in branch.parts}


@EVERY
def test_every_part_is_in_exactly_one_branch(name, bias):
    circuit = build_circuit(name, bias)
    found = [part.name for branch in branches(circuit) for part in branch.parts]
    assert sorted(found) == sorted(circuit.part_names)


@EVERY
def test_branches_touch_each_other_at_chief_nodes_only(name, bias):
    circuit = build_circuit(name, bias)
    chief = set(chief_nodes(circuit))
    found = branches(circuit)
    for i, one in enumerate(found):
        assert set(one.ends) <= chief
        inner = {node for part in one.parts for node in part.nodes} - chief
        for other in found[i + 1 :]:
            assert not inner & {node for part in other.parts for node in part.nodes}


def test_chief_nodes_are_those_a_reader_would_name():
    assert set(chief_nodes(build_circuit("noninverting"))) == {
        GROUND, "signal", "supply", "bias", "plus", "minus", "amp_out", "output",
    }  # fmt: skip
    # Without output coupling the output is the op-amp's own node.
    bare = build_circuit("noninverting").shorted("c_out")
    assert chief_nodes(bare)[-1] != "output" or "output" not in bare.nodes


@pytest.mark.parametrize(
    ("name", "one", "other", "parts"),
    [
        ("noninverting", "signal", "plus", [{"r_source", "c_in"}]),
        ("noninverting", "minus", GROUND, [{"r_g", "c_g"}]),
        ("noninverting", "minus", "amp_out", [{"r_f"}, {"c_f"}]),
        ("noninverting", "bias", GROUND, [{"r_bottom"}, {"c_bias"}]),
        ("inverting", "minus", "signal", [{"r_source", "c_in", "r_in"}]),
        ("follower", "plus", "bias", [{"r_bias"}]),
        ("follower", "plus", "output", []),
    ],
)
def test_branches_between_two_nodes(name, one, other, parts):
    circuit = build_circuit(name)
    for start, end in ((one, other), (other, one)):
        assert [_names(branch) for branch in branches_between(circuit, start, end)] == parts


def test_the_impedance_of_a_branch_taken_alone():
    circuit = build_circuit("noninverting")
    r_f, c_f, r_g, c_g = (part_symbol(name) for name in ("r_f", "c_f", "r_g", "c_g"))
    (leg,) = branches_between(circuit, "minus", GROUND)
    assert sympy.simplify(impedance_between(circuit, leg.parts, "minus", GROUND) - r_g - 1 / (S * c_g)) == 0
    feedback = tuple(p for b in branches_between(circuit, "minus", "amp_out") for p in b.parts)
    expected = r_f / (1 + S * r_f * c_f)
    for start, end in (("minus", "amp_out"), ("amp_out", "minus")):
        assert sympy.simplify(impedance_between(circuit, feedback, start, end) - expected) == 0


def test_an_unknown_node_is_named():
    with pytest.raises(UnknownNameError, match="minsu"):
        branches_between(build_circuit("follower"), "minsu", GROUND)
