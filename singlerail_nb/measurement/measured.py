"""What was measured, and how the text was understood."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..quantities import write_quantity
from .columns import Column

Floats = NDArray[np.float64]
_SHOWN = 5


class LeftOut(NamedTuple):
    """A line that was not used.

    Attributes
    ----------
    line : int
        Its number in the text.
    reason : str
        Why.
    """

    line: int
    reason: str


@dataclass(frozen=True)
class Understood:
    """How a text was understood, for the reader to check.

    Attributes
    ----------
    name : str
        Of the file; "text" if it was given as text.
    encoding : str
        How its bytes were read.
    delimiter : str
        In words.
    decimal : str
        The decimal mark.
    columns : tuple of Column
        All columns; those without a role were passed over.
    title_lines, comment_lines, other_lines : tuple of int
        Line numbers of titles, comments, and other lines in front of the numbers.
    left_out : tuple of LeftOut
        Rows that could not be used.
    notes : tuple of str
        What was decided without being told.
    """

    name: str
    encoding: str
    delimiter: str
    decimal: str
    columns: tuple[Column, ...]
    title_lines: tuple[int, ...] = ()
    comment_lines: tuple[int, ...] = ()
    other_lines: tuple[int, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """What was found, one thing a line."""
        mark = {".": "point", ",": "comma"}[self.decimal]
        lines = [f"{self.name}, {self.encoding}: columns parted by {self.delimiter}, decimal {mark}"]
        for column in self.columns:
            unit = f" in {_written(column)}" if column.role and column.unit else ""
            lines.append(f"column {column.place + 1} {column.title!r}: {column.role or 'passed over'}{unit}")
        for what, numbers in (
            ("titles", self.title_lines),
            ("comments", self.comment_lines),
            ("passed over", self.other_lines),
        ):
            if numbers:
                lines.append(f"{what}: {_line_numbers(numbers)}")
        lines += self.notes
        if self.left_out:
            lines.append(f"LEFT OUT: {len(self.left_out)} rows")
            lines += [f"  line {row.line}: {row.reason}" for row in self.left_out[:_SHOWN]]
            if len(self.left_out) > _SHOWN:
                lines.append(f"  and {len(self.left_out) - _SHOWN} more")
        return "\n".join(lines)


def _line_numbers(numbers: tuple[int, ...]) -> str:
    shown = ", ".join(str(n) for n in numbers[:_SHOWN])
    more = f" and {len(numbers) - _SHOWN} more" if len(numbers) > _SHOWN else ""
    return f"line {shown}{more}" if len(numbers) == 1 else f"lines {shown}{more}"


def _written(column: Column) -> str:
    return f"{column.unit} times 1e{column.power}" if column.power else column.unit


@dataclass(frozen=True)
class MeasuredResponse:
    """A measured frequency response.

    Attributes
    ----------
    frequency : array, shape (points,)
        Hz, ascending.
    gain : array, shape (points,)
        Output over input, V/V, positive.
    phase : array, shape (points,), or None
        Degrees, if it was measured.
    lines : array of int, shape (points,)
        Line of the text that each point comes from.
    understood : Understood
        How the text was read.
    """

    frequency: Floats = field(repr=False)
    gain: Floats = field(repr=False)
    phase: Floats | None = field(repr=False)
    lines: NDArray[np.int64] = field(repr=False)
    understood: Understood

    @property
    def gain_db(self) -> Floats:
        """20 log10 of the gain, dB, shape (points,)."""
        return np.asarray(20.0 * np.log10(self.gain))

    @property
    def text(self) -> str:
        """Points and range, then how the text was understood."""
        span = f"{write_quantity(self.frequency[0], 'Hz')} to {write_quantity(self.frequency[-1], 'Hz')}"
        levels = f"{self.gain_db.min():.4g} dB to {self.gain_db.max():.4g} dB"
        phase = "" if self.phase is None else ", with phase"
        return f"{self.frequency.size} points, {span}, {levels}{phase}\n{self.understood.text}"

    def __repr__(self) -> str:
        return self.text


@dataclass(frozen=True)
class MeasuredWaveform:
    """A measured voltage over time.

    Attributes
    ----------
    time : array, shape (points,)
        s, ascending.
    volts : array, shape (points,)
        V.
    lines : array of int, shape (points,)
        Line of the text that each point comes from.
    understood : Understood
        How the text was read.
    """

    time: Floats = field(repr=False)
    volts: Floats = field(repr=False)
    lines: NDArray[np.int64] = field(repr=False)
    understood: Understood

    @property
    def text(self) -> str:
        """Points and range, then how the text was understood."""
        span = f"{write_quantity(self.time[0], 's')} to {write_quantity(self.time[-1], 's')}"
        levels = f"{write_quantity(self.volts.min(), 'V')} to {write_quantity(self.volts.max(), 'V')}"
        return f"{self.time.size} points, {span}, {levels}\n{self.understood.text}"

    def __repr__(self) -> str:
        return self.text
