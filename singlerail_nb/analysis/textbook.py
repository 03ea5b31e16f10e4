"""The textbook's isolated corners beside the whole network, with the difference stated."""

from __future__ import annotations

import re
from dataclasses import dataclass

import sympy

from ..circuit.derivation import with_ideal_bias
from ..circuit.network_functions import transfer_function
from ..circuit.printed_names import symbol_name
from ..errors import CircuitError
from .network import require_stage
from .stage import Stage
from .transfer import Transfer


@dataclass(frozen=True)
class Corner:
    """The pole of one piece of the signal path, taken alone.

    Attributes
    ----------
    place : str
        Which piece, such as "the input coupling".
    formula : sympy expression
        Its frequency, Hz.
    frequency : float
        Its value, Hz.
    """

    place: str
    formula: sympy.Expr
    frequency: float


@dataclass(frozen=True)
class TextbookComparison:
    """Three answers to where the low-end cut-off is.

    Attributes
    ----------
    corners : tuple of Corner
        The isolated corners, in signal order.
    highest : float
        Rule of thumb: the highest of them is the cut-off, Hz.
    product : float
        The pieces multiplied, each ideal beside the others (firm bias node, ideal op-amp), Hz.
    whole : float
        The whole network, Hz.
    """

    corners: tuple[Corner, ...]
    highest: float
    product: float
    whole: float

    @property
    def errors(self) -> tuple[float, float]:
        """Relative errors of ``highest`` and ``product`` against the whole network."""
        return self.highest / self.whole - 1.0, self.product / self.whole - 1.0

    @property
    def text(self) -> str:
        """The comparison as plain text."""
        wide = max([24, *(len(corner.place) for corner in self.corners)])
        lines = [f"{corner.place:<{wide}} {corner.frequency:>8.4g} Hz" for corner in self.corners]
        named = (("highest corner alone", self.highest), ("product of the pieces", self.product))
        for (name, value), error in zip(named, self.errors, strict=True):
            lines.append(f"{name:<{wide}} {value:>8.4g} Hz  ({error:+.2%})")
        return "\n".join([*lines, f"{'whole network':<{wide}} {self.whole:>8.4g} Hz"])

    def __repr__(self) -> str:
        return self.text


_CORNER = re.compile(r"f_\{(in|a\d?|\d\d|out)\}")
"""Names of the isolated corners of a derivation, also of a second amplifier and between two stages."""


def textbook(stage: Stage) -> TextbookComparison:
    """Return the isolated corners of a stage and what they say about its low-end cut-off.

    Parameters
    ----------
    stage : Stage
        A stage with a low-end cut-off.

    Raises
    ------
    QuantityError
        If ``stage`` is no stage.
    CircuitError
        If it has none.
    """
    require_stage(stage)
    whole = stage.transfer("signal", "output").low_cutoff()
    if whole == 0:
        raise CircuitError(
            "low-end cut-off",
            f"none: {stage.title.lower()} passes low frequencies down to DC",
            allowed="a stage with coupling capacitors in the way of its signal",
            remedy="Ask for its top end instead: .high_cutoff() of its transfer.",
        )
    corners = tuple(
        Corner(step.title.lower(), equation.expression, _number(equation.expression, stage))
        for step in stage.derivation()
        for equation in step.equations
        if _CORNER.fullmatch(equation.name)
    )
    ideal = with_ideal_bias(stage.circuit)
    function = transfer_function(ideal, "signal", ideal.path[-1])
    pieces = Transfer(function, dict(stage.parameters), "signal", "output")
    return TextbookComparison(
        corners=corners,
        highest=max((corner.frequency for corner in corners), default=0.0),
        product=pieces.low_cutoff(),
        whole=whole,
    )


def _number(expression: sympy.Expr, stage: Stage) -> float:
    known = {symbol_name(name): value for name, value in stage.values.items()}
    return float(expression.subs({x: known[x.name] for x in expression.free_symbols}))
