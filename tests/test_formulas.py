"""Formulas typed by a reader."""

import time

import pytest
import sympy
from hypothesis import given
from hypothesis import strategies as st

from singlerail_nb.errors import QuantityError
from singlerail_nb.formulas import LONGEST_FORMULA, parse_formula, same_formula

R, C = sympy.symbols("R_f C_in", positive=True)
NAMES = {"R_f": R, "C_in": C}


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("1/(2 pi R_f C_in)", 1 / (2 * sympy.pi * R * C)),
        ("1/(2*pi*Rf*Cin)", 1 / (2 * sympy.pi * R * C)),
        ("1 + R_f/10e3", 1 + R / 10000),
        ("−R_f ÷ 4.5", -R / sympy.Rational(9, 2)),
        ("sqrt(1 + sqrt(2))", sympy.sqrt(1 + sympy.sqrt(2))),
        ("2^-1 R_f**2", R**2 / 2),
        ("-R_f^2", -(R**2)),
        ("2π(R_f)(C_in)", 2 * sympy.pi * R * C),
        ("R_f^(1/2)", sympy.sqrt(R)),
        ("1/2 R_f", R / 2),
    ],
)
def test_formulas_are_read(text, meant):
    assert sympy.simplify(parse_formula(text, NAMES) - meant) == 0


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "ends too early"),
        ("1/", "ends too early"),
        ("(1", "closing bracket"),
        ("1)", "before"),
        ("2 R_g", "names are"),
        ("R_f.args", "no place"),
        ("__import__('os')", "no place"),
        ("exec", "names are"),
        ("sqrt 2", "brackets"),
        ("1/0", "zero"),
        ("1/(R_f-R_f)", "zero"),
        ("0^-1", "zero"),
        ("2^99", "Exponents"),
        ("R_f^C_in", "Exponents"),
        ("9^9^9", "Exponents"),
        ("(" * 50 + "1" + ")" * 50, "Nest"),
        ("1" * (LONGEST_FORMULA + 1), "at most"),
        ("R_f = 3", "no place"),
        ("lambda", "names are"),
    ],
)
def test_everything_else_is_refused(text, words):
    with pytest.raises(QuantityError, match=words.replace("(", r"\(")):
        parse_formula(text, NAMES)


@given(st.text("0123456789.()+-*/^ RfCin_spqrt", max_size=60))
def test_any_text_is_read_or_refused(text):
    try:
        expression = parse_formula(text, NAMES)
    except QuantityError:
        return
    assert expression.free_symbols <= {R, C}


def test_same_and_not_the_same():
    assert same_formula((R + C) ** 2, R**2 + 2 * R * C + C**2)
    assert same_formula(sympy.sqrt(R**2), R)
    assert not same_formula((R + C) ** 2, R**2 + C**2)
    assert not same_formula(R, R * (1 + sympy.Rational(1, 10**30)))


def test_comparing_takes_a_bounded_time_for_whatever_is_typed():
    nasty = parse_formula("(R_f+C_in)^12" * 12, NAMES)
    start = time.process_time()
    assert not same_formula(nasty, R)
    assert time.process_time() - start < 5
