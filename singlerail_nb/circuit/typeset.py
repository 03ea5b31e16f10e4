"""Formulas as LaTeX, in one place: words in subscripts stand upright."""

from __future__ import annotations

import re

import sympy

_WORD_BELOW = re.compile(r"_\{([A-Za-z]{2,})\}")


def latex(expression: sympy.Expr, *, dots: bool = False) -> str:
    """Return an expression as LaTeX.

    Parameters
    ----------
    expression : sympy expression
        What to typeset.
    dots : bool
        Whether products are written with a dot, as they must be between numbers.
    """
    return upright(str(sympy.latex(expression, mul_symbol="dot" if dots else None)))


def upright(text: str) -> str:
    """Return LaTeX in which a subscript of several letters is a word, not a product of variables.

    Parameters
    ----------
    text : str
        LaTeX.
    """
    return _WORD_BELOW.sub(r"_{\\mathrm{\1}}", text)
