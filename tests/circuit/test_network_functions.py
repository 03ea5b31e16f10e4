"""Network functions: cancelled, written in resistances, equal to what they came from."""

import numpy as np
import pytest
import sympy

from singlerail_nb.analysis.evaluation import compiled
from singlerail_nb.circuit.elements import GROUND
from singlerail_nb.circuit.network_functions import (
    A_0,
    OMEGA_T,
    node_ratio,
    source_impedance_seen,
    transfer_function,
)
from singlerail_nb.circuit.nodal_analysis import Injection, InputError
from singlerail_nb.circuit.stages import build_circuit
from singlerail_nb.circuit.symbols import S, part_symbol
from singlerail_nb.errors import CircuitError
from tests.circuits_for_tests import CASES, random_stage


def at(function, values, s):
    """Return a network function at s from its compiled program."""
    top, bottom = compiled(function)(values)
    return np.polyval(top[::-1], s) / np.polyval(bottom[::-1], s)


def substituted(stage):
    """Return {symbol: number} for the formula of a stage."""
    numbers = {part_symbol(name): value for name, value in stage.values.items()}
    if stage.opamp:
        numbers[A_0] = stage.opamp.dc_gain
        numbers[OMEGA_T] = 2 * np.pi * stage.opamp.gbw
    return numbers


@pytest.mark.parametrize("case", CASES[::5], ids=str)
def test_reduced_and_written_out_forms_have_the_same_value(case):
    stage = random_stage(case, seed=5)
    numbers = substituted(stage)
    for function in (stage.transfer("supply", "output").function, stage.section("signal", "output").function):
        for s in (2j * np.pi * 3.0, 2j * np.pi * 7e4):
            whole = at(function, stage.parameters, s)
            assert at(function.reduced, stage.parameters, s) == pytest.approx(whole, rel=1e-12)
            written = function.expression.subs(numbers).subs(S, sympy.Float(s.imag, 30) * sympy.I)
            assert complex(sympy.N(written, 30)) == pytest.approx(whole, rel=1e-10)


@pytest.mark.parametrize("case", CASES[::3], ids=str)
def test_formulas_contain_parts_and_nothing_else(case):
    stage = random_stage(case)
    allowed = {S, *substituted(stage)}
    assert stage.transfer("signal", "output").expr.free_symbols <= allowed
    assert stage.transfer("supply", "output").expr.free_symbols <= allowed


def test_the_textbook_gain_leg():
    """The amplifier of the non-inverting stage alone: (1 + s (R_f + R_g) C_g) / (1 + s R_g C_g)."""
    circuit = build_circuit("noninverting").opened("c_f")
    R_f, R_g, C_g = map(part_symbol, ("r_f", "r_g", "c_g"))
    expected = (1 + S * (R_f + R_g) * C_g) / (1 + S * R_g * C_g)
    assert sympy.cancel(node_ratio(circuit, "signal", "amp_out", "plus").expression - expected) == 0


def test_the_textbook_inverting_stage():
    """The source drives one pole: -s R_f C_in / (1 + s (R_s + R_in) C_in)."""
    circuit = build_circuit("inverting").opened("c_f")
    R_f, R_in, R_s, C_in = map(part_symbol, ("r_f", "r_in", "r_source", "c_in"))
    expected = -S * R_f * C_in / (1 + S * (R_s + R_in) * C_in)
    assert sympy.cancel(transfer_function(circuit, "signal", "amp_out").expression - expected) == 0


def test_the_textbook_bias_filter():
    """Half the supply through the Thevenin resistance of the divider into the filter capacitor."""
    circuit = build_circuit("inverting").opened("c_f")
    R_A, R_B, C_bias = map(part_symbol, ("r_top", "r_bottom", "c_bias"))
    thevenin = R_A * R_B / (R_A + R_B)
    expected = R_B / (R_A + R_B) / (1 + S * thevenin * C_bias)
    assert sympy.cancel(transfer_function(circuit, "supply", "bias").expression - expected) == 0


def test_the_noise_gain_of_the_inverting_stage_is_one_more_than_its_gain():
    circuit = build_circuit("inverting").opened("c_f")
    noise = transfer_function(circuit, InputError("opamp"), "amp_out").expression
    signal = transfer_function(circuit, "signal", "amp_out").expression
    assert sympy.cancel(noise - (1 - signal)) == 0


def test_an_impedance_is_in_ohm_and_a_ratio_in_volts_per_volt():
    circuit = build_circuit("follower")
    assert transfer_function(circuit, Injection("bias"), "bias").unit == "ohm"
    assert source_impedance_seen(circuit, "signal").unit == "ohm"
    assert transfer_function(circuit, "signal", "output").unit == "V/V"
    assert node_ratio(circuit, "signal", "amp_out", "plus").unit == "V/V"


def test_the_source_sees_its_resistance_the_capacitor_and_the_input():
    """With the bias node at 0 V for signals the input impedance is R_s + 1/(s C_in) + R_bias."""
    circuit = build_circuit("follower").merged("bias", GROUND)
    R_s, C_in, R_bias = map(part_symbol, ("r_source", "c_in", "r_bias"))
    seen = source_impedance_seen(circuit, "signal").expression
    assert sympy.cancel(seen - (R_s + 1 / (S * C_in) + R_bias)) == 0


def test_a_source_that_delivers_no_current_sees_no_impedance_that_could_be_written():
    circuit = build_circuit("input_without_bias_path")
    with pytest.raises(CircuitError, match=r"impedance seen by signal: got infinite.*give them a resistor"):
        source_impedance_seen(circuit, "signal")


def test_limits_at_high_frequency():
    real = build_circuit("noninverting").opened("c_f")
    assert transfer_function(real, "signal", "amp_out", "single_pole").at_infinity() == 0
    R_f, R_g = map(part_symbol, ("r_f", "r_g"))
    assert sympy.cancel(node_ratio(real, "signal", "amp_out", "plus").at_infinity() - (1 + R_f / R_g)) == 0


def test_functions_are_made_once():
    circuit = build_circuit("noninverting")
    one = transfer_function(circuit, "signal", "output", "ideal")
    assert transfer_function(build_circuit("noninverting"), "signal", "output", "ideal") is one
