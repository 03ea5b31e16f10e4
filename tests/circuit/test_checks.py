"""What the graph tells before anything is solved."""

import pytest

from singlerail_nb.circuit.builder import CircuitBuilder
from singlerail_nb.circuit.checks import check_circuit, drift_rate, require_sound
from singlerail_nb.circuit.elements import GROUND
from singlerail_nb.circuit.stages import build_circuit, stage_type, stages
from singlerail_nb.errors import CircuitError


def follower_with(*parts):
    """Return a follower whose + input hangs on the given parts."""
    circuit = CircuitBuilder("trial", ("signal", "plus", "amp_out"))
    for kind, name, one, other in parts:
        circuit.add(kind, name, one, other, "Trial part")
    circuit.opamp("plus", "amp_out", "amp_out")
    return circuit.build()


def test_a_sound_circuit_has_no_findings():
    circuit = follower_with(("capacitor", "c_in", "plus", "signal"), ("resistor", "r_bias", "plus", GROUND))
    assert check_circuit(circuit) == ()
    assert require_sound(circuit) == ()


def test_an_input_on_a_capacitor_alone_has_no_dc_path():
    (finding,) = check_circuit(follower_with(("capacitor", "c_in", "plus", "signal")))
    assert (finding.kind, finding.node, finding.opamp_pin) == ("no DC path", "plus", True)
    assert finding.capacitors == ("c_in",)
    assert "an op-amp input" in finding.message
    assert "drifts at I/C" in finding.message


def test_every_capacitor_that_holds_the_node_is_named():
    (finding,) = check_circuit(
        follower_with(("capacitor", "c_in", "plus", "signal"), ("capacitor", "c_stray", "plus", GROUND))
    )
    assert finding.capacitors == ("c_in", "c_stray")
    assert "c_in and c_stray" in finding.message


def test_nodes_joined_by_a_resistor_share_their_capacitors():
    findings = check_circuit(
        follower_with(("capacitor", "c_in", "far", "signal"), ("resistor", "r_series", "far", "plus"))
    )
    assert {f.node: (f.opamp_pin, f.capacitors) for f in findings} == {
        "far": (False, ("c_in",)),
        "plus": (True, ("c_in",)),
    }


def test_a_node_joined_to_nothing_driven_floats():
    circuit = follower_with(("resistor", "r_bias", "plus", GROUND), ("resistor", "r_lost", "here", "there"))
    findings = check_circuit(circuit)
    assert {(f.kind, f.node, f.opamp_pin) for f in findings} == {
        ("floating node", "here", False),
        ("floating node", "there", False),
    }


def test_an_input_pin_joined_to_nothing_floats():
    (finding,) = check_circuit(follower_with())
    assert (finding.kind, finding.node, finding.opamp_pin) == ("floating node", "plus", True)


@pytest.mark.parametrize(
    ("output", "other"), [("signal", "source 'signal'"), (GROUND, "ground"), ("out", "the output of 'first'")]
)
def test_an_output_on_a_driven_node_shorts_a_source(output, other):
    circuit = CircuitBuilder("trial", ("signal", "out"))
    circuit.resistor("r_in", "signal", "plus", "Input")
    circuit.resistor("r_bias", "plus", GROUND, "Bias")
    circuit.opamp("plus", "out", "out", name="first")
    circuit.opamp("plus", output, output, name="second")
    (finding,) = check_circuit(circuit.build())
    assert (finding.kind, finding.node) == ("shorted source", output)
    assert finding.message == f"the output of 'second' is wired to {other}"


def test_a_source_wired_to_ground_is_refused_when_it_is_wired():
    circuit = follower_with(("resistor", "r_bias", "plus", GROUND))
    with pytest.raises(CircuitError, match="wire from signal to ground"):
        circuit.merged("signal", GROUND)


def test_require_sound_raises_the_finding_with_its_remedy():
    circuit = follower_with(("capacitor", "c_in", "plus", "signal"))
    with pytest.raises(CircuitError) as caught:
        require_sound(circuit)
    error = caught.value
    assert error.quantity == "trial stage, no DC path"
    assert "plus" in error.value
    assert "DC path to ground, a source or an op-amp output" in error.allowed
    assert error.remedy == "Give it a resistor to the mid-rail bias node or to ground."


def test_require_sound_lets_the_point_of_a_teaching_stage_pass():
    circuit = follower_with(("capacitor", "c_in", "plus", "signal"))
    (finding,) = require_sound(circuit, allowed=["plus"])
    assert finding.kind == "no DC path"


@pytest.mark.parametrize("name", stages())
def test_registered_stages_have_the_faults_they_declare_and_no_others(name):
    found = {finding.node for finding in check_circuit(build_circuit(name))}
    assert found == set(stage_type(name).fault_nodes)


@pytest.mark.parametrize("name", stages())
def test_only_teaching_stages_declare_faults(name):
    kind = stage_type(name)
    assert not kind.fault_nodes or kind.lesson


def test_drift_of_an_input_without_a_path():
    # Analog Devices AN-937, Designing Amplifier Circuits: How to Avoid Common Problems:
    # an input current of 1 pA into 0.1 uF drifts at 10 uV/s, which is 600 uV per minute.
    assert drift_rate(0.1e-6, 1e-12) == pytest.approx(10e-6, rel=1e-12)
    assert drift_rate(0.1e-6, 1e-12) * 60 == pytest.approx(600e-6, rel=1e-12)
    # The same source: at a gain of 100 the output moves by 0.06 V per minute.
    assert 100 * drift_rate(0.1e-6, 1e-12) * 60 == pytest.approx(0.06, rel=1e-12)


@pytest.mark.parametrize("capacitance", [0.0, -1e-9, float("nan")])
def test_drift_needs_a_capacitance(capacitance):
    with pytest.raises(CircuitError, match=r"capacitance: got .*allowed: > 0 F\. Give the capacitance"):
        drift_rate(capacitance, 1e-12)
