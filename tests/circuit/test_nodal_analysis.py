"""The equations: small circuits by hand, reciprocity, and what cannot be solved."""

import pytest
import sympy

from singlerail_nb.circuit.builder import CircuitBuilder
from singlerail_nb.circuit.circuit import Circuit
from singlerail_nb.circuit.elements import GROUND, OpAmpPart
from singlerail_nb.circuit.nodal_analysis import (
    Injection,
    InputError,
    NodalSystem,
    nodal_system,
    parameter_names,
)
from singlerail_nb.circuit.stages import build_circuit
from singlerail_nb.errors import CircuitError, UnknownNameError


def two_resistors_and_a_follower():
    circuit = CircuitBuilder("divider", ("supply", "middle", "amp_out"))
    circuit.resistor("r_top", "supply", "middle", "Upper")
    circuit.resistor("r_bottom", "middle", GROUND, "Lower")
    circuit.opamp("middle", "amp_out", "amp_out")
    return circuit.build()


def test_a_divider_by_hand():
    top, bottom = sympy.symbols("r_top r_bottom")  # conductances in the ring
    system = NodalSystem(two_resistors_and_a_follower())
    assert sympy.cancel(system.voltage("supply", "middle").as_expr() / system.determinant.as_expr()) == (
        top / (top + bottom)
    )
    assert system.voltage("signal", "middle") == 0


def test_the_ideal_follower_repeats_and_the_real_one_lags():
    circuit = two_resistors_and_a_follower()
    ideal = NodalSystem(circuit)
    assert ideal.voltage("supply", "amp_out") == ideal.voltage("supply", "middle")
    real = NodalSystem(circuit, "single_pole")
    s, inverse, time = sympy.symbols("s opamp_inverse_gain opamp_unity_time")
    error = real.voltage(InputError("opamp"), "amp_out").as_expr() / real.determinant.as_expr()
    assert sympy.cancel(error - 1 / (1 + inverse + s * time)) == 0


def test_an_injected_current_sees_the_parallel_resistance():
    top, bottom = sympy.symbols("r_top r_bottom")
    system = NodalSystem(two_resistors_and_a_follower())
    impedance = system.voltage(Injection("middle"), "middle").as_expr() / system.determinant.as_expr()
    assert sympy.cancel(impedance) == 1 / (top + bottom)


def test_a_current_between_two_nodes_is_the_difference_of_two_currents():
    system = nodal_system(build_circuit("noninverting"))
    both = system.voltage(Injection("plus", out_of="bias"), "amp_out")
    one, other = (system.voltage(Injection(node), "amp_out") for node in ("plus", "bias"))
    assert both == one - other


def test_current_into_a_driven_node_moves_nothing():
    system = nodal_system(build_circuit("noninverting"))
    assert system.voltage(Injection("supply"), "bias") == 0
    assert system.voltage(Injection("amp_out"), "output") == 0


def test_passive_nodes_are_reciprocal():
    """The voltage at one node per current into another is the same the other way round."""
    system = nodal_system(build_circuit("noninverting"))
    assert system.voltage(Injection("bias"), "plus") == system.voltage(Injection("plus"), "bias")


def test_a_source_moves_its_own_node_only_by_itself():
    system = nodal_system(build_circuit("follower"))
    assert system.voltage("supply", "supply") == system.determinant
    assert system.voltage("supply", "signal") == 0
    assert system.voltage("supply", GROUND) == 0


def test_the_current_of_a_source_is_what_its_parts_carry():
    top, bottom = sympy.symbols("r_top r_bottom")
    system = NodalSystem(two_resistors_and_a_follower())
    admittance = system.source_current("supply").as_expr() / system.determinant.as_expr()
    assert sympy.cancel(admittance - top * bottom / (top + bottom)) == 0


@pytest.mark.parametrize("model", ["ideal", "single_pole"])
def test_the_determinant_has_positive_coefficients(model):
    """Every stage of one op-amp without positive feedback is a sum of positive terms: no cancellation."""
    for name in ("noninverting", "inverting", "follower"):
        determinant = nodal_system(build_circuit(name), model).determinant
        assert all(coefficient > 0 for coefficient in determinant.coeffs())


def test_parameters_come_in_a_fixed_order():
    circuit = two_resistors_and_a_follower()
    assert parameter_names(circuit, "ideal") == ("r_top", "r_bottom")
    assert parameter_names(circuit, "single_pole") == (
        *("r_top", "r_bottom"),
        *("opamp_inverse_gain", "opamp_unity_time"),
    )


def test_equations_are_made_once_per_topology():
    assert nodal_system(build_circuit("inverting")) is nodal_system(build_circuit("inverting"))


def test_an_opamp_without_feedback_has_no_solution():
    circuit = CircuitBuilder("comparator", ("signal", "amp_out"))
    circuit.resistor("r_in", "signal", "plus", "Input")
    circuit.resistor("r_bias", "plus", GROUND, "Bias")
    circuit.resistor("r_load", "amp_out", GROUND, "Load")
    circuit.opamp("plus", GROUND, "amp_out")
    with pytest.raises(CircuitError, match=r"no unique solution.*op-amp without feedback"):
        NodalSystem(circuit.build())


def test_both_inputs_on_one_node_have_no_solution():
    circuit = CircuitBuilder("both", ("signal", "amp_out"))
    circuit.resistor("r_in", "signal", "pin", "Input")
    circuit.resistor("r_f", "amp_out", "pin", "Feedback")
    circuit.opamp("pin", "pin", "amp_out")
    with pytest.raises(CircuitError, match="no unique solution"):
        NodalSystem(circuit.build())


def test_two_outputs_on_one_node_are_refused():
    one = two_resistors_and_a_follower()
    second = OpAmpPart("second", "middle", "amp_out", "amp_out")
    twice = Circuit(one.name, one.parts, one.sources, (*one.opamps, second), one.path)
    with pytest.raises(CircuitError, match=r"node amp_out: got driven twice.*Put a resistance"):
        NodalSystem(twice)


def test_an_output_on_a_source_is_refused():
    one = two_resistors_and_a_follower()
    on_source = OpAmpPart("second", "middle", "signal", "signal")
    with pytest.raises(CircuitError, match="node signal: got driven twice"):
        NodalSystem(Circuit(one.name, one.parts, one.sources, (on_source,), one.path))


@pytest.mark.parametrize(
    ("excitation", "node", "wrong"),
    [
        ("signals", "plus", "signals"),
        ("signal", "pluss", "pluss"),
        (Injection("bais"), "plus", "bais"),
        (InputError("u2"), "plus", "u2"),
    ],
)
def test_unknown_names_are_named(excitation, node, wrong):
    with pytest.raises(UnknownNameError, match=wrong):
        nodal_system(build_circuit("noninverting")).voltage(excitation, node)
