"""Answers of a class, read from a CSV file or from filled notebooks; every problem is reported, none raised.

What students write is text and stays text.  Sizes are bounded, lines are read one by one, so that
an open quote or an endless line spoils nothing but itself.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from ..errors import QuantityError
from .filled_notebooks import read_notebook
from .plain_text import printable
from .submissions import LONGEST_ANSWER, LONGEST_LINE, QUESTION_ID, Collected, Submission

LARGEST_FILE = 20_000_000
_ID = re.compile(QUESTION_ID)
_DECIMAL_COMMA = re.compile(r"(?<=[0-9]),(?=[0-9])")
_STUDENT, _CODE = ("student", "name", "student name"), ("code", "sheet code")
_KNOWN = (*_STUDENT, *_CODE, "question", "answer")
_WRITTEN_ID = re.compile(r"\s*([pmef])\s?0?([0-9]{1,2})\b", re.IGNORECASE)  # "P2 (Hz)", "p 02"


def read_answers(source: str | Path | Iterable[str | Path]) -> Collected:
    """Return the answers in a CSV file, a filled notebook, a folder of them, or several of these.

    Parameters
    ----------
    source : path or iterable of path
        ``.csv`` with a line of titles: ``student``, ``code`` (optional) and either one column per
        question (``P1``, ``M2``) or the columns ``question`` and ``answer``.  ``.ipynb`` is a handout
        whose blanks were filled in.

    Raises
    ------
    QuantityError
        If a file does not exist or has another ending.
    """
    paths = [Path(source)] if isinstance(source, str | Path) else [Path(one) for one in source]
    found: list[Submission] = []
    notices: list[str] = []
    for path in _files(paths):
        text = _text_of(path, notices)
        read = read_notebook if path.suffix.lower() == ".ipynb" else read_csv
        collected = read(text, path.name)
        found += collected.submissions
        notices += collected.notices
    return Collected(tuple(found), tuple(notices))


def _files(paths: Iterable[Path]) -> Iterator[Path]:
    for path in paths:
        if path.is_dir():
            yield from sorted(p for p in path.iterdir() if p.suffix.lower() in (".csv", ".ipynb"))
        elif path.is_file() and path.suffix.lower() in (".csv", ".ipynb"):
            yield path
        else:
            raise QuantityError(
                "answers",
                path.name,
                allowed="a .csv or .ipynb file, or a folder of them",
                remedy="Check the path.",
            )


def _text_of(path: Path, notices: list[str]) -> str:
    if path.stat().st_size > LARGEST_FILE:
        notices.append(f"{path.name}: larger than {LARGEST_FILE // 1_000_000} MB, left out")
        return ""
    raw = path.read_bytes()
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:  # a spreadsheet that saved in the letters of its own system
        return raw.decode("cp1252", errors="replace")


def read_csv(text: str, name: str = "answers") -> Collected:
    """Return the answers in the text of a CSV file.

    Parameters
    ----------
    text : str
        Comma, semicolon or tab between the cells, found from the line of titles.  Between semicolons a
        comma is a decimal comma.
    name : str
        What to call it in notices.
    """
    lines = re.split(r"\r\n|\r|\n", text)
    titles_at = next((i for i, line in enumerate(lines) if line.strip() and not _SEPARATOR.match(line)), None)
    if titles_at is None:
        return Collected((), (f"{name}: empty",))
    mark = max(",;\t", key=lines[titles_at][:LONGEST_LINE].count)
    titles = [_title(cell) for cell in _cells(lines[titles_at], mark)]
    if not set(titles) & set(_STUDENT):
        return Collected((), (f"{name}, line {titles_at + 1}: no column named student",))
    rows: dict[tuple[str, str], tuple[int, dict[str, str]]] = {}
    strange = [title for title in titles if title and title not in _KNOWN and not _ID.fullmatch(title)]
    notices = [f"{name}: {printable(', '.join(strange))} is no question, left out"] if strange else []
    for number, line in enumerate(lines[titles_at + 1 :], titles_at + 2):
        if line.strip():
            _take_line(line, number, titles, mark, rows, notices, name)
    found = (Submission(s, c, given, f"{name}, line {at}") for (s, c), (at, given) in rows.items())
    return Collected(tuple(found), tuple(notices))


_SEPARATOR = re.compile(r"^sep=.$", re.IGNORECASE)
"""A first line that some spreadsheets write and read for themselves."""


def _title(cell: str) -> str:
    """Return the title of a column as it is looked for: the id of a question, or small letters."""
    found = _WRITTEN_ID.match(cell)
    return f"{found[1].upper()}{found[2]}" if found else cell.strip().casefold()


def _cells(line: str, mark: str) -> list[str]:
    try:
        return next(csv.reader([line[:LONGEST_LINE]], delimiter=mark, strict=False), [])
    except csv.Error:
        return []


def _take_line(
    line: str,
    number: int,
    titles: list[str],
    mark: str,
    rows: dict[tuple[str, str], tuple[int, dict[str, str]]],
    notices: list[str],
    name: str,
) -> None:
    cells = _cells(line, mark)
    while len(cells) > len(titles) and not cells[-1].strip():
        cells.pop()  # spreadsheets write empty cells at the end of a line
    if len(line) > LONGEST_LINE or len(cells) > len(titles) or not cells:
        notices.append(f"{name}, line {number}: too long or with too many cells, left out")
        return
    if mark == ";":
        cells = [_DECIMAL_COMMA.sub(".", cell) for cell in cells]
    row = dict(zip(titles, (cell.strip() for cell in cells), strict=False))
    student = next((row[title] for title in _STUDENT if row.get(title)), "")
    code = next((row[title] for title in _CODE if row.get(title)), "")
    if not student:
        notices.append(f"{name}, line {number}: no student named, left out")
        return
    given = rows.setdefault((student, code), (number, {}))[1]
    found = [*_answers_of(row)]
    again = [question for question, _ in found if question in given]
    if again:
        whose = f"{', '.join(again)} of {printable(student, 40)}"
        notices.append(f"{name}, line {number}: {whose} answered before; the first answer counts")
    for question, answer in found:
        given.setdefault(question, answer)


def _answers_of(row: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    if row.get("question"):
        yield _title(row["question"])[:_LONGEST_ID], row.get("answer", "")[:LONGEST_ANSWER]
    for title, cell in row.items():
        if _ID.fullmatch(title) and cell:
            yield title, cell[:LONGEST_ANSWER]


_LONGEST_ID = 4
