"""Which capacitor makes a start-up slow: the usual rules as bars, the truth as a line."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes

from ..analysis.startup_blame import SlowCapacitor, slow_capacitors
from ..analysis.startup_run import Startup
from ..circuit.typeset import part_label
from ..quantities import write_quantity
from .picture import COLOURS, INK, Picture, new_axes, quantity_axis


@dataclass(frozen=True)
class BlameData:
    """The rules beside the truth.

    Attributes
    ----------
    truth : float
        Settling time of the node, s.
    rows : tuple of SlowCapacitor
        The capacitors, the one to blame first.
    """

    truth: float
    rows: tuple[SlowCapacitor, ...]


def blame_data(
    run: Startup, node: str, within: float | None = None, *, volts: float | None = None
) -> BlameData:
    """Return what a picture of slow capacitors shows.

    Parameters
    ----------
    run : Startup
        From `startup`.
    node : str
        The node whose settling counts.
    within, volts : float, optional
        As in ``run.settling_time``.

    Raises
    ------
    UnknownNameError
        If the node does not exist.
    QuantityError
        As for ``run.settling_time``.
    """
    rows = slow_capacitors(run, node, within, volts=volts)
    return BlameData(run.settling_time(node, within, volts=volts), rows)


def draw_blame(ax: Axes, data: BlameData) -> None:
    """Draw one and five time constants of each capacitor as bars, the settling time as a line.

    Parameters
    ----------
    ax : Axes
        Where.
    data : BlameData
        What.
    """
    heights = np.arange(len(data.rows))[::-1]
    finite = [row if np.isfinite(row.time_constant) else None for row in data.rows]
    five = [row.five_time_constants if row else 0.0 for row in finite]
    ax.barh(heights, five, height=0.6, color="#cfe0ee", edgecolor=COLOURS[0])
    ax.barh(heights, [row.time_constant if row else 0.0 for row in finite], height=0.6, color=COLOURS[0])
    ax.axvline(data.truth, color=COLOURS[1], linewidth=2.0)
    ax.set_yticks(
        heights, [f"{part_label(row.name)}, share {_percent(row.share)}" for row in data.rows], fontsize=9
    )
    ax.set_xlim(0.0, 1.15 * max(data.truth, *five))
    quantity_axis(ax, "x", "s")
    ax.grid(visible=False, axis="y")


def blame_picture(
    run: Startup, node: str, within: float | None = None, *, volts: float | None = None
) -> Picture:
    """Return which capacitor makes a start-up slow, with the usual rules beside the truth.

    Parameters
    ----------
    run : Startup
        From `startup`.
    node : str
        The node whose settling counts.
    within, volts : float, optional
        As in ``run.settling_time``.

    Raises
    ------
    UnknownNameError
        If the node does not exist.
    QuantityError
        As for ``run.settling_time``.
    """
    data = blame_data(run, node, within, volts=volts)
    figure, (ax,) = new_axes(1, height=0.9 + 0.4 * len(data.rows))
    draw_blame(ax, data)
    title = f"dark: one time constant, pale: five; line: {node} has settled"
    ax.set_title(title, loc="left", fontsize=10, color=INK)
    return Picture(figure, blame_text(data, node))


def blame_text(data: BlameData, node: str) -> str:
    """Return the numbers of a picture, the truth first.

    Parameters
    ----------
    data : BlameData
        What was drawn.
    node : str
        The node.
    """
    lines = [
        f"{row.name}: one time constant {_seconds(row.time_constant)}, "
        f"five {_seconds(row.five_time_constants)}, share of the settling time {_percent(row.share)}"
        for row in data.rows
    ]
    return "\n".join([f"{node} has settled after {_seconds(data.truth)}", *lines])


def _seconds(value: float) -> str:
    return write_quantity(value, "s") if np.isfinite(value) else "no end"


def _percent(share: float) -> str:
    return f"{100.0 * max(share, 0.0):.1f} %"
