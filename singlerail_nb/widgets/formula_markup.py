"""Derivations as HTML with MathML: typeset by the browser itself, without a script or a font file."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

import sympy

from ..analysis.stage import Stage
from ..circuit.derivation_steps import DerivationStep, Equation
from ..circuit.typeset import latex, sentence, upright
from ..documents.html import inline, mathml

_LONG = 150
"""An equation with more characters than this does not fit a line: it is written factor by factor."""

_SHORT = 60
"""A factor or term up to this length stays whole."""


def derivation_html(stage: Stage) -> str:
    """Return the derivation of a stage as HTML.

    Parameters
    ----------
    stage : Stage
        The stage; its formulas hold for all part values.
    """
    return "".join(_step(step) for step in stage.derivation())


def _step(step: DerivationStep) -> str:
    rows = "".join(_equation(equation) for equation in step.equations)
    verdict = "✓ checked against the network function of the circuit" if step.check() else "✗ does not hold"
    return (
        f"<h3>{escape(step.title)}</h3><p>{inline(sentence(step.question))}</p>{rows}"
        f'<p>{inline(sentence(step.remark))}</p><p class="srn-note">{verdict}</p>'
    )


def _equation(equation: Equation) -> str:
    if len(str(equation.right_side)) <= _LONG:
        return _line(mathml(equation.latex))
    upper, lower = sympy.fraction(equation.right_side)
    whole = f"{upright(equation.name)} = \\frac{{N(s)}}{{D(s)}}"
    return _line(mathml(whole)) + _long("N(s)", upper) + _long("D(s)", lower)


def _line(markup: str) -> str:
    return f'<p class="srn-formula">{markup}</p>'


def _long(name: str, expression: sympy.Expr) -> str:
    """Return an equation in pieces, between which the browser may begin a new line."""
    return _line(" ".join(mathml(piece) for piece in (f"{name} =", *_pieces(expression))))


def _pieces(expression: sympy.Expr, *, within_product: bool = False) -> Iterator[str]:
    """Yield a long expression factor by factor and term by term; what is short stays whole."""
    if len(str(expression)) > _SHORT and expression.is_Mul:
        for factor in expression.args:
            yield from _pieces(factor, within_product=True)
    elif len(str(expression)) > _SHORT and expression.is_Add:
        pieces = [
            [("{} + " if k and not n else "") + piece for n, piece in enumerate(_pieces(term))]
            for k, term in enumerate(expression.as_ordered_terms())
        ]
        yield from _enclosed([piece for term in pieces for piece in term], within_product)
    else:
        yield from _enclosed([latex(expression)], within_product and expression.is_Add)


def _enclosed(pieces: list[str], wanted: bool) -> list[str]:
    if not wanted:
        return pieces
    opened = [f"({pieces[0]}", *pieces[1:]]
    return [*opened[:-1], f"{opened[-1]})"]
