"""Numbers out of rows: what is good is kept with its line, what is not is left out with its reason."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..errors import SingleRailError
from .columns import Column
from .measured import Floats, LeftOut, MeasuredResponse, MeasuredWaveform, Understood
from .text_table import Row, TextTable

_MOST_DECIBELS = 300.0
_TO_PEAK = {"V": 1.0, "Vp": 1.0, "Vpp": 0.5, "Vrms": math.sqrt(2.0), "": 1.0}
ToGain = Callable[[Floats], Floats]
"""Gains, shape (points,), of the numbers in its columns, shape (points, columns)."""


@dataclass(frozen=True)
class _Picked:
    """Numbers of the used columns, shape (points, columns), their lines, and the rows that gave none."""

    numbers: Floats
    lines: NDArray[np.int64]
    left_out: tuple[LeftOut, ...]

    def keep(self, good: NDArray[np.bool_], reason: str) -> _Picked:
        """Return the rows that are good; the others are left out for the reason."""
        bad = tuple(LeftOut(int(line), reason) for line in self.lines[~good])
        return _Picked(self.numbers[good], self.lines[good], self.left_out + bad)


def response_of(
    table: TextTable, columns: Sequence[Column], gain: ToGain, known: Understood
) -> MeasuredResponse:
    """Return a frequency response from the rows of a table.

    Parameters
    ----------
    table : TextTable
        The rows.
    columns : sequence of Column
        Frequency first; then what the gain follows from; a phase last.
    gain : callable
        Makes the gain.
    known : Understood
        What is known about the text so far.

    Raises
    ------
    SingleRailError
        If too few rows are good.
    """
    with_phase = columns[-1].role == "phase"
    picked = _picked(table, columns)
    picked = picked.keep(picked.numbers[:, 0] > 0, "frequency is not above 0 Hz")
    levels = slice(1, len(columns) - with_phase)
    with np.errstate(all="ignore"):
        gains = gain(picked.numbers[:, levels])
    picked = picked.keep((gains > 0) & np.isfinite(gains), "gain is not a positive number")
    picked = _enough(picked)
    gains = gain(picked.numbers[:, levels])
    order, notes = _order(picked.numbers[:, 0], "frequency")
    numbers = picked.numbers[order]
    return MeasuredResponse(
        numbers[:, 0], gains[order], numbers[:, -1] if with_phase else None,
        picked.lines[order], _completed(known, picked, notes),
    )  # fmt: skip


def waveform_of(table: TextTable, time: Column, volts: Column, known: Understood) -> MeasuredWaveform:
    """Return a voltage over time from the rows of a table.

    Parameters
    ----------
    table : TextTable
        The rows.
    time, volts : Column
        Where they stand.
    known : Understood
        What is known about the text so far.

    Raises
    ------
    SingleRailError
        If too few rows are good.
    """
    picked = _enough(_picked(table, (time, volts)))
    order, notes = _order(picked.numbers[:, 0], "time")
    numbers = picked.numbers[order]
    return MeasuredWaveform(
        numbers[:, 0], numbers[:, 1], picked.lines[order], _completed(known, picked, notes)
    )  # fmt: skip


def _completed(known: Understood, picked: _Picked, notes: tuple[str, ...]) -> Understood:
    return replace(known, left_out=tuple(sorted(picked.left_out)), notes=known.notes + notes)


def _picked(table: TextTable, columns: Sequence[Column]) -> _Picked:
    """Return the numbers of some columns in the unit of their column; volts and hertz in SI."""
    numbers: list[list[float]] = []
    lines: list[int] = []
    left: list[LeftOut] = []
    for row in table.rows:
        values = [_value(table, row, column) for column in columns]
        wrong = next((value for value in values if isinstance(value, str)), None)
        if wrong is None:
            numbers.append([value for value in values if not isinstance(value, str)])
            lines.append(row.line)
        else:
            left.append(LeftOut(row.line, wrong))
    return _Picked(np.array(numbers).reshape(-1, len(columns)), np.array(lines, dtype=np.int64), tuple(left))


def _value(table: TextTable, row: Row, column: Column) -> float | str:
    """Return the number of a cell, or why it is none."""
    if column.place >= len(row.cells):
        return f"{column.role} is missing"
    cell = row.cells[column.place]
    found = table.layout.number(cell)
    if found is None or not math.isfinite(found.number):
        return f"{column.role} {cell[:24]!r} is no number"
    power = column.power
    if found.unit is not None:
        if found.unit[0] != (column.unit or found.unit[0]):
            return f"{column.role} {cell[:24]!r} is not in {column.unit} as its column is"
        power = found.unit[1]
    value = found.number * 10.0**power if power >= 0 else found.number / 10.0**-power
    return value if math.isfinite(value) else f"{column.role} {cell[:24]!r} is too large"


def _enough(picked: _Picked) -> _Picked:
    good, bad = len(picked.lines), len(picked.left_out)
    if good < 2 or bad > good:
        first = f"; line {picked.left_out[0].line}: {picked.left_out[0].reason}" if bad else ""
        raise SingleRailError(
            "measurement",
            f"{good} good rows, {bad} bad ones{first}",
            allowed="at least 2 good rows, and not more bad ones than good ones",
            remedy="Check the file, or say what its columns are with columns=(...).",
        )
    return picked


def _order(abscissa: Floats, name: str) -> tuple[NDArray[np.intp], tuple[str, ...]]:
    order = np.argsort(abscissa, kind="stable")
    sorted_already = np.array_equal(order, np.arange(order.size))
    return order, () if sorted_already else (f"rows were sorted by {name}",)


def gain_of(table: TextTable, columns: Sequence[Column]) -> tuple[ToGain, tuple[str, ...]]:
    """Return how the gain follows from its columns, and what had to be decided.

    Parameters
    ----------
    table : TextTable
        The rows.
    columns : sequence of Column
        The gain, or input and output.

    Raises
    ------
    SingleRailError
        If input and output are not stated in the same kind of unit.
    """
    if len(columns) == 1:
        unit = columns[0].unit
        if unit:
            return (_from_decibels if unit == "dB" else _as_it_is), ()
        values = (_value(table, row, columns[0]) for row in table.rows)
        if any(not isinstance(value, str) and value < 0 for value in values):
            return _from_decibels, ("gain has no unit and negative values: taken as dB",)
        return _as_it_is, ("gain has no unit: taken as a ratio; if it is dB, say so with columns=(...)",)
    below, above = (column.unit for column in columns)
    if below == above == "dB":
        return (lambda levels: _from_decibels(levels[:, 1:] - levels[:, :1])), ()
    if below not in _TO_PEAK or above not in _TO_PEAK:
        raise SingleRailError(
            "measurement",
            f"input in {below or 'no unit'}, output in {above or 'no unit'}",
            allowed="both in volts of some kind, or both in dB",
            remedy='Say what the columns are: columns=("f Hz", "input mVpp", "output Vpp").',
        )
    scale = _TO_PEAK[above] / _TO_PEAK[below]
    different = f"input in {below or 'no unit'}, output in {above or 'no unit'}: compared as sines"
    return (lambda levels: scale * levels[:, 1] / levels[:, 0]), (different,) if below != above else ()


def _as_it_is(levels: Floats) -> Floats:
    return levels[:, 0]


def _from_decibels(levels: Floats) -> Floats:
    usable = np.abs(levels[:, 0]) <= _MOST_DECIBELS
    return np.where(usable, 10.0 ** (np.where(usable, levels[:, 0], 0.0) / 20.0), np.nan)
