"""Marks of a sheet, and what the marks of a class say together."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from .handout import Handout
from .judging import Mark


@dataclass(frozen=True)
class MarkedSheet:
    """One student's marks.

    Attributes
    ----------
    sheet : Handout
        What was asked.
    marks : tuple of Mark
        One per question, in order; empty if nothing was handed in.
    """

    sheet: Handout
    marks: tuple[Mark, ...]

    @property
    def points(self) -> float:
        """Points earned."""
        return sum(mark.points for mark in self.marks)

    @property
    def possible(self) -> float:
        """Points that can be earned by numbers and formulas."""
        return sum(question.ask.points for question in self.sheet.questions)

    @property
    def slips(self) -> set[str]:
        """Keys of the recognised mistakes."""
        return {mark.slip for mark in self.marks if mark.slip}


def misconceptions(results: Iterable[MarkedSheet]) -> Counter[str]:
    """Return recognised mistake -> number of students who made it.

    Parameters
    ----------
    results : iterable of MarkedSheet
        The marks of a class.
    """
    return Counter(slip for result in results for slip in sorted(result.slips))


def success(results: Iterable[MarkedSheet]) -> dict[str, float]:
    """Return key of a question -> mean credit of those who handed something in.

    Parameters
    ----------
    results : iterable of MarkedSheet
        The marks of a class.
    """
    earned: dict[str, list[float]] = {}
    for result in results:
        for mark in result.marks:
            earned.setdefault(mark.question.ask.key, []).append(mark.credit)
    return {key: sum(shares) / len(shares) for key, shares in earned.items()}
