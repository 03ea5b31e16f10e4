"""What a column holds, from its title or from the units in its cells."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from ..errors import SingleRailError
from .bench_units import unit_of
from .text_table import Layout, Row, TextTable

Role = Literal["frequency", "time", "gain", "phase", "input", "output", "volts", ""]

_ROLE_OF_UNIT: dict[str, Role] = {
    "Hz": "frequency", "s": "time", "dB": "gain", "V/V": "gain", "%": "gain", "deg": "phase",
    "V": "volts", "Vpp": "volts", "Vp": "volts", "Vrms": "volts",
}  # fmt: skip
_ROLES_BY_WORD: tuple[tuple[Role, str], ...] = (
    ("phase", r"phase|phi|angle"),
    ("frequency", r"freq\w*|f"),
    ("time", r"time\w*|t"),
    ("gain", r"gain|magn?\w*|ratio|h|level|response"),
    ("input", r"[vu]_?in\w*|in|input|generator|ch(?:annel)? ?1"),
    ("output", r"[vu]_?out\w*|out|output|ch(?:annel)? ?2"),
    ("volts", r"v|u|volts?|voltage|amplitude|signal|node|reading"),
)
_WORDS = {
    role: re.compile(rf"(?<![^\W_])(?:{words})(?![^\W_])", re.IGNORECASE) for role, words in _ROLES_BY_WORD
}
_BRACKETED = re.compile(r"[\[(<]([^\])>]{0,16})[\])>]")
_LAST_WORD = re.compile(r"[/,\s_](V/V|[^/,\s_]{1,8})$")


@dataclass(frozen=True)
class Column:
    """A column and how it was understood.

    Attributes
    ----------
    place : int
        Its place in a row, the first is 0.
    title : str
        As written.
    role : str
        "frequency", "time", "gain", "phase", "input", "output", "volts", or "" if passed over.
    unit : str
        Unit as `write_quantity` knows it; empty if none was found.
    power : int
        Power of ten from the written unit to SI.
    """

    place: int
    title: str
    role: Role
    unit: str = ""
    power: int = 0


def column_of(place: int, title: str) -> Column:
    """Return what a title says about its column.

    Parameters
    ----------
    place : int
        Place of the column.
    title : str
        Such as "f [kHz]", "Gain / dB" or "Vout (mVpp)".
    """
    text, unit = title[:64].strip(), None
    for pattern in (_BRACKETED, _LAST_WORD):
        found = pattern.search(text)
        unit = unit_of(found[1]) if found and unit is None else unit
        if found and unit is not None:
            text = pattern.sub(" ", text, count=1)
            break
    if unit is None and unit_of(text) is not None and len(text) > 1:
        unit, text = unit_of(text), ""
    name, power = unit or ("", 0)
    role: Role = next((r for r, words in _WORDS.items() if words.search(text)), "")
    if name and (not role or (role in ("input", "output", "gain") and _ROLE_OF_UNIT[name] == "phase")):
        role = _ROLE_OF_UNIT[name]
    if role == "gain" and _ROLE_OF_UNIT.get(name) == "volts":
        role = "output"
    return Column(place, title[:64], role, name, power)


def columns_of(table: TextTable, given: Sequence[str] | None) -> tuple[Column, ...]:
    """Return the columns of a table: from the titles given, from its own, or from units in the cells.

    Parameters
    ----------
    table : TextTable
        The table.
    given : sequence of str or None
        Titles that stand above those of the text.

    Raises
    ------
    SingleRailError
        If nothing says what the columns are.
    """
    titles = tuple(given) if given is not None else table.titles
    if titles:
        return tuple(column_of(place, str(title)) for place, title in enumerate(titles))
    columns = _from_cells(table.layout, table.rows)
    if not any(column.role for column in columns):
        first = table.rows[0]
        raise SingleRailError(
            "measurement",
            f"line {first.line}: {len(first.cells)} columns without titles and units",
            allowed='a line of titles such as "frequency [Hz]; gain [dB]"',
            remedy='Say what the columns are: columns=("frequency Hz", "gain dB").',
        )
    return columns


def _from_cells(layout: Layout, rows: Sequence[Row]) -> tuple[Column, ...]:
    found = []
    for place, cell in enumerate(rows[0].cells):
        number = layout.number(cell)
        unit = number.unit if number is not None else None
        found.append(Column(place, "", _ROLE_OF_UNIT[unit[0]] if unit else "", *(unit or ("", 0))))
    return tuple(found)
