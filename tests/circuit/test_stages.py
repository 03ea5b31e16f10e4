"""The registry of stages and bias sources."""

import re

import pytest

from singlerail_nb.circuit.bias_sources import BIAS_SOURCES, bias_circuit
from singlerail_nb.circuit.stage_type import NO_BIAS
from singlerail_nb.circuit.stages import build_circuit, stage_type, stages
from singlerail_nb.errors import CircuitError, UnknownNameError
from tests.circuits_for_tests import PAIRS

BOTH = pytest.mark.parametrize("name", stages())
EVERY_PAIR = pytest.mark.parametrize(("name", "bias"), PAIRS)
BIASES = pytest.mark.parametrize("bias", BIAS_SOURCES)

# The vocabulary of the project: a part keeps its name, kind and place in every stage.
NODES = {
    "signal", "source", "supply", "bias", "plus", "minus", "amp_out", "output", "leg", "drive", "middle",
    "boost", "local", "reference", "tap",
}  # fmt: skip
SEVERAL = re.compile(r"_[2-9]$")
"""In a further channel or stage a name carries its number."""


def test_the_agreed_stages_are_there():
    assert {"noninverting", "inverting", "follower"} <= set(stages())
    assert sum(bool(stage_type(name).lesson) for name in stages()) >= 2


@EVERY_PAIR
def test_a_stage_is_named_after_its_function_and_runs_from_signal_to_output(name, bias):
    circuit = build_circuit(name, bias)
    assert circuit.name == name == stage_type(name).name
    assert (circuit.path[0], circuit.path[-1]) == ("signal", "output")
    assert set(circuit.path) <= set(circuit.nodes)


@EVERY_PAIR
def test_parts_and_nodes_speak_one_vocabulary(name, bias):
    circuit = build_circuit(name, bias)
    words = NODES | (set(bias_circuit(bias).nodes) if bias != NO_BIAS else set())
    assert {SEVERAL.sub("", node) for node in circuit.nodes} <= words
    for part in circuit.parts:
        assert part.name.startswith({"resistor": "r_", "capacitor": "c_"}[part.kind])
        assert part.label[0].isupper()


@BOTH
def test_every_stage_has_a_title_and_a_drawing(name):
    kind = stage_type(name)
    assert kind.title[0].isupper()
    assert "-[" in kind.build.__doc__ or kind.lesson


@BIASES
def test_a_bias_source_joins_supply_and_bias(bias):
    circuit = bias_circuit(bias)
    assert circuit.path == ("supply", "bias")
    assert "bias" in circuit.nodes
    stage = build_circuit("inverting", bias)
    bare = build_circuit("inverting").opened(*bias_circuit("filtered_divider").part_names)
    assert stage.opened(*circuit.part_names).part_names == bare.part_names


def test_an_unknown_stage_is_answered_with_the_nearest():
    with pytest.raises(UnknownNameError, match=r"stage: got invertin;.*Did you mean 'inverting'"):
        stage_type("invertin")


def test_an_unknown_bias_source_is_answered_with_the_nearest():
    with pytest.raises(UnknownNameError, match=r"bias source.*Did you mean 'divider'\?"):
        build_circuit("inverting", "dividr")


@BOTH
def test_a_bias_source_that_does_not_suit_is_refused_with_what_to_do(name):
    kind = stage_type(name)
    unsuited = "zener" if not kind.uses_bias else NO_BIAS
    with pytest.raises(CircuitError, match="leave bias out"):
        build_circuit(name, unsuited)
    assert build_circuit(name) == build_circuit(name, kind.usual_bias)
    assert ("bias" in build_circuit(name).nodes) == kind.uses_bias
