"""The registry of stages and bias sources."""

import pytest

from singlerail_nb.circuit.bias_sources import BIAS_SOURCES, bias_circuit
from singlerail_nb.circuit.elements import GROUND
from singlerail_nb.circuit.stages import build_circuit, stage_type, stages
from singlerail_nb.errors import UnknownNameError

BOTH = pytest.mark.parametrize("name", stages())
BIASES = pytest.mark.parametrize("bias", BIAS_SOURCES)

# The vocabulary of the project: a part keeps its name, kind and place in every stage.
NODES = {"signal", "source", "supply", "bias", "plus", "minus", "amp_out", "output", "leg", "drive"}


def test_the_agreed_stages_are_there():
    assert {"noninverting", "inverting", "follower"} <= set(stages())
    assert sum(bool(stage_type(name).lesson) for name in stages()) >= 2


@BOTH
@BIASES
def test_a_stage_is_named_after_its_function_and_runs_from_signal_to_output(name, bias):
    circuit = build_circuit(name, bias)
    assert circuit.name == name == stage_type(name).name
    assert (circuit.path[0], circuit.path[-1]) == ("signal", "output")
    assert set(circuit.path) <= set(circuit.nodes)


@BOTH
@BIASES
def test_parts_and_nodes_speak_one_vocabulary(name, bias):
    circuit = build_circuit(name, bias)
    words = NODES | set(bias_circuit(bias).nodes)
    assert set(circuit.nodes) <= words
    for part in circuit.parts:
        assert part.name.startswith({"resistor": "r_", "capacitor": "c_"}[part.kind])
        assert part.label[0].isupper()
        assert set(part.nodes) <= words | {GROUND}


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
