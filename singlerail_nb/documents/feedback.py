"""What goes back: one page per student, one report and one table of marks for the instructor."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from .bench_pages import BY_HAND
from .csv_tables import csv_text, safe_cell
from .document import Block, Heading, Items, Paragraph, Table
from .judging import Mark
from .keys import written_formula
from .marked import MarkedSheet, misconceptions, success
from .paper import Paper
from .plain_text import plain
from .wording import typeset

_WORDS = {
    "right": "right",
    "accepted": "right",
    "follow-on": "right, carried on",
    "mistake": "recognised mistake",
    "wrong": "not right",
    "unreadable": "not readable",
    "missing": "no answer",
}
_NOTHING = (
    "No answers were counted for this sheet. If you handed some in, ask: a wrong sheet code keeps them out."
)
_BAR = 20


def feedback_paper(result: MarkedSheet) -> Paper:
    """Return what a student gets back: each answer, what happened and the points.

    Parameters
    ----------
    result : MarkedSheet
        The student's marks.
    """
    sheet = result.sheet
    facts = (
        ("Student", plain(sheet.student)),
        ("Sheet code", sheet.code),
        ("Points", f"{result.points:.3g} of {result.possible:g}, for numbers and formulas"),
        ("Marked by hand", "; ".join(f"{what} ........ of {points}" for what, points, _ in BY_HAND)),
    )
    blocks: list[Block] = [Paragraph(_NOTHING)] if not result.marks else []
    if result.marks:
        header = ("", "You wrote", "Judgement", "Points", "Right is")
        blocks.append(Heading("Your answers"))
        blocks.append(Table(header, tuple(_line(mark) for mark in result.marks)))
    return Paper(f"Marks: {sheet.goal.title}", tuple(blocks), facts)


def _line(mark: Mark) -> tuple[str, ...]:
    question = mark.question
    right = written_formula(question.formula) if question.ask.is_formula else question.written(question.value)
    if question.ask.setup is not None:
        right = " to ".join(question.written(end) for end in question.band)
    quotes = mark.verdict == "unreadable"  # the only remark that may quote the student
    remark = plain(mark.remark, 200) if quotes else typeset(mark.remark)
    judgement = _WORDS[mark.verdict] + (f": {remark}" if remark else "")
    points = f"{mark.points:.3g} of {question.ask.points:g}".replace(" ", "\N{NO-BREAK SPACE}")
    return question.id, _foldable(plain(mark.text, 60)), judgement, points, right


def _foldable(safe: str) -> str:
    """Return safe text with places where a narrow column may break it: students write without spaces."""
    return _UNBROKEN.sub("\\1\u200b", safe)


_UNBROKEN = re.compile(r"((?>\\.|&#36;|[^\\\s]){24})(?=\S)")


def report_paper(title: str, results: Sequence[MarkedSheet], notices: Iterable[str]) -> Paper:
    """Return the report of a class: misconceptions, difficult questions, what to look into, marks.

    Parameters
    ----------
    title : str
        Title of the lab.
    results : sequence of MarkedSheet
        In the order of the class list.
    notices : iterable of str
        What could not be read or matched.
    """
    handed_in = sum(bool(result.marks) for result in results)
    facts = (("Lab", title), ("Handed in", f"{handed_in} of {len(results)}"), ("For", "the instructor only"))
    blocks = [*_histogram(results, handed_in), *_to_look_into(results, notices), *_list(results)]
    return Paper("Report of the class", tuple(blocks), facts)


def _histogram(results: Sequence[MarkedSheet], handed_in: int) -> Iterable[Block]:
    yield Heading("Misconceptions")
    yield Paragraph("How many students made each recognised mistake at least once, and where.")
    yield Table(
        ("Mistake", "Students", "", "Where", "For example"),
        tuple(
            (key, str(n), _bar(n, handed_in), *_instances(results, key))
            for key, n in misconceptions(results).most_common()
        ),
    )
    yield Heading("Questions")
    mean = success(results)
    asked = [question for question in results[0].sheet.questions if question.ask.key in mean]
    yield Table(
        ("", "Question", "Mean credit", ""),
        tuple((q.id, q.text, f"{mean[q.ask.key]:.0%}", _bar(mean[q.ask.key], 1.0)) for q in asked),
    )


def _instances(results: Sequence[MarkedSheet], key: str) -> tuple[str, str]:
    """Return the questions in which a mistake was made, and what the first student was told."""
    made = [mark for result in results for mark in result.marks if mark.slip == key]
    seen = {mark.question.id for mark in made}
    where = [question.id for question in results[0].sheet.questions if question.id in seen]
    return ", ".join(where), typeset(made[0].remark)


def _to_look_into(results: Sequence[MarkedSheet], notices: Iterable[str]) -> Iterable[Block]:
    yield Heading("To look into")
    unread = [
        f"not readable: {plain(result.sheet.student, 40)}, {mark.question.id}: {plain(mark.text, 60)}"
        for result in results
        for mark in result.marks
        if mark.verdict == "unreadable"
    ]
    lines = [*(plain(notice, 300) for notice in notices), *unread]
    yield Items(tuple(lines)) if lines else Paragraph("Nothing.")


def _list(results: Sequence[MarkedSheet]) -> Iterable[Block]:
    yield Heading("Marks")
    yield Table(
        ("Student", "Code", "Points", "Of"),
        tuple(
            (
                plain(r.sheet.student),
                r.sheet.code,
                f"{r.points:.3g}" if r.marks else "none",
                f"{r.possible:g}",
            )
            for r in results
        ),
    )


def _bar(value: float, full: float) -> str:
    return "█" * max(1 if value else 0, round(_BAR * value / full)) if full else ""


def marks_table(results: Sequence[MarkedSheet]) -> str:
    """Return the marks as CSV text: one line per student, the points of each question.

    Parameters
    ----------
    results : sequence of MarkedSheet
        In the order of the class list.
    """
    ids = [question.id for question in results[0].sheet.questions]
    rows: list[list[str]] = [["student", "code", "points", "of", *ids]]
    for result in results:
        points = {mark.question.id: f"{mark.points:.4g}" for mark in result.marks}
        head = [
            safe_cell(result.sheet.student),
            result.sheet.code,
            f"{result.points:.4g}",
            f"{result.possible:g}",
        ]
        rows.append([*head, *(points.get(name, "") for name in ids)])
    return csv_text(rows)
