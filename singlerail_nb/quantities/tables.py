"""Tables of ready-made cells: aligned plain text for consoles and tests, Markdown for notebooks."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

_IN_A_QUANTITY = re.compile(r"(?<=\d) (?=[^\W\d_]|%)|(?<=[±+]) (?=\d)")


def text_table(header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a table with aligned columns, two spaces between them.

    Parameters
    ----------
    header : sequence of str
        Column titles.
    rows : iterable of sequence of str
        Cells, as many in each row as there are titles.
    """
    lines = [tuple(header), *(tuple(row) for row in rows)]
    widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip()
        for line in lines
    )


def markdown_table(header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a Markdown table.

    Parameters
    ----------
    header : sequence of str
        Column titles.
    rows : iterable of sequence of str
        Cells; a vertical bar in a cell is escaped.
    """
    lines = [header, ["---"] * len(header), *rows]
    return "\n".join("| " + " | ".join(cell.replace("|", "\\|") for cell in line) + " |" for line in lines)


def unbroken(cells: Iterable[str]) -> tuple[str, ...]:
    """Return cells whose numbers stay with their units where a narrow column breaks a line.

    Parameters
    ----------
    cells : iterable of str
        Such as "560 nF" or "16 V, 60 % used".
    """
    return tuple(_IN_A_QUANTITY.sub("\N{NO-BREAK SPACE}", cell) for cell in cells)
