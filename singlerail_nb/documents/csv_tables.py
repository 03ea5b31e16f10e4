"""Tables for a spreadsheet, with nothing in them that a spreadsheet would run."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

BYTE_ORDER_MARK = "\ufeff"
"""In front of a table, so that a spreadsheet reads it as UTF-8 and names keep their letters."""


def table_of_answers(students: Iterable[tuple[str, str]], questions: Iterable[str]) -> str:
    """Return an empty CSV table to fill in: one line per student, one column per question.

    Parameters
    ----------
    students : iterable of (str, str)
        Name and sheet code.
    questions : iterable of str
        Question ids.
    """
    asked = list(questions)
    lines: list[list[Any]] = [["student", "code", *asked]]
    lines += [[safe_cell(name), code, *[""] * len(asked)] for name, code in students]
    return csv_text(lines)


def csv_text(rows: Iterable[Iterable[Any]]) -> str:
    """Return rows as CSV text.

    Parameters
    ----------
    rows : iterable of iterable
        Cells.
    """
    lines = []
    for row in rows:
        cells = (str(cell).replace("\r", " ").replace("\n", " ") for cell in row)
        lines.append(
            ",".join(f'"{c.replace(chr(34), chr(34) * 2)}"' if set(c) & set(',"') else c for c in cells)
        )
    return "\n".join(lines) + "\n"


def safe_cell(text: str) -> str:
    """Return text that a spreadsheet shows and does not run.

    Parameters
    ----------
    text : str
        Anything a person wrote.
    """
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text
