"""What a selection found: the winner with its checks, and why the runners-up lost."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from ..analysis.stage import Stage
from ..errors import RequirementError
from ..quantities import write_quantity
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
        how = f"best of {self.grid:,} combinations of {self.stock.title}"
        check = min(self.best.checks, key=lambda c: c.margin)
        figure = Figure(check.requirement, check.value, check.unit)
        values = self.best.values
        return tuple(
            replace(step, chosen=values[step.part], rounding=how, recomputed=figure)
            for step in nominal.steps
            if step.part in values
        )

    def why(self, runner: Candidate) -> str:
        """Return why a runner-up lost, in words.

        Parameters
        ----------
        runner : Candidate
            One of `runners_up`.
        """
        best, reasons = self.best, []
        changed = {n: v for n, v in runner.values.items() if v != best.values[n]}
        for name, less, more in (
            ("decades of capacitance", best.decades, runner.decades),
            ("distinct values", best.distinct, runner.distinct),
        ):
            if more - less > _FELT:
                reasons.append(f"{more - less:.2g} more {name}")
        if best.slack - runner.slack > _FELT:
            reasons.append(f"{best.slack - runner.slack:.0%} less margin")
        unit = {"r": "ohm", "c": "F"}
        parts = ", ".join(f"{n} {write_quantity(v, unit[n[0]])}" for n, v in changed.items())
        return f"{parts}: {', '.join(reasons) or 'the same score, later in the list'}"

    @property
    def text(self) -> str:
        """The winner, its checks and why the others lost, as plain text."""
        unit = {"r": "ohm", "c": "F"}
        lines = [f"best of {self.grid:,} combinations of {self.stock.title}, score {self.best.score:.3f}", ""]
        lines += [f"  {n:<9} {write_quantity(v, unit[n[0]]):>8}" for n, v in self.best.values.items()]
        lines += ["", *(f"  {check.text}" for check in self.best.checks), "", "runners-up:"]
        lines += [f"  {runner.score:.3f}  {self.why(runner)}" for runner in self.runners_up]
        return "\n".join(lines)

    def __repr__(self) -> str:
        return self.text


_FELT = 1e-9
