"""Derivations as HTML with MathML: typeset by the browser itself, without a script or a font file."""

from __future__ import annotations

import re
from html import escape

from sympy import mathml

from ..analysis.stage import Stage
from ..circuit.derivation_steps import DerivationStep, Equation

_LEFT_SIDE = re.compile(r"\\?([A-Za-z]+)(?:_\{?([\w,]+)\}?)?(\(s\))?")
_GREEK = {"tau": "τ", "omega": "ω"}


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
        f"<h3>{escape(step.title)}</h3><p>{escape(step.question)}</p>{rows}"
        f'<p>{escape(step.remark)}</p><p class="srn-note">{verdict}</p>'
    )


def _equation(equation: Equation) -> str:
    right = mathml(equation.right_side, printer="presentation")
    sign = ":" if "=" in equation.plain else "="
    return f'<p><math displaystyle="true">{_left_side(equation)}<mo>{sign}</mo>{right}</math></p>'


def _left_side(equation: Equation) -> str:
    match = None if equation.plain else _LEFT_SIDE.fullmatch(equation.name)
    if match is None:
        return f"<mtext>{escape(equation.plain or equation.name)}</mtext>"
    stem, index, of_s = match.groups()
    letter = f"<mi>{_GREEK.get(stem, stem)}</mi>"
    name = f"<msub>{letter}<mi>{index}</mi></msub>" if index else letter
    return f"<mrow>{name}<mo>(</mo><mi>s</mi><mo>)</mo></mrow>" if of_s else name
