"""Derivations as MathML: long formulas come in pieces, and the pieces are the whole formula."""

import re
from itertools import pairwise

import sympy

from singlerail_nb.circuit.typeset import latex
from singlerail_nb.widgets.formula_markup import _pieces, derivation_html


def test_a_short_expression_stays_whole():
    a, b = sympy.symbols("a b")
    assert list(_pieces(a * (b + 1))) == [latex(a * (b + 1))]
    assert list(_pieces(a + b, within_product=True)) == ["(" + latex(a + b) + ")"]


def test_the_pieces_are_the_expression():
    names = sympy.symbols("a:z")
    long_sum = sympy.Add(*(x * y for x, y in pairwise(names)))
    expression = names[0] ** 2 * (names[1] + 1) * (names[2] * long_sum + names[3])
    pieces = list(_pieces(expression))
    assert len(pieces) > 10
    text = re.sub(r"\^\{2\}", "**2", "*".join(pieces).replace("*{} +", "+").replace("{} +", "+"))
    spaced = re.sub(r"(?<=[a-z0-9)]) (?=[a-z(])", "*", text)
    assert sympy.expand(sympy.sympify(spaced) - expression) == 0


def test_every_step_of_a_stage_is_there(stage):
    html = derivation_html(stage)
    steps = stage.derivation()
    assert html.count("<h3>") == len(steps)
    assert html.count("✓ checked") == len(steps)
    assert "_" not in re.sub(r"<[^>]*>|amp_out", "", html)
