"""What a selection found: the winner with its checks, and why the runners-up lost."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from ..analysis.stage import Stage
from ..errors import RequirementError
from ..quantities import write_quantity
from ..quantities.tables import markdown_table, unbroken
from .parts_list import NOT_BOUGHT, requirements_served
from .requirements import Requirements
from .steps import DesignStep, Figure
from .stock import Stock
from .synthesis import Design, design
from .verification import Check


@dataclass(frozen=True)
class Weights:
    """What counts how much; the score is a sum, and the lowest wins.

    Attributes
    ----------
    decade : float
        Per decade of capacitance above the smallest on the shelf, summed over capacitors.
    distinct : float
        Per distinct value on the parts list.
    margin : float
        For using up all margin; nothing for leaving all of it.
    """

    decade: float = 1.0
    distinct: float = 0.05
    margin: float = 0.1


@dataclass(frozen=True)
class Candidate:
    """One combination that meets every requirement.

    Attributes
    ----------
    stage : Stage
        The stage with its values.
    checks : tuple of Check
        Every requirement on the whole network.
    score : float
        Lower is better.
    decades : float
        Its share for capacitance.
    distinct : int
        Number of distinct values.
    slack : float
        Smallest share of a limit of gain or low end that is left, 0 to 1.
    """

    stage: Stage
    checks: tuple[Check, ...]
    score: float
    decades: float
    distinct: int
    slack: float

    @property
    def values(self) -> Mapping[str, float]:
        """The chosen values, ohm and farad."""
        return self.stage.values


@dataclass(frozen=True)
class Selection:
    """The best combination of a stock and those that came after it.

    Attributes
    ----------
    requirements : Requirements
        What was asked.
    topology : str
        Name of the stage.
    stock : Stock
        What could be bought.
    weights : Weights
        How it was judged.
    candidates : tuple of Candidate
        The winner, then the runners-up, in order.
    grid : int
        Number of combinations judged.
    """

    requirements: Requirements
    topology: str
    stock: Stock
    weights: Weights
    candidates: tuple[Candidate, ...]
    grid: int

    @property
    def best(self) -> Candidate:
        """The winner."""
        return self.candidates[0]

    @property
    def runners_up(self) -> tuple[Candidate, ...]:
        """The next ones, best first."""
        return self.candidates[1:]

    @cached_property
    def design(self) -> Design:
        """The winner as a design; its steps carry the derivation of the design without a stock."""
        return Design(self.requirements, self.topology, self.best.stage, self._steps())

    def _steps(self) -> tuple[DesignStep, ...]:
        try:
            nominal = design(self.requirements, self.topology)
        except RequirementError:
            return ()
        values, served = self.best.values, requirements_served(self.best.stage, self.requirements)
        tightest = min(self.best.checks, key=lambda c: c.margin)
        steps = []
        for step in nominal.steps:
            if step.part in values:
                check = next(iter(served[step.part]), tightest)
                figure = Figure(check.requirement, check.value, check.unit)
                how = f"best of the stock: {self.stock.title}"
                steps.append(replace(step, chosen=values[step.part], rounding=how, recomputed=figure))
        return tuple(steps)

    @property
    def chosen(self) -> tuple[str, ...]:
        """Names of the parts that were chosen, in drawing order."""
        names = self.best.stage.circuit.part_names
        return tuple(name for name in names if name in self.best.values and name not in NOT_BOUGHT)

    def why(self, runner: Candidate) -> str:
        """Return why a runner-up lost, in words.

        Parameters
        ----------
        runner : Candidate
            One of `runners_up`.
        """
        changed = (n for n in self.chosen if runner.values[n] != self.best.values[n])
        parts = ", ".join(f"{name} {_value(runner, name)}" for name in changed)
        return f"{parts}: {self._reasons(runner)}"

    def _reasons(self, runner: Candidate) -> str:
        best, reasons = self.best, []
        decades, values = runner.decades - best.decades, runner.distinct - best.distinct
        if decades > _FELT:
            reasons.append(f"product of the capacitors {10.0**decades - 1.0:.1%} larger")
        if values > 0:
            reasons.append(f"{values} more distinct value{'s' if values > 1 else ''}")
        if best.slack - runner.slack > _FELT:
            reasons.append(f"{best.slack - runner.slack:.1%} less margin")
        return ", ".join(reasons) or "the same score, later in the list"

    @property
    def text(self) -> str:
        """The winner, its checks and why the others lost, as plain text."""
        lines = [f"best of {self.grid:,} combinations of {self.stock.title}, score {self.best.score:.3f}", ""]
        lines += [f"  {name:<9} {_value(self.best, name):>8}" for name in self.chosen]
        lines += ["", *(f"  {check.text}" for check in self.best.checks), "", "runners-up:"]
        lines += [f"  {runner.score:.3f}  {self.why(runner)}" for runner in self.runners_up]
        return "\n".join(lines)

    def __repr__(self) -> str:
        return self.text

    def _repr_markdown_(self) -> str:
        head = f"**Best of {self.grid:,} combinations of {self.stock.title}**; the lowest score wins."
        rows = [(f"{c.score:.3f}", *unbroken(self._cells(c)), self._reasons(c)) for c in self.runners_up]
        winner = (f"**{self.best.score:.3f}**", *unbroken(self._cells(self.best)), "winner")
        table = markdown_table(("score", *self.chosen, "why it lost"), [winner, *rows])
        checks = markdown_table(_CHECKS, [check.row for check in self.best.checks])
        return f"{head}\n\n{table}\n\nThe winner:\n\n{checks}"

    def _cells(self, candidate: Candidate) -> list[str]:
        """Return values; of a runner-up only those that differ."""
        best = self.best.values
        other = [candidate is self.best or candidate.values[name] != best[name] for name in self.chosen]
        return [_value(candidate, name) if o else "" for name, o in zip(self.chosen, other, strict=True)]


def _value(candidate: Candidate, name: str) -> str:
    return write_quantity(candidate.values[name], "F" if name.startswith("c_") else "ohm")


_CHECKS = ("id", "requirement", "figure", "limit", "margin", "verdict")
_FELT = 5e-4
"""Differences below this are not worth a word; scores decide then."""
