"""Names of parts as their printed symbols, and formulas that fit on paper."""

from __future__ import annotations

import re
from collections.abc import Iterator

import sympy

from ..circuit.derivation_steps import Equation
from ..circuit.symbols import S, part_symbol
from ..circuit.typeset import latex, sentence, upright
from .document import Formula

_PART_NAME = re.compile(r"(?<![\w$])([rc](?:_[a-z0-9]+)+)\b")
_OPAMP = re.compile(r"\bopamp\b")
LONGEST_FORMULA = 160
"""Characters of plain text up to which a formula fits on a line of paper."""
_LONGEST_FACTOR = 50


def symbol(name: str) -> str:
    """Return the printed symbol of a part as a formula, such as ``$R_{f}$``.

    Parameters
    ----------
    name : str
        Argument name of the part.
    """
    return f"${latex(part_symbol(name))}$"


def typeset(text: str) -> str:
    """Return a text in which part names (c_in) and symbols (R_f) are formulas, and opamp is a word.

    Parameters
    ----------
    text : str
        Plain text.
    """
    return _PART_NAME.sub(lambda found: symbol(found[1]), _OPAMP.sub("op-amp", sentence(text)))


def formulas_of(equation: Equation) -> Iterator[Formula]:
    """Yield an equation as formulas that fit on paper: a long quotient in named polynomials.

    Parameters
    ----------
    equation : Equation
        Of a derivation.
    """
    if len(equation.text) <= LONGEST_FORMULA:
        yield Formula(equation.latex, equation.text)
        return
    halves = sympy.fraction(sympy.together(equation.right_side))
    long: list[sympy.Expr] = []
    shown = [_in_short(half, long) for half in halves]
    name = upright(equation.name)
    plain = f"{equation.text.partition(' = ')[0]} = a quotient with {', '.join(_names(long))}"
    yield Formula(rf"{name} = \frac{{{shown[0]}}}{{{shown[1]}}}", plain)
    for number, factor in enumerate(long):
        yield from _polynomial(f"P_{number + 1}", "abcdef"[number % 6], factor)


def _names(long: list[sympy.Expr]) -> list[str]:
    return [f"P_{number}(s)" for number in range(1, len(long) + 1)]


def _in_short(half: sympy.Expr, long: list[sympy.Expr]) -> str:
    """Return a product as LaTeX in which long factors are names; the factors are added to the list."""
    factors = []
    for factor in sympy.Mul.make_args(half):
        if len(str(factor)) <= _LONGEST_FACTOR:
            bracket = isinstance(factor, sympy.Add)
            factors.append(rf"\left({latex(factor)}\right)" if bracket else latex(factor))
        else:
            long.append(factor)
            factors.append(rf"P_{{{len(long)}}}(s)")
    return r" \, ".join(factors)


def _polynomial(name: str, letter: str, factor: sympy.Expr) -> Iterator[Formula]:
    coefficients = sympy.Poly(factor, S).all_coeffs()[::-1]
    powers = ["", " s", *(f" s^{{{k}}}" for k in range(2, len(coefficients)))]
    terms = [f"{letter}_{{{k}}}{powers[k]}" for k, c in enumerate(coefficients) if c != 0]
    plain = [f"{letter}_{k}*s**{k}" for k, c in enumerate(coefficients) if c != 0]
    head = name.replace("_", "_{") + "}(s)"
    yield Formula(f"{head} = {' + '.join(reversed(terms))}", f"{name}(s) = {' + '.join(reversed(plain))}")
    for k, c in enumerate(coefficients):
        if c != 0:
            yield Formula(f"{letter}_{{{k}}} = {latex(sympy.factor_terms(c))}", f"{letter}_{k} = {c}")
