"""The answer key: value, band and the number by which each mistake is recognised."""

from __future__ import annotations

from collections.abc import Iterable

import sympy

from ..circuit.symbols import symbol_name
from ..circuit.typeset import latex
from .document import Block, Heading, Table
from .fault_page import sound_readings
from .handout import Handout
from .paper import Paper
from .plain_text import plain
from .questions import Question

_OF_EVERY_UNIT = ("prefix", "peak", "rms")
"""Mistakes that look alike in every question: not worth a line in each."""


def answer_key(sheet: Handout) -> Paper:
    """Return the key of one sheet, for the instructor.

    Parameters
    ----------
    sheet : Handout
        The sheet.
    """
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
        "Slips of a prefix, and Vp or Vrms for Vpp, are recognised as well.",
    )
    yield Heading("Fault finding")
    yield _fault_table(sheet)


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
    own = [s for s in question.signatures if s.slip.key not in _OF_EVERY_UNIT]
    for found in own:
        shown = (
            written_formula(found.value) if question.ask.is_formula else question.written(float(found.value))
        )
        yield question.id, shown, found.slip.remark, f"{found.slip.credit:.0%}"


def _fault_table(sheet: Handout) -> Table:
    found = sheet.faults
    rows = [(f"F{i}", f"{symbol_name(f.part)} {f.how}", *f.cells) for i, f in enumerate(found, 1)]
    rows.append(("", "sound board", *sound_readings(sheet.task).cells))
    return Table(("", "Part", "Bias rests", "Output rests", "Output at 1 kHz", "Ripple"), tuple(rows))
