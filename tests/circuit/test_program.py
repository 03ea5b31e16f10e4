"""The straight-line program: right numbers, each line once, nothing useless."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from singlerail_nb.circuit.emit_numpy import emit_numpy
from singlerail_nb.circuit.network_functions import functions_program, transfer_function
from singlerail_nb.circuit.program import Line, write_program
from singlerail_nb.circuit.stages import build_circuit, stages

VARIABLES = ("a", "b", "c")


def run(program, values):
    """Interpret a program exactly, with fractions."""
    known = dict(values)

    def value(operand):
        return Fraction(operand) if isinstance(operand, int) else known[operand]

    for line in program.lines:
        operands = [value(operand) for operand in line.operands]
        if line.operation == "add":
            known[line.name] = operands[0] + operands[1]
        elif line.operation == "multiply":
            known[line.name] = operands[0] * operands[1]
        else:
            known[line.name] = 1 / operands[0]
    return [[value(operand) for operand in coefficients] for coefficients in program.outputs]


def direct(terms, values, reciprocals):
    total = Fraction(0)
    for exponents, coefficient in terms.items():
        product = Fraction(coefficient)
        for name, power in zip(VARIABLES, exponents, strict=True):
            product *= (1 / values[name] if name in reciprocals else values[name]) ** power
        total += product
    return total


polynomials = st.dictionaries(
    st.tuples(*[st.integers(0, 3)] * len(VARIABLES)), st.integers(-5, 5).filter(bool), max_size=8
)
numbers = st.integers(1, 20).map(Fraction)


@given(
    st.lists(st.lists(polynomials, min_size=1, max_size=3), min_size=1, max_size=3),
    st.fixed_dictionaries(dict.fromkeys(VARIABLES, numbers)),
    st.frozensets(st.sampled_from(VARIABLES)),
)
def test_a_program_computes_its_polynomials_exactly(lists, values, reciprocals):
    program = write_program(lists, VARIABLES, reciprocals)
    expected = [[direct(terms, values, reciprocals) for terms in one] for one in lists]
    assert run(program, values) == expected


@given(st.lists(st.lists(polynomials, min_size=1, max_size=3), min_size=1, max_size=3))
def test_no_step_is_written_twice_and_every_step_uses_earlier_ones(lists):
    program = write_program(lists, VARIABLES, frozenset("a"))
    known = set(program.inputs)
    seen = set()
    for line in program.lines:
        assert all(isinstance(operand, int) or operand in known for operand in line.operands)
        step = (line.operation, tuple(sorted(map(str, line.operands))))
        assert step not in seen
        seen.add(step)
        known.add(line.name)


def test_equal_remainders_are_shared():
    """(b + c) a and (b + c) a^2 need b + c once."""
    one = {(1, 1, 0): 1, (1, 0, 1): 1}
    other = {(2, 1, 0): 1, (2, 0, 1): 1}
    program = write_program([[one], [other]], VARIABLES, frozenset())
    assert [line.operation for line in program.lines] == ["add", "multiply", "multiply"]


def test_zero_one_and_whole_numbers_need_no_step():
    program = write_program([[{}, {(0, 0, 0): 1}, {(0, 0, 0): -7}, {(0, 1, 0): 1}]], VARIABLES, frozenset())
    assert program.lines == ()
    assert program.outputs == ((0, 1, -7, "b"),)


def test_a_reciprocal_is_taken_once_and_only_if_used():
    program = write_program([[{(1, 0, 0): 1}, {(1, 1, 0): 1}]], VARIABLES, frozenset("ac"))
    assert [line for line in program.lines if line.operation == "reciprocal"] == [
        Line("t0", "reciprocal", ("a",))
    ]


@pytest.mark.parametrize("name", stages())
def test_the_text_depends_on_the_circuit_only(name):
    """Equal circuits give equal texts, so that stored handouts and caches compare equal."""

    def text():
        function = transfer_function.__wrapped__(build_circuit(name), "signal", "output", "single_pole")
        return emit_numpy(functions_program((function,)))

    assert text() == text()
