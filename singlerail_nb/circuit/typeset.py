"""Formulas as LaTeX, in one place: words in subscripts stand upright."""

from __future__ import annotations

import re

import sympy

from .printed_names import symbol_name

_SYMBOL_IN_WORDS = re.compile(r"(?<![\w$])([RCVGf])_([A-Za-z]+[0-9]*)\b")
_WORD_BELOW = re.compile(r"_\{([A-Za-z]{2,}[0-9]*)\}")


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


def part_label(name: str) -> str:
    """Return the symbol of a part for the label of a picture: ``r_f`` gives ``$R_{f}$``.

    Parameters
    ----------
    name : str
        Name of a part; another text stays as it is.
    """
    stem, _, index = symbol_name(name).partition("_")
    return f"${stem}_{{\\mathrm{{{index}}}}}$" if name[:2] in {"r_", "c_"} else name


def sentence(text: str) -> str:
    """Return a sentence as Markdown in which symbols such as R_f and f_p are formulas.

    Parameters
    ----------
    text : str
        Plain text; names of nodes and parts, such as amp_out and r_source, stay as they are.
    """
    return _SYMBOL_IN_WORDS.sub(lambda found: f"${upright(f'{found[1]}_{{{found[2]}}}')}$", text)
