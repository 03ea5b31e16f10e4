"""How the parts of a level shift follow from the line Vout = m Vin + b.

No formula is typed in: slope and share of the reference are the DC transfers of the circuit, and
each part is solved from one of four equations between them.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import sympy

from ..analysis.part_values import present
from ..circuit.circuit import Circuit
from ..circuit.network_functions import transfer_function
from ..circuit.stages import build_circuit
from ..circuit.symbols import part_symbol

SLOPE = sympy.Symbol("m", real=True)
INTERCEPT = sympy.Symbol("b", real=True)
REFERENCE = sympy.Symbol("V_ref", positive=True)
Equation = Literal["slope", "share", "ratio", "leg"]


@dataclass(frozen=True)
class Line:
    """The line that is wanted.

    Attributes
    ----------
    slope : float
        m, V/V.
    intercept : float
        b, V.
    reference : float
        V.
    """

    slope: float
    intercept: float
    reference: float

    @property
    def form(self) -> str:
        """The pair of signs: "+m +b", "+m -b", "-m +b", "-m -b", or without b."""
        slope = "+m" if self.slope > 0 else "-m"
        return slope if self.intercept == 0 else f"{slope} {'+' if self.intercept > 0 else '-'}b"


@dataclass(frozen=True)
class Solved:
    """A part that follows from the line and the parts before it.

    Attributes
    ----------
    part : str
        Its name.
    equation : "slope", "share", "ratio" or "leg"
        m = M; b = V_ref U; b M = m V_ref U; b (M - 1) = (m - 1) V_ref U, where M and U are the
        transfers of signal and reference to the output at rest.
    question, reason : str
        For the record of the design.
    """

    part: str
    equation: Equation
    question: str
    reason: str


@dataclass(frozen=True)
class Plan:
    """A circuit for a line: which parts are free, and in which order the others follow.

    Attributes
    ----------
    stage : str
        Name of the stage in the registry.
    free : tuple of (str, float)
        Parts that may be chosen, with the start of their decade, ohm.
    solved : tuple of Solved
        The others, in order.
    """

    stage: str
    free: tuple[tuple[str, float], ...]
    solved: tuple[Solved, ...]

    @property
    def parts(self) -> tuple[str, ...]:
        """All resistors of the plan, the free ones first."""
        return (*(name for name, _ in self.free), *(step.part for step in self.solved))


@lru_cache(maxsize=64)
def shift_circuit(stage: str, parts: tuple[str, ...], source: bool) -> Circuit:
    """Return the circuit of a plan: its resistors, and nothing else.

    Parameters
    ----------
    stage : str
        Name in the registry.
    parts : tuple of str
        Its resistors.
    source : bool
        Whether the source has a resistance.
    """
    values = dict.fromkeys(parts, 1.0) | {"r_source": 1.0 if source else 0.0}
    return present(build_circuit(stage), values)


@lru_cache(maxsize=64)
def formula_for(circuit: Circuit, part: str, equation: Equation) -> sympy.Expr:
    """Return a part as a formula of the line and the other parts.

    Parameters
    ----------
    circuit : Circuit
        From `shift_circuit`.
    part : str
        The part that is wanted.
    equation : "slope", "share", "ratio" or "leg"
        Which equation it is solved from; see `Solved`.
    """
    end = circuit.path[-1]
    slope, share = (transfer_function(circuit, name, end).expression for name in ("signal", "reference"))
    from_reference = REFERENCE * share
    balance = {
        "slope": slope - SLOPE,
        "share": from_reference - INTERCEPT,
        "ratio": INTERCEPT * slope - SLOPE * from_reference,
        "leg": INTERCEPT * (slope - 1) - (SLOPE - 1) * from_reference,
    }[equation]
    numerator = sympy.numer(sympy.cancel(sympy.together(balance)))
    per_ohm, rest = sympy.Poly(numerator, part_symbol(part)).all_coeffs()
    return sympy.factor(-rest / per_ohm)
