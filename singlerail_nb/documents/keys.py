"""The answer key: value, band and the number by which each mistake is recognised."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import sympy

from ..circuit.typeset import latex
from ..errors import require_result
from .document import Block, Heading, Table
from .fault_page import sound_board
from .handout import Handout
from .paper import Paper
from .plain_text import plain
from .questions import Question
from .wording import symbol, typeset

_OF_EVERY_UNIT = ("prefix", "radians", "peak", "rms")
"""Mistakes that look alike in every question: not worth a line in each."""


def answer_key(sheet: Handout) -> Paper:
    """Return the key of one sheet, for the instructor.

    Parameters
    ----------
    sheet : Handout
        The sheet.

    Raises
    ------
    QuantityError
        If it is no sheet.
    """
    require_result(sheet, Handout, "answer_key(sr.handout(...))")
    facts = (
        ("Student", plain(sheet.student) or "none"),
        ("Sheet code", sheet.code or "none"),
        ("For", "the instructor only"),
    )
    return Paper(f"Key: {sheet.goal.title}", tuple(key_blocks(sheet)), facts)


def key_blocks(sheet: Handout) -> Iterable[Block]:
    """Yield the blocks of a key.

    Parameters
    ----------
    sheet : Handout
        The sheet.
    """
    yield Heading("Answers")
    yield Table(
        ("", "Question", "Answer", "Right from ... to", "Points"),
        tuple(_answer(question) for question in sheet.questions),
        "Bands: rounding for predictions; part tolerance, instrument loading and accuracy for measurements.",
    )
    yield Heading("What mistakes look like")
    yield Table(
        ("", "Answer given", "What happened", "Credit"),
        tuple(row for question in sheet.questions for row in _mistakes(question)),
        "Slips of a prefix or of 2π, and Vp or Vrms for Vpp, are recognised as well.",
    )
    yield Heading("Fault finding")
    yield _fault_table(sheet)


def answer_rows(sheet: Handout) -> tuple[tuple[str, ...], ...]:
    """Return the answers of a sheet in short: a row of predictions and a row of measured bands.

    Parameters
    ----------
    sheet : Handout
        The sheet.
    """
    predicted = (q.written(q.value) for q in sheet.predictions if not q.ask.is_formula)
    measured = (" to ".join(map(q.written, q.band)) for q in sheet.measurements)
    name = plain(sheet.student)
    return (name, sheet.code, *predicted), (name, *measured)


def all_answers(title: str, asked: Sequence[Question], rows: Iterable[tuple[tuple[str, ...], ...]]) -> Paper:
    """Return the answers of a class on one page, for the instructor's walk along the benches.

    Parameters
    ----------
    title : str
        Title of the lab.
    asked : sequence of Question
        Questions of any sheet.
    rows : iterable of (row, row)
        What `answer_rows` returns, in the order of the class list.
    """
    predicted, measured = zip(*rows, strict=True)
    numbers = [q.id for q in asked if q.ask.setup is None and not q.ask.is_formula]
    read = [q.id for q in asked if q.ask.setup is not None]
    blocks = (
        Heading("Predictions"),
        Table(("Student", "Code", *numbers), predicted),
        Heading("Measurements"),
        Table(("Student", *read), measured, "Right from ... to, with part tolerance and instruments."),
    )
    return Paper(f"All answers: {title}", blocks, (("For", "the instructor only"),))


def written_formula(formula: sympy.Expr) -> str:
    """Return a formula typeset inside a text.

    Parameters
    ----------
    formula : sympy expression
        In part symbols.
    """
    return f"${latex(formula)}$"


def _answer(question: Question) -> tuple[str, ...]:
    if question.ask.is_formula:
        return (
            question.id,
            question.text,
            written_formula(question.formula),
            "any equal form",
            f"{question.ask.points:g}",
        )
    low, high = (question.written(end) for end in question.band)
    text = question.text if question.ask.setup is None else f"{question.text} (measured)"
    return (
        question.id,
        text,
        question.written(question.value),
        f"{low} ... {high}",
        f"{question.ask.points:g}",
    )


def _mistakes(question: Question) -> Iterable[tuple[str, ...]]:
    is_formula = question.ask.is_formula
    own = [s for s in question.signatures if is_formula or s.slip.key not in _OF_EVERY_UNIT]
    for found in own:
        shown = written_formula(found.value) if is_formula else question.written(float(found.value))
        yield question.id, shown, typeset(found.slip.remark), f"{found.slip.credit:.0%}"


_HAPPENED = {"open": "open", "short": "shorted"}


def _fault_table(sheet: Handout) -> Table:
    sound = sound_board(sheet.task)
    rows = [
        (f"F{i}", f"{symbol(fault.part)} {_HAPPENED[fault.how]}", *fault.cells_beside(sound))
        for i, fault in enumerate(sheet.faults, 1)
    ]
    rows.append(("", "sound board", *sound.cells))
    return Table(("", "Part", "Bias rests", "Output rests", "Output at 1 kHz", "Ripple"), tuple(rows))
