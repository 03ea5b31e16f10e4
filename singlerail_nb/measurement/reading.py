"""Read what a bench instrument wrote: columns of text, understood and reported, never evaluated."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from ..errors import SingleRailError
from ..files import read_file
from .columns import Column, Role, columns_of
from .measured import MeasuredResponse, MeasuredWaveform, Understood
from .rows import gain_of, response_of, waveform_of
from .text_table import MOST_CHARACTERS, TextTable, text_table


def read_measurement(
    source: str | Path, *, columns: Sequence[str] | None = None
) -> MeasuredResponse | MeasuredWaveform:
    """Read a measured frequency response, or a voltage over time.

    Delimiter, decimal mark, comments, titles and units are found and reported; rows that cannot
    be used are left out and reported with their line number.  Print the result to check it.

    Parameters
    ----------
    source : str or Path
        Text with line ends, or the path of a file of at most 20 MB.
    columns : sequence of str, optional
        Titles to use instead of those of the text, such as ``("frequency kHz", "gain dB")``,
        ``("f Hz", "input mVpp", "output Vpp")`` or ``("time ms", "volts V")``; "" passes a column over.

    Returns
    -------
    MeasuredResponse or MeasuredWaveform
        Frequency with gain (or input and output amplitude), or time with volts.

    Raises
    ------
    SingleRailError
        If the text is too large, or nothing in it is such a measurement.
    """
    name, encoding, text = _text_of(source)
    table = text_table(text)
    found = columns_of(table, columns)
    by_role = _by_role(found)
    known = Understood(
        name, encoding, table.layout.name, table.layout.decimal, found,
        table.title_lines, table.comment_lines, table.other_lines,
    )  # fmt: skip
    if "frequency" in by_role:
        return _response(table, by_role, known)
    volts = [by_role[role] for role in ("volts", "output", "input") if role in by_role]
    if "time" in by_role and len(volts) == 1:
        return waveform_of(table, by_role["time"], volts[0], known)
    raise _unclear(found)


def _text_of(source: str | Path) -> tuple[str, str, str]:
    """Return name, encoding and text."""
    if isinstance(source, str) and ("\n" in source or "\r" in source):
        return "text", "as given", source
    encoding, text = _decoded(read_file(source, "measurement", largest=MOST_CHARACTERS))
    return Path(source).name, encoding, text


def _decoded(raw: bytes) -> tuple[str, str]:
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return "UTF-16", raw.decode("utf-16", errors="replace")
    try:
        return "UTF-8", raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return "Latin-1", raw.decode("latin-1")


def _by_role(columns: tuple[Column, ...]) -> dict[Role, Column]:
    """Return the columns by what they hold; two volts beside a frequency are not told apart by guessing."""
    found: dict[Role, Column] = {}
    for column in columns:
        if column.role and column.role in found:
            raise _unclear(columns)
        found[column.role] = column
    return found


def _response(table: TextTable, by_role: dict[Role, Column], known: Understood) -> MeasuredResponse:
    wanted: tuple[Role, ...] = ("gain",) if "gain" in by_role else ("input", "output")
    if any(role not in by_role for role in wanted):
        raise _unclear(known.columns)
    levels = [by_role[role] for role in wanted]
    gain, notes = gain_of(table, levels)
    used = [by_role["frequency"], *levels, *([by_role["phase"]] if "phase" in by_role else [])]
    return response_of(table, used, gain, replace(known, notes=notes))


def _unclear(columns: tuple[Column, ...]) -> SingleRailError:
    seen = "; ".join(f"{c.title!r} as {c.role or 'nothing known'}" for c in columns[:8])
    return SingleRailError(
        "measurement",
        f"columns {seen}",
        allowed="one frequency with one gain, or with one input and one output; or one time with one voltage",
        remedy='Say what the columns are: columns=("frequency Hz", "gain dB"); "" passes a column over.',
    )
