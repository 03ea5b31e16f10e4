"""Cut a bench text into columns: delimiter, decimal mark, comments, titles, rows with line numbers."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import NamedTuple

from ..errors import SingleRailError
from .bench_units import unit_of

MOST_CHARACTERS = 20_000_000
MOST_LINES = 1_000_000
MOST_COLUMNS = 64
LONGEST_LINE = 10_000
"""Bounds of what is read: characters, lines, columns, characters of a line."""

_SAMPLE = 300
_COMMENTS = ("#", "%", "//", "!")
_LINE_ENDS = re.compile(r"\r\n|\n|\r")
_SAME_SIGNS = str.maketrans(
    {
        "\N{MINUS SIGN}": "-",
        "\N{NO-BREAK SPACE}": " ",
        "\N{NARROW NO-BREAK SPACE}": " ",
        "\N{GREEK SMALL LETTER MU}": "µ",
    }
)
_NUMBER = r"([+-]?(?:[0-9]+(?:{mark}[0-9]*)?|{mark}[0-9]+)(?:[eE][+-]?[0-9]{{1,3}})?)"
_SUFFIX = r" ?([a-zA-Zµ°%][a-zA-Z/]{0,8})?"
_CELLS = {mark: re.compile(_NUMBER.format(mark=re.escape(mark)) + _SUFFIX) for mark in ".,"}


class Cell(NamedTuple):
    """A number as it stands in a cell.

    Attributes
    ----------
    number : float
        The number.
    unit : (str, int) or None
        Unit and power of ten that stand behind it; None if nothing does.
    """

    number: float
    unit: tuple[str, int] | None


class Row(NamedTuple):
    """One line cut into cells.

    Attributes
    ----------
    line : int
        Its number in the text, the first is 1.
    cells : tuple of str
        Its cells.
    """

    line: int
    cells: tuple[str, ...]


@dataclass(frozen=True)
class Layout:
    """How the columns of a text are written.

    Attributes
    ----------
    name : str
        The delimiter in words.
    decimal : "." or ","
        The decimal mark.
    split : callable
        Cuts a line into cells.
    """

    name: str
    decimal: str
    split: Callable[[str], tuple[str, ...]]

    def number(self, cell: str) -> Cell | None:
        """Return the number in a cell, or None if there is none or its unit is not known.

        Parameters
        ----------
        cell : str
            The cell.
        """
        found = _CELLS[self.decimal].fullmatch(cell)
        if found is None:
            return None
        unit = unit_of(found[2]) if found[2] else None
        return None if found[2] and unit is None else Cell(float(found[1].replace(",", ".")), unit)


@dataclass(frozen=True)
class TextTable:
    """A text cut into columns.

    Attributes
    ----------
    layout : Layout
        How it is written.
    titles : tuple of str
        One per column; empty if the text has none.
    title_lines, comment_lines, other_lines : tuple of int
        Line numbers of titles, of comments, and of other lines in front of the numbers.
    rows : tuple of Row
        All that follows, good or bad.
    """

    layout: Layout
    titles: tuple[str, ...]
    title_lines: tuple[int, ...]
    comment_lines: tuple[int, ...]
    other_lines: tuple[int, ...]
    rows: tuple[Row, ...]


def text_table(text: str) -> TextTable:
    """Return a bench text cut into columns.

    Parameters
    ----------
    text : str
        Lines of numbers, perhaps with comments and titles.

    Raises
    ------
    SingleRailError
        If it is too large or holds no columns of numbers.
    """
    lines = _lines(text)
    comments = [(n, line) for n, line in lines if line.startswith(_COMMENTS)]
    content = [(n, line) for n, line in lines if line and not line.startswith(_COMMENTS)]
    layout = _layout([line for _, line in content])
    start = next((i for i, (_, line) in enumerate(content) if _numbers(layout, line) > 1), None)
    if start is None:
        raise _no_columns(text)
    width = Counter(len(layout.split(line)) for _, line in content[start : start + _SAMPLE]).most_common(1)[
        0
    ][0]
    titles, title_lines = _titles(layout, width, content[:start], comments)
    other = tuple(n for n, _ in content[:start] if n not in title_lines)
    quiet = tuple(n for n, _ in comments if n not in title_lines)
    rows = tuple(Row(n, layout.split(line)[:MOST_COLUMNS]) for n, line in content[start:])
    return TextTable(layout, titles, title_lines, quiet, other, rows)


def _lines(text: str) -> list[tuple[int, str]]:
    _require_at_most(MOST_CHARACTERS, len(text), "characters")
    found = _LINE_ENDS.split(text.removeprefix("\ufeff").translate(_SAME_SIGNS))
    _require_at_most(MOST_LINES, len(found), "lines")
    return [(n, line[:LONGEST_LINE].strip(" ")) for n, line in enumerate(found, 1)]


def _require_at_most(most: int, count: int, what: str) -> None:
    if count > most:
        raise SingleRailError(
            "measurement", f"{count} {what}", allowed=f"up to {most}", remedy="Export fewer points."
        )


def _no_columns(text: str) -> SingleRailError:
    return SingleRailError(
        "measurement",
        repr(text[:40]),
        allowed="lines with at least two numbers, parted by comma, semicolon, tab or spaces",
        remedy='Export the measurement as text; "1,5" with decimal commas needs semicolons or tabs between.',
    )


def _delimited(mark: str, line: str) -> tuple[str, ...]:
    cells = line.split(mark)
    if '"' in line:
        try:
            cells = next(csv.reader([line], delimiter=mark), [])
        except csv.Error:
            cells = line.split(mark)
    while cells and not cells[-1].strip():
        cells.pop()
    return tuple(cell.strip() for cell in cells)


def _spaced(line: str) -> tuple[str, ...]:
    return tuple(line.split())


def _wide(line: str) -> tuple[str, ...]:
    return tuple(cell.strip() for cell in re.split(r"\s{2,}|\t", line))


_SPLITTERS: dict[str, Callable[[str], tuple[str, ...]]] = {
    "tab": partial(_delimited, "\t"),
    "semicolon": partial(_delimited, ";"),
    "comma": partial(_delimited, ","),
    "spaces": _spaced,
    "wide spaces": _wide,
}
_LAYOUTS = tuple(Layout(name, mark, split) for name, split in _SPLITTERS.items() for mark in ".,")


def _numbers(layout: Layout, line: str) -> int:
    """Return how many cells of a line are numbers."""
    return sum(layout.number(cell) is not None for cell in layout.split(line)[:MOST_COLUMNS])


def _layout(lines: list[str]) -> Layout:
    """Return the layout under which most lines are numbers throughout; some numbers count less."""
    head = lines[:_SAMPLE]

    def score(layout: Layout) -> tuple[int, int]:
        counts = [(_numbers(layout, line), len(layout.split(line))) for line in head]
        return sum(found == cells > 1 for found, cells in counts), sum(found > 1 for found, _ in counts)

    return max(_LAYOUTS, key=score)  # of equals the first


_AROUND_SLASH = re.compile(r"\s*/\s*")
_BEFORE_BRACKET = re.compile(r"\s+(?=[\[(<])")


def _titles(
    layout: Layout, width: int, above: list[tuple[int, str]], comments: list[tuple[int, str]]
) -> tuple[tuple[str, ...], tuple[int, ...]]:
    """Return the title of each column and where it stands: the last fitting line, with a line of units."""

    def cut(line: str) -> tuple[str, ...]:
        bare = line.lstrip("#%!/ ")
        if layout.split is _spaced:
            bare = _BEFORE_BRACKET.sub("", _AROUND_SLASH.sub("/", bare))
        return layout.split(bare)

    fitting = [Row(n, cut(line)) for n, line in above if len(cut(line)) == width]
    if not fitting:
        fitting = [Row(n, cut(line)) for n, line in comments if len(cut(line)) == width][-1:]
    if not fitting:
        return (), ()
    last = fitting[-1]
    if len(fitting) > 1 and all(unit_of(cell.strip("[]()")) for cell in last.cells if cell):
        before = fitting[-2]  # the last one holds units only
        pairs = zip(before.cells, last.cells, strict=True)
        return tuple(f"{name} [{unit.strip('[]()')}]" for name, unit in pairs), (before.line, last.line)
    return last.cells, (last.line,)
