"""First-order functions in the form a reader knows."""

import pytest
import sympy
from hypothesis import given
from hypothesis import strategies as st

from singlerail_nb.circuit.standard_forms import limit_large, same, standard_form
from singlerail_nb.circuit.symbols import S

A, B, R, C = sympy.symbols("a b R C", positive=True)
COEFFICIENTS = st.integers(-9, 9)


@pytest.mark.parametrize(
    ("expression", "shape", "constant", "pole", "zero"),
    [
        (A / (A + B), "constant", A / (A + B), None, None),
        (A / (B + S * R * C * B), "low-pass", A / B, R * C, None),
        (S * C * A / (1 + S * R * C), "high-pass", A / R, R * C, None),
        ((A + S * B) / (1 + S * R * C), "shelf", A, R * C, B / A),
        (1 + S * A, "other", 1 + S * A, None, None),
        (S * A / (1 + S * A + S**2 * B), "other", S * A / (1 + S * A + S**2 * B), None, None),
    ],
)
def test_each_shape_is_recognised(expression, shape, constant, pole, zero):
    form = standard_form(expression)
    assert form.shape == shape
    for got, wanted in ((form.constant, constant), (form.pole, pole), (form.zero, zero)):
        assert got == wanted if wanted is None else sympy.simplify(got - wanted) == 0


@given(*[COEFFICIENTS] * 3, st.integers(1, 9))
def test_the_form_put_together_is_the_function(n1, n0, d1, d0):
    expression = (n1 * S + n0) / sympy.sympify(d1 * S + d0)
    form = standard_form(expression)
    assert same(form.expression, expression)


def test_frequencies_follow_from_the_time_constants():
    form = standard_form((1 + S * B) / (1 + S * A))
    assert form.pole_frequency == 1 / (2 * sympy.pi * A)
    assert form.zero_frequency == 1 / (2 * sympy.pi * B)


@pytest.mark.parametrize(
    "expression", [A / (1 + S * B), A * S / (1 + S * B), (1 + S * A) / (1 + S * B), (3 + S * A) / (1 + S * B)]
)
def test_the_short_form_stands_for_the_function(expression):
    form = standard_form(expression)
    values = {"k": form.constant, "f_p": form.pole_frequency}
    if form.zero is not None:
        values["f_z"] = form.zero_frequency
    # The flat value of a high-pass lies at infinity, as its constant does.
    shown = form.shown("k", "f_{p}", "f_{z}").subs({sympy.Symbol(n): v for n, v in values.items()})
    assert same(shown, expression)


def test_a_constant_is_shown_as_it_is():
    assert standard_form(A / B).shown("k", "f_p") == A / B


def test_limits_for_a_part_that_grows():
    assert limit_large((A * R + B) / (R + A), R) == A
    assert limit_large(A / (R + A), R) == 0
    assert limit_large(A * R**2 / (R + A), R) == sympy.oo
    assert limit_large(A / B, R) == A / B


@given(*[COEFFICIENTS] * 4)
def test_sameness_is_exact(a, b, c, d):
    one = (a * S + b) / (S**2 + 3 * A * S + 1)
    other = (c * S + d) / (S**2 + 3 * A * S + 1)
    assert same(one, other) == ((a, b) == (c, d))


def test_sameness_sees_through_factors_and_square_roots():
    assert same((S + 1) * (S + A) / (S + A), S + 1)
    root = sympy.sqrt(A**2 + 1)
    assert same((A**2 - root**2) * S, -S)
    assert same((root - 1) * (root + 1), A**2)
    assert not same((root - 1) * (root + 1), A**2 + sympy.Rational(1, 10**12))
