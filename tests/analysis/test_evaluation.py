"""The gate from symbols to numbers."""

import math

import numpy as np
import pytest

from singlerail_nb.analysis.evaluation import (
    CompiledProgram,
    checked_values,
    compiled,
    compiled_factors,
    frequencies,
    responses,
)
from singlerail_nb.circuit.network_functions import transfer_function
from singlerail_nb.circuit.program import write_program
from singlerail_nb.circuit.stages import build_circuit
from singlerail_nb.errors import QuantityError, SingleRailError, UnknownNameError

# r_a enters as conductance: (c_b / r_a, 2 c_b) over (3,)
PROGRAM = write_program([[{(1, 1): 1}, {(0, 1): 2}], [{(0, 0): 3}]], ("r_a", "c_b"), frozenset({"r_a"}))


def test_numbers_in_numbers_out():
    assert CompiledProgram(PROGRAM)({"r_a": 4.0, "c_b": 8.0}) == ((2.0, 16.0), (3,))


def test_arrays_broadcast():
    (first, second), (constant,) = CompiledProgram(PROGRAM)(
        {"r_a": np.array([[1.0], [2.0]]), "c_b": np.ones(3)}
    )
    assert first.tolist() == [[1.0] * 3, [0.5] * 3]
    assert second.tolist() == [2.0] * 3
    assert constant == 3


def test_order_of_the_values_does_not_matter_and_more_are_ignored():
    program = CompiledProgram(PROGRAM)
    assert program({"c_b": 8.0, "other": 1.0, "r_a": 4.0}) == program({"r_a": 4.0, "c_b": 8.0})


def test_a_missing_value_is_named():
    with pytest.raises(UnknownNameError, match=r"value: got c_b.*Give c_b a value"):
        CompiledProgram(PROGRAM)({"r_a": 4.0})


def test_one_program_serves_several_functions_and_is_kept():
    circuit = build_circuit("follower")
    functions = [transfer_function(circuit, source, "output") for source in ("signal", "supply")]
    program = compiled(*functions)
    assert program is compiled(*functions)
    assert len(program.program.outputs) == 4
    values = dict.fromkeys(circuit.part_names, 2.0)
    apart = [half for function in functions for half in compiled(function)(values)]
    assert [tuple(map(float, half)) for half in program(values)] == [tuple(map(float, h)) for h in apart]


def several_functions():
    circuit = build_circuit("noninverting")
    functions = [transfer_function(circuit, s, n) for s, n in (("signal", "output"), ("supply", "bias"))]
    return functions, compiled(*functions), dict.fromkeys(circuit.part_names, 2.0)


def test_several_responses_in_one_pass_equal_one_by_one():
    functions, program, values = several_functions()
    f = np.geomspace(0.01, 100, 7)
    together = responses(program, values, f)
    assert together.shape == (2, 7)
    for row, function in zip(together, functions, strict=True):
        top, bottom = compiled(function)(values)
        s = 2j * math.pi * f
        assert row == pytest.approx(np.polyval(top[::-1], s) / np.polyval(bottom[::-1], s), rel=1e-12)


def test_a_denominator_that_functions_share_is_kept_once():
    _, program, _ = several_functions()
    assert program.distinct == ([0, 1, 2], [0, 1, 2, 1])


@pytest.mark.parametrize("bad", [[0.0, 1.0], [-1.0, 1.0], [1.0, math.inf], [1.0, math.nan]])
def test_responses_in_one_pass_need_positive_frequencies(bad):
    _, program, values = several_functions()
    with pytest.raises(QuantityError, match=r"f: got .* Hz to .*positive and finite.*for DC call"):
        responses(program, values, np.array(bad))


def test_factors_come_one_program_per_half():
    top, bottom = compiled_factors(transfer_function(build_circuit("inverting"), "signal", "output"))
    values = dict.fromkeys(top.program.inputs, 1.0)
    assert all(len(factor) <= 3 for factor in (*top(values), *bottom(values)))
    # The input, the feedback and the output coupling give one pole each; the bias does not matter.
    assert sum(len(factor) - 1 for factor in bottom(values)) == 3


def test_values_become_floats_and_float_arrays():
    checked = checked_values({"r_a": 2, "c_b": [1, 2]}, ("r_a", "c_b"))
    assert checked["r_a"] == 2.0
    assert isinstance(checked["r_a"], float)
    assert checked["c_b"].dtype == np.float64


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf, [1.0, -1.0], [1.0, math.nan]])
def test_a_value_that_no_part_has_is_refused(bad):
    with pytest.raises(QuantityError) as caught:
        checked_values({"r_a": bad}, ("r_a",))
    error = caught.value
    assert (error.quantity, error.value, error.allowed) == ("r_a", str(bad), "positive and finite")
    assert "ohm or farad" in error.remedy


def test_a_misspelt_name_is_answered_with_the_nearest():
    with pytest.raises(UnknownNameError, match=r"r_bais.*Did you mean 'r_bias'"):
        checked_values({"r_bais": 1.0}, ("r_bias", "c_in"))


@pytest.mark.parametrize("good", [0.0, 50, [1, 2, 3], np.zeros((2, 2))])
def test_frequencies_keep_their_shape(good):
    assert frequencies(good).shape == np.shape(good)
    assert frequencies(good).dtype == np.float64


@pytest.mark.parametrize(
    ("bad", "shown"), [(-1.0, "-1 Hz"), ([1.0, math.nan], "nan Hz"), (math.inf, "inf Hz")]
)
def test_a_senseless_frequency_is_refused(bad, shown):
    with pytest.raises(QuantityError) as caught:
        frequencies(bad, name="ripple frequency")
    error = caught.value
    assert (error.quantity, error.value) == ("ripple frequency", shown)
    assert error.allowed == "0 Hz or more, finite"


def test_every_error_is_a_value_error_with_four_facts():
    with pytest.raises(ValueError, match=r"f: got -1 Hz; allowed: 0 Hz or more, finite\. Give") as caught:
        frequencies(-1.0)
    assert isinstance(caught.value, SingleRailError)
    assert all((caught.value.quantity, caught.value.value, caught.value.allowed, caught.value.remedy))


def test_a_frequency_may_be_a_text_with_its_unit():
    assert frequencies("2 kHz") == frequencies(2000.0)
    with pytest.raises(QuantityError, match=r"unit is missing.*100 Hz"):
        frequencies("100")
