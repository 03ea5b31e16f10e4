"""Sheets that resemble each other: wrong answers that belong to one other student."""

from __future__ import annotations

from collections.abc import Iterator

from .judging import Mark
from .marked import MarkedSheet
from .plain_text import printable

COPIED = 3
"""Wrong answers that belong to one other sheet before the instructor is told."""
_SAME_FIGURE = 2e-3


def resemblances(results: tuple[MarkedSheet, ...]) -> Iterator[str]:
    """Yield a line for every student whose wrong answers are those of one other student.

    An answer is another student's if it is right on that sheet, or if it is the number that the other
    one wrote: mistakes are copied too.  One of them must be right there, since that tells who had it
    first.  Measurements are left out, as their bands overlap, and so are formulas.

    Parameters
    ----------
    results : tuple of MarkedSheet
        The marks of a class.
    """
    for result in results:
        wrong = [mark for mark in result.marks if _is_own_wrong(mark)]
        found = [(_taken(wrong, other), other.sheet.student) for other in results if other is not result]
        taken, name = max(found, key=lambda pair: len(pair[0]), default=([], ""))
        if len(taken) >= COPIED:
            own, theirs = printable(result.sheet.student, 40), printable(name, 40)
            yield (
                f"{own}: {', '.join(taken)} are the answers of {theirs}, who has another circuit; "
                "ask before you conclude"
            )


def _is_own_wrong(mark: Mark) -> bool:
    ask = mark.question.ask
    is_number = mark.value is not None and ask.setup is None and not ask.is_formula
    return is_number and mark.verdict in ("mistake", "wrong", "follow-on")


def _taken(wrong: list[Mark], other: MarkedSheet) -> list[str]:
    """Return the questions whose wrong answers belong to another student; none if none is right there."""
    theirs = {mark.question.id: mark for mark in other.marks}
    asked = {question.id: question for question in other.sheet.questions}
    right = {
        m.question.id for m in wrong if m.question.id in asked and _is_right(m, asked[m.question.id].value)
    }
    same = {m.question.id for m in wrong if m.question.id in theirs and _is_copy(m, theirs[m.question.id])}
    return [m.question.id for m in wrong if m.question.id in right | same] if right else []


def _is_right(mark: Mark, value: float) -> bool:
    return mark.value is not None and mark.question.near(mark.value, value)


def _is_copy(mark: Mark, other: Mark) -> bool:
    if mark.value is None or other.value is None:
        return False
    return abs(mark.value - other.value) <= _SAME_FIGURE * abs(other.value)
