"""Questions about one student's circuit: value, band, and the number that shows each mistake.

The handout, the key and the marker read the same objects.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property

import sympy

from ..circuit.symbols import part_symbol
from ..errors import SingleRailError
from ..quantities import write_quantity
from .asks import Ask, Setup, Signature, Slip, slips_of_unit
from .bands import dc_errors, spread
from .task import Task


@dataclass(frozen=True)
class Question:
    """An ask about one student's circuit.

    Attributes
    ----------
    id : str
        Identifier on paper, such as "P3".
    ask : Ask
        What is asked.
    task : Task
        Of which circuit.
    """

    id: str
    ask: Ask
    task: Task

    @property
    def seen(self) -> Task:
        """The task with the instrument of a bench question in place."""
        setup = self.ask.setup
        if setup is None:
            return self.task
        known = self.task.lab.meter if setup.by == "meter" else self.task.lab.scope
        return self.task.at(setup.node, known)

    @cached_property
    def value(self) -> float:
        """The answer, SI units; of a formula question, what the formula gives for this circuit."""
        return self.number(self.formula) if self.ask.is_formula else float(self.ask.value(self.seen))

    @cached_property
    def formula(self) -> sympy.Expr:
        """The answer of a formula question."""
        return self.ask.value(self.task)

    def number(self, formula: sympy.Expr) -> float:
        """Return what a formula gives for this circuit, SI units; nan if that is no finite real number.

        Parameters
        ----------
        formula : sympy expression
            In part symbols.
        """
        point = {part_symbol(name): value for name, value in self.task.stage.values.items()}
        found = formula.evalf(15, subs=point)
        return float(found) if found.is_Float and found.is_finite else math.nan

    @property
    def text(self) -> str:
        """The question with the conditions of the task."""
        return self.filled(self.ask.text)

    def filled(self, text: str) -> str:
        """Return a text with the conditions of the task in its braces.

        Parameters
        ----------
        text : str
            It may name {amplitude}, {ripple} and {line}.
        """
        lab = self.task.lab
        named = {
            "{amplitude}": write_quantity(self.task.amplitude, "Vpp"),
            "{ripple}": write_quantity(lab.ripple, "Vpp"),
            "{line}": write_quantity(lab.ripple_frequency, "Hz"),
        }
        for name, value in named.items():
            text = text.replace(name, value)
        return text

    @property
    def setup(self) -> Setup:
        """How a bench question is measured; for a prediction, nowhere and with nothing."""
        return self.ask.setup or Setup("", "", "")

    def written(self, value: float) -> str:
        """Return a value in the unit of the question.

        Parameters
        ----------
        value : float
            SI units.
        """
        return write_quantity(value, self.ask.unit, 3)

    def near(self, value: float, other: float) -> bool:
        """Return whether two values are the same answer.

        Parameters
        ----------
        value, other : float
            SI units; both of one sign.
        """
        return abs(value - other) <= self.ask.within * abs(other)

    @cached_property
    def band(self) -> tuple[float, float]:
        """Lowest and highest right answer: rounding, or tolerances and instrument of a bench question."""
        if self.ask.setup is None:
            ends = [self.value * (1.0 - self.ask.within), self.value * (1.0 + self.ask.within)]
            return min(ends), max(ends)
        low, high = spread(self.seen, self.ask.value)
        if self.ask.setup.rests:
            below, above = dc_errors(self.task, self.ask.setup.node)
            low, high = low + below, high + above
        known = self.seen.probe
        reading = known[1].accuracy if known else 0.0
        return low - reading * abs(low), high + reading * abs(high)

    def is_right(self, value: float) -> bool:
        """Return whether a value lies in the band.

        Parameters
        ----------
        value : float
            SI units.
        """
        low, high = self.band
        slack = 1e-9 * max(abs(low), abs(high))
        return low - slack <= value <= high + slack

    @cached_property
    def signatures(self) -> tuple[Signature, ...]:
        """What else may be answered: accepted approximations first, then mistakes that can be told apart."""
        if self.ask.is_formula:
            own = (*self.ask.accepted, *self.ask.slips)
            return tuple(Signature(slip, slip.value(self.task)) for slip in own)
        found: list[Signature] = []
        for slip in self._slips():
            value = _safely(slip.value, self.seen)
            if value is None or self.is_right(value) or any(self.near(value, float(s.value)) for s in found):
                continue
            found.append(Signature(slip, value))
        return tuple(found)

    def _slips(self) -> Iterable[Slip]:
        yield from self.ask.accepted
        yield from self.ask.slips
        yield from slips_of_unit(self.value, self.ask.unit)


def _safely(value: Callable[[Task], float | sympy.Expr], task: Task) -> float | None:
    """Return a wrong value; None where the changed circuit has none."""
    try:
        found = float(value(task))
    except (SingleRailError, KeyError):
        return None
    return found if math.isfinite(found) and found != 0 else None
