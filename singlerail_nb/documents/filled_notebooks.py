"""Read the blanks that a student filled in, in the notebook form of a handout; nothing in it is run."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator

from .plain_text import unmarked
from .submissions import LONGEST_ANSWER, LONGEST_LINE, QUESTION_ID, Collected, Submission

_BLANK = re.compile(rf"^\*\*({QUESTION_ID})\.\*\*", re.MULTILINE)
_LINE = re.compile(rf"^\s*({QUESTION_ID})\s*[:=]\s*(.+)$", re.MULTILINE)
_FACT = re.compile(r"^\|\s*(Student|Sheet code)\s*\|\s*(.*?)\s*\|\s*$", re.MULTILINE)


def read_notebook(text: str, name: str = "answers") -> Collected:
    """Return the answers in the text of a filled notebook: one submission, or a notice.

    Parameters
    ----------
    text : str
        The notebook file.
    name : str
        What to call it in notices.
    """
    try:
        notebook = json.loads(text)
        cells = ["".join(cell["source"]) for cell in notebook["cells"]]
    except (ValueError, KeyError, TypeError, RecursionError):
        return Collected((), (f"{name}: not a notebook, left out",))
    facts = {what: unmarked(value) for cell in cells for what, value in _FACT.findall(cell[:LONGEST_LINE])}
    if not facts.get("Student", "").strip():
        return Collected((), (f"{name}: no student named in its head, left out",))
    given: dict[str, str] = {}
    for cell in cells:
        for question, answer in _filled(cell[:_LONGEST_CELL]):
            given.setdefault(question, answer[:LONGEST_ANSWER])
    return Collected((Submission(facts["Student"], facts.get("Sheet code", ""), given, name),))


_LONGEST_CELL = 100_000
_TABLE_ID, _TABLE_MEASURED = 0, 5


def _filled(cell: str) -> Iterator[tuple[str, str]]:
    """Yield the blanks of a cell that were filled in: under a question, in the table, or as "P1: ..."."""
    marks = [*_BLANK.finditer(cell)]
    ends = [*(mark.start() for mark in marks[1:]), len(cell)]
    for mark, end in zip(marks, ends, strict=False):  # a cell without marks has one end
        _, _, below = cell[mark.end() : end].partition("\n\n")
        answer = _written(below)
        if answer:
            yield mark[1], answer
    for line in cell.splitlines():
        columns = [part.strip() for part in line.strip().strip("|").split("|")]
        is_row = line.startswith("|") and len(columns) > _TABLE_MEASURED
        if is_row and re.fullmatch(QUESTION_ID, columns[_TABLE_ID]) and columns[_TABLE_MEASURED]:
            yield columns[_TABLE_ID], unmarked(columns[_TABLE_MEASURED])
    yield from ((question, answer.strip()) for question, answer in _LINE.findall(cell))


def _written(below: str) -> str:
    """Return what was written on the lines of a blank; nothing if only its unit is left."""
    had_room = "\\_" in below or "__" in below
    answer = " ".join(re.sub(r"(\\_){3,}|_{3,}", " ", _NEXT_PART.split(below)[0]).split())
    answer = _STRONG.sub(r"\1", answer)
    only_unit = had_room and not re.search(r"[0-9]", answer) and len(answer) <= _UNIT_LENGTH
    return "" if only_unit else unmarked(answer)


_UNIT_LENGTH = 4
_STRONG = re.compile(r"^\*\*([^*]+)\*\*(?=\s|$)")
_NEXT_PART = re.compile(r"^(?:#|---)", re.MULTILINE)
