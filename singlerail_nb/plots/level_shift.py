"""A level shift as a picture: the line in its window, and how far the parts are from it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from ..designing.level_shift import LevelShift
from ..errors import require_result
from ..quantities import write_quantity
from .picture import COLOURS, INK, Picture, new_axes, quantity_axis

Floats = NDArray[np.float64]
POINTS = 101
BEYOND = 0.12
"""How far beyond the end points the line is drawn, of the distance between them."""


@dataclass(frozen=True)
class LevelShiftData:
    """A line over its input.

    Attributes
    ----------
    input : array, shape (points,)
        V, ascending, a little beyond both ends.
    wanted, chosen : array, shape (points,)
        Output that was asked for, and with the chosen parts, V; not limited by the window.
    window : (float, float)
        Lowest and highest output at the lowest rail, V.
    ends : array, shape (2, 5)
        For each end point: input, wanted, output with the chosen parts, lowest and highest with
        tolerances at the lowest rail, V.
    """

    input: Floats
    wanted: Floats
    chosen: Floats
    window: tuple[float, float]
    ends: Floats


def level_shift_data(shift: LevelShift) -> LevelShiftData:
    """Return what a picture of a level shift shows.

    Parameters
    ----------
    shift : LevelShift
        From `level_shift`.
    """
    low, high = sorted(shift.wanted.inputs)
    margin = BEYOND * (high - low)
    x = np.linspace(low - margin, high + margin, POINTS)
    ends = np.array([(e.input, e.wanted, e.output, e.lowest, e.highest) for e in shift.ends])
    (x1, y1), (x2, y2) = ends[:, [0, 2]]
    chosen = y1 + (x - x1) * (y2 - y1) / (x2 - x1)
    return LevelShiftData(x, shift.slope * x + shift.intercept, chosen, shift.wanted.window, ends)


def draw_line(ax: Axes, data: LevelShiftData) -> None:
    """Draw the line with its end points, and hatch what the output cannot reach.

    Parameters
    ----------
    ax : Axes
        Where.
    data : LevelShiftData
        What.
    """
    low, high = data.window
    room = 0.12 * (high - low)
    ax.set_xlim(data.input[0], data.input[-1])
    ax.set_ylim(low - room, high + room)
    for edges in ((low - room, low), (high, high + room)):
        ax.axhspan(*edges, facecolor="none", edgecolor=INK, alpha=0.25, hatch="///", linewidth=0.0)
    rising = data.wanted[-1] > data.wanted[0]
    for limit, text in ((high, "highest"), (low, "lowest")):
        ax.axhline(limit, color=INK, linewidth=1.0)
        words, top = f"{text} output at the lowest rail: {write_quantity(limit, 'V', 3)}", limit == high
        left = top == rising  # where the line is far away
        ax.annotate(
            words, (0.01 if left else 0.99, limit), xycoords=("axes fraction", "data"),
            xytext=(0, -5 if top else 5), textcoords="offset points", ha="left" if left else "right",
            va="top" if top else "bottom", fontsize=9, color=INK,
        )  # fmt: skip
    ax.plot(data.input, data.wanted, color=COLOURS[0], linewidth=2.0)
    ax.plot(data.ends[:, 0], data.ends[:, 1], "o", color=COLOURS[0], markersize=7)
    for x, y, *_ in data.ends:
        left = x < data.input.mean()
        ax.annotate(
            f"{write_quantity(x, 'V', 3)} gives {write_quantity(y, 'V', 3)}", (x, y),
            xytext=(14 if left else -14, 0 if rising else 5 if left else -5), textcoords="offset points",
            ha="left" if left else "right", va="center", fontsize=9, color=COLOURS[0],
        )  # fmt: skip
    quantity_axis(ax, "x", "V")
    quantity_axis(ax, "y", "V")
    ax.set_ylabel("output", color=INK)


def draw_error(ax: Axes, data: LevelShiftData) -> None:
    """Draw how far the chosen parts are from the line, with the spread at both ends.

    Parameters
    ----------
    ax : Axes
        Where.
    data : LevelShiftData
        What.
    """
    ax.axhline(0.0, color=COLOURS[0], linewidth=2.0)
    ax.plot(data.input, data.chosen - data.wanted, color=COLOURS[1], linewidth=1.6, dashes=(6, 2))
    for x, wanted, output, lowest, highest in data.ends:
        below, above = output - lowest, highest - output
        ax.errorbar(
            [x], [output - wanted], yerr=[[max(below, 0.0)], [max(above, 0.0)]], fmt="s", color=COLOURS[1],
            markersize=5, capsize=5, linewidth=1.4,
        )  # fmt: skip
    ax.margins(y=0.15)
    quantity_axis(ax, "x", "V")
    quantity_axis(ax, "y", "V")
    ax.set_ylabel("output less wanted", color=INK)
    ax.set_xlabel("input", color=INK)


def level_shift_picture(shift: LevelShift) -> Picture:
    """Return a level shift in its window, and below it the error of the chosen parts with tolerances.

    Parameters
    ----------
    shift : LevelShift
        From `level_shift`.

    Raises
    ------
    QuantityError
        If it is no level shift.
    """
    require_result(shift, LevelShift, "level_shift_picture(sr.level_shift(...))")
    data = level_shift_data(shift)
    figure, (upper, lower) = new_axes(2, height=2.4)
    draw_line(upper, data)
    draw_error(lower, data)
    title = f"{shift.stage.title}: {shift.form}"
    upper.set_title(title, loc="left", fontsize=10, color=INK)
    low, high = (write_quantity(volts, "V") for volts in data.window)
    lines = [f"{title}; output from {low} to {high} at the lowest rail"]
    return Picture(figure, "\n".join([*lines, *(str(end) for end in shift.ends)]))
