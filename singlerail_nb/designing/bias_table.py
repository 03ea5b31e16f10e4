"""The comparison of bias sources as a table: one property a line, one bias source a column."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from ..quantities import write_quantity
from ..quantities.tables import markdown_table, text_table
from .bias_conditions import BiasConditions, BiasRow

Property = tuple[str, Callable[[BiasRow], str]]


def spoken(name: str) -> str:
    """Return the name of a row as words.

    Parameters
    ----------
    name : str
        Such as ``"filtered_zener"``.
    """
    return name.replace("_", " ").replace("zener", "Zener")


def _quantity(value: float, unit: str) -> str:
    return write_quantity(value, unit, 3)


def _rejections(conditions: BiasConditions) -> list[Property]:
    def connected(i: int) -> Property:
        return f"rejects, {at(i)}", lambda row: f"{row.rejection_db[i]:.1f} dB"

    def unplugged(i: int) -> Property:
        return f"rejects, {at(i)}, open", lambda row: f"{row.open_rejection_db[i]:.1f} dB"

    def at(i: int) -> str:
        return write_quantity(conditions.lines[i], "Hz")

    lines = range(len(conditions.lines))
    return [*(connected(i) for i in lines), *(unplugged(i) for i in lines)]


def _properties(conditions: BiasConditions) -> list[Property]:
    life: list[Property] = [("battery life", lambda row: _hours(row.battery_life))]
    return [
        ("bias", lambda row: _quantity(row.volts, "V")),
        ("worst error", lambda row: f"± {_quantity(max(abs(end) for end in row.error), 'V')}"),
        *_rejections(conditions),
        ("impedance at DC", lambda row: _quantity(row.impedance[0], "ohm")),
        ("noise it adds", lambda row: _quantity(row.noise, "Vrms")),
        ("awake after", lambda row: _quantity(row.wake_up, "s")),
        ("draws", lambda row: _quantity(row.current, "A")),
        *(life if conditions.capacity else []),
        ("follows the rail by", lambda row: f"{row.tracking:.2f} V/V"),
        ("parts", lambda row: str(row.parts)),
        ("problems", lambda row: str(len(row.problems) or "none")),
    ]


def _hours(hours: float) -> str:
    return "no end" if math.isinf(hours) else f"{hours:.4g} h"


def table_lines(conditions: BiasConditions, rows: Sequence[BiasRow]) -> list[list[str]]:
    """Return the table as texts: the heading, then one line per property.

    Parameters
    ----------
    conditions : BiasConditions
        What the rows were compared at.
    rows : sequence of BiasRow
        One column each.
    """
    head = ["", *(spoken(row.name) for row in rows)]
    return [head, *([name, *(text(row) for row in rows)] for name, text in _properties(conditions))]


def plain_table(lines: Sequence[Sequence[str]]) -> str:
    """Return a table as aligned text.

    Parameters
    ----------
    lines : sequence of sequences of str
        The heading first.
    """
    return text_table(lines[0], lines[1:])


def typeset_table(lines: Sequence[Sequence[str]]) -> str:
    """Return a table as Markdown.

    Parameters
    ----------
    lines : sequence of sequences of str
        The heading first.
    """
    head, *body = lines
    return markdown_table(tuple(head), [tuple(line) for line in body])
