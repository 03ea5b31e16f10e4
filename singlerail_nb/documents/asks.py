"""What can be asked of any circuit, and the mistakes that are made with it, as data.

A `Slip` is a mistake: the figure of a changed circuit, or a changed formula, never a typed number.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import sympy

from .task import Task

Value = Callable[[Task], float]
Carry = Callable[[Task, float], Task]
FormulaOf = Callable[[Task], sympy.Expr]

RIGHT, ACCEPTED, SLIP, UNIT_SLIP = 1.0, 1.0, 0.5, 0.75
"""Credit for the exact answer, the textbook's, one with a recognised mistake, one with a slipped unit."""


@dataclass(frozen=True)
class Slip:
    """A mistake, or a usual approximation, and what a person who makes it gets.

    Attributes
    ----------
    key : str
        Short name, for counting over the class.
    remark : str
        What went wrong, as told to the student.
    value : callable
        Task -> the wrong value, SI units; of a formula question, task -> the wrong formula.
    credit : float
        Share of the points it still earns.
    """

    key: str
    remark: str
    value: Callable[[Task], float | sympy.Expr]
    credit: float = SLIP


@dataclass(frozen=True)
class Setup:
    """How a bench question is measured.

    Attributes
    ----------
    node : str
        Where.
    by : "meter" or "scope"
        Which instrument of the lab.
    how : str
        What to do, in one sentence; may name figures of the task in braces.
    rests : bool
        Whether the DC errors of the op-amp move it.
    """

    node: str
    by: str
    how: str
    rests: bool = False


@dataclass(frozen=True)
class Ask:
    """A question about any circuit.

    Attributes
    ----------
    key : str
        Short name, such as "low_cutoff".
    text : str
        The question.
    unit : str
        Unit of the answer, a name of the table of units; "formula" for a formula.
    value : callable
        Task -> the answer, SI units, or a formula.
    slips : tuple of Slip
        Mistakes of its own; those of the unit come on top.
    accepted : tuple of Slip
        Other answers that earn the points.
    uses : tuple of str
        Earlier questions whose wrong answers may be carried on.
    carry : callable, optional
        (task, answer) -> the task for which that answer would be right.
    parts : tuple of str
        Parts that the stage must have.
    points : float
        What it is worth.
    within : float
        Accepted relative deviation.
    setup : Setup, optional
        How it is measured; without one it is a prediction.
    """

    key: str
    text: str
    unit: str
    value: Callable[[Task], float | sympy.Expr]
    slips: tuple[Slip, ...] = ()
    accepted: tuple[Slip, ...] = ()
    uses: tuple[str, ...] = ()
    carry: Carry | None = None
    parts: tuple[str, ...] = ()
    points: float = 2.0
    within: float = 0.03
    setup: Setup | None = None

    @property
    def printed_unit(self) -> str:
        """The unit as it stands on paper; a number without a unit is read in it."""
        return "" if self.is_formula else printed(self.unit)

    @property
    def is_formula(self) -> bool:
        """Whether the answer is a formula."""
        return self.unit == "formula"


def printed(unit: str) -> str:
    """Return a unit as it stands on paper.

    Parameters
    ----------
    unit : str
        A name of the table of units.
    """
    return "Ω" if unit == "ohm" else unit


@dataclass(frozen=True)
class Signature:
    """The number, or the formula, by which a mistake is recognised.

    Attributes
    ----------
    slip : Slip
        The mistake.
    value : float or sympy expression
        SI units.
    """

    slip: Slip
    value: float | sympy.Expr


def _times(factor: float, key: str, remark: str, credit: float = UNIT_SLIP) -> tuple[str, str, float, float]:
    return key, remark, factor, credit


_PREFIXES = tuple(
    _times(10.0**power, "prefix", f"{words}: a prefix or a decimal point slipped")
    for power, words in (
        (3, "1000 times too large"),
        (-3, "1000 times too small"),
        (6, "a million times too large"),
        (-6, "a million times too small"),
        (1, "10 times too large"),
        (-1, "10 times too small"),
    )
)
_CYCLES = (
    _times(2 * math.pi, "radians", "2π times the answer: that is in rad/s, not in Hz", SLIP),
    _times(1 / (2 * math.pi), "radians", "the answer divided by 2π once too often", SLIP),
)
_AMPLITUDES = (
    _times(0.5, "peak", "half the answer: Vp was given where Vpp is asked", SLIP),
    _times(2.0, "peak", "twice the answer: Vpp was taken for Vp", SLIP),
    _times(0.5 / math.sqrt(2.0), "rms", "that is Vrms of a sine, Vpp is asked", SLIP),
)
_BY_UNIT = {"Hz": _CYCLES, "Vpp": _AMPLITUDES}


def slips_of_unit(value: float, unit: str) -> Iterator[Slip]:
    """Yield the mistakes that any answer in a unit may have.

    Parameters
    ----------
    value : float
        The right answer, SI units.
    unit : str
        Its unit.
    """
    if value < 0:
        yield Slip("sign", "the sign is missing: this stage inverts", lambda _: -value)
    for key, remark, factor, credit in (*_BY_UNIT.get(unit, ()), *_PREFIXES):
        yield Slip(key, remark, _multiplied(value, factor), credit)


def _multiplied(value: float, factor: float) -> Value:
    return lambda _: value * factor
