"""Judge one answer: read it, compare it, carry earlier mistakes on, name the mistake if it is known.

Text is read by the quantity and formula parsers and is never run.  Every answer takes a bounded
time: its length is limited, formulas are compared at a few points, and circuits are solved once.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import sympy

from ..circuit.symbols import part_symbol
from ..errors import SingleRailError
from ..formulas import parse_formula, same_formula
from .asks import UNIT_SLIP, Signature
from .questions import Question
from .task import Task
from .typed_answers import plain_formula, read_answer

Verdict = Literal["right", "accepted", "follow-on", "mistake", "wrong", "unreadable", "missing"]
_CARRIED = (1e-3, 1e3)


@dataclass(frozen=True)
class Mark:
    """The judgement of one answer.

    Attributes
    ----------
    question : Question
        What was asked.
    text : str
        What was answered.
    verdict : str
        "right", "accepted", "follow-on", "mistake", "wrong", "unreadable" or "missing".
    credit : float
        Share of the points.
    remark : str
        What to tell the student.
    slip : str
        Key of the recognised mistake; empty if none was.
    value : float or None
        The answer as a number, SI units; of a wrong formula, what it gives for the student's circuit.
    """

    question: Question
    text: str
    verdict: Verdict
    credit: float
    remark: str = ""
    slip: str = ""
    value: float | None = None

    @property
    def points(self) -> float:
        """Points earned."""
        return self.credit * self.question.ask.points


def judge(question: Question, text: str, earlier: Mapping[str, Mark]) -> Mark:
    """Return the mark of an answer.

    Parameters
    ----------
    question : Question
        What was asked.
    text : str
        What was answered, as typed.
    earlier : mapping of str to Mark
        Marks of earlier questions by key of their ask.
    """
    if not text.strip():
        return Mark(question, "", "missing", 0.0, "no answer")
    try:
        if question.ask.is_formula:
            return _judge_formula(question, text)
        value, note = read_answer(text, question.ask.unit)
    except SingleRailError as error:
        return Mark(question, text, "unreadable", 0.0, error.remedy)
    mark = _judge_number(question, text, value, earlier)
    if not note or not mark.credit:
        return mark
    remark = f"{note}; {mark.remark}" if mark.remark else note
    return Mark(question, text, mark.verdict, mark.credit * UNIT_SLIP, remark, mark.slip or "unit", value)


def _judge_number(question: Question, text: str, value: float, earlier: Mapping[str, Mark]) -> Mark:
    if question.is_right(value):
        return Mark(question, text, "right", 1.0, value=value)
    carried = follow_on(question, earlier)
    if carried is not None and question.near(value, carried):
        remark = "follows correctly from an earlier answer, which is not right"
        return Mark(question, text, "follow-on", 1.0, remark, value=value)
    known = [s for s in question.signatures if question.near(value, float(s.value))]
    if known:
        return _recognised(question, text, known[0], value)
    ratio = value / question.value
    side = "of the wrong sign" if ratio < 0 else "too high" if ratio > 1 else "too low"
    where = "outside the allowed band: " if question.ask.setup else ""
    return Mark(question, text, "wrong", 0.0, f"{where}{side}", value=value)


def _recognised(question: Question, text: str, found: Signature, value: float | None = None) -> Mark:
    slip = found.slip
    accepted = slip.credit >= 1.0
    key = "" if accepted else slip.key
    return Mark(question, text, "accepted" if accepted else "mistake", slip.credit, slip.remark, key, value)


def follow_on(question: Question, earlier: Mapping[str, Mark]) -> float | None:
    """Return the answer that follows from the student's own earlier answers; None if those were right.

    Parameters
    ----------
    question : Question
        The question.
    earlier : mapping of str to Mark
        Marks by key of their ask.
    """
    task, moved = question.seen, False
    for key in question.ask.uses:
        mark = earlier.get(key)
        if mark is None or mark.value is None or mark.verdict in ("right", "accepted"):
            continue
        carried = _carried(mark, task)
        if carried is None:
            return None
        task, moved = carried, True
    if not moved:
        return None
    try:
        return float(question.ask.value(task))
    except (SingleRailError, ArithmeticError, ValueError, KeyError):
        return None


def _carried(mark: Mark, task: Task) -> Task | None:
    """Return the task for which an earlier answer would have been right; None if there is none."""
    ask, value = mark.question.ask, mark.value
    if ask.carry is None or value is None or not mark.question.value:
        return None
    if not _CARRIED[0] <= value / mark.question.value <= _CARRIED[1]:
        return None
    try:
        carried = ask.carry(task, value)
    except (SingleRailError, ArithmeticError, ValueError):
        return None
    sound = all(math.isfinite(v) and v > 0 for v in carried.stage.values.values())
    return carried if sound else None


def _judge_formula(question: Question, text: str) -> Mark:
    symbols = {s.name: s for s in (part_symbol(name) for name in question.task.stage.values)}
    guess = parse_formula(plain_formula(text), symbols)
    if same_formula(guess, question.formula):
        return Mark(question, text, "right", 1.0)
    if _nearly_same(guess, question.formula):
        return Mark(question, text, "accepted", 1.0, "π was rounded")
    value = question.number(guess)
    for found in question.signatures:
        if same_formula(guess, found.value):
            return _recognised(question, text, found, value)
    missing = sorted(x.name for x in question.formula.free_symbols - guess.free_symbols)
    remark = f"{', '.join(missing)} must matter" if missing else "not the same formula"
    return Mark(question, text, "wrong", 0.0, remark, value=value)


def _nearly_same(guess: sympy.Expr, formula: sympy.Expr) -> bool:
    """Return whether two formulas agree within half a per cent: 3.14 for π."""
    names = sorted(guess.free_symbols | formula.free_symbols, key=str)
    for base in _POINTS:
        point = {x: base**k for k, x in enumerate(names, 1)}
        one, other = (complex(e.evalf(15, subs=point)) for e in (guess, formula))
        if not abs(one - other) <= _ROUNDED_PI * abs(other):
            return False
    return True


_POINTS, _ROUNDED_PI = (1.7, 2.3, 3.1), 5e-3
