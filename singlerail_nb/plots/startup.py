"""Waking up: node voltages from the first moment of the rail, saturated phases shaded."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from ..analysis.startup_run import Startup
from ..quantities import write_quantity
from .picture import COLOURS, DASHES, INK, Picture, label_lines, new_axes, quantity_axis

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class StartupData:
    """Voltages over time.

    Attributes
    ----------
    time : array, shape (points,)
        s.
    voltages : dict of str to array
        Node -> volts to ground.
    saturated : tuple of (float, float)
        Beginnings and ends of the phases in which an op-amp output sits at a limit, s.
    """

    time: Floats
    voltages: dict[str, Floats]
    saturated: tuple[tuple[float, float], ...]


def startup_data(run: Startup, nodes: Sequence[str], until: float | None = None) -> StartupData:
    """Return what a start-up picture shows.

    Parameters
    ----------
    run : Startup
        From `startup`.
    nodes : sequence of str
        Which nodes.
    until : float, optional
        End of the time axis, s; the slowest of the nodes within 0.2 % of the rail unless given.

    Raises
    ------
    UnknownNameError
        If a node does not exist.
    """
    close = 0.002 * run.stage.supply
    last = max(run.settling_time(node, volts=close) for node in nodes) if until is None else until
    times = run.times
    if last == 0.0:  # nothing moves: the output sits at a limit from the start
        last = float(times[-1]) or _STILL
    inside = times[(times > 0) & (times < last)]
    time = np.unique(np.concatenate([[0.0], inside, np.linspace(0.0, last, 300)]))
    saturated = tuple((s.start, min(s.end, last)) for s in run.saturated if s.start < last)
    return StartupData(time, {node: run.voltage(node, time) for node in nodes}, saturated)


def draw_startup(ax: Axes, data: StartupData, supply: float) -> None:
    """Draw node voltages over time; saturated phases are shaded and named.

    Parameters
    ----------
    ax : Axes
        Where.
    data : StartupData
        What.
    supply : float
        The rail, V.
    """
    for start, end in data.saturated:
        ax.axvspan(start, end, facecolor="#f6efe4", edgecolor="#d8bd9c", hatch="...", linewidth=0, zorder=0)
    for i, voltage in enumerate(data.voltages.values()):
        (line,) = ax.plot(data.time, voltage, color=COLOURS[i % 5], linewidth=1.9)
        if DASHES[i % 5]:
            line.set_dashes(DASHES[i % 5])
    ax.set_xlim(0.0, data.time[-1])
    low = min(0.0, *(float(v.min()) for v in data.voltages.values()))
    ax.set_ylim(low - 0.06 * supply, 1.1 * supply)
    ax.axhline(supply, color=INK, linewidth=1.0)
    ax.axhline(0.0, color=INK, linewidth=1.0)
    quantity_axis(ax, "x", "s")
    ax.set_ylabel("volts to ground", color=INK)
    ends = [(float(v[-1]), n, COLOURS[i % 5]) for i, (n, v) in enumerate(data.voltages.items())]
    label_lines(ax, ends)


_STILL = 1e-3
"""Length of the time axis if nothing ever moves, s."""
_USUAL_NODES = ("bias", "plus", "amp_out", "output")


def startup_picture(run: Startup, nodes: Sequence[str] | None = None, until: float | None = None) -> Picture:
    """Return node voltages over time after the rail comes on.

    Dotted areas are times in which an op-amp output sits at one of its limits.

    Parameters
    ----------
    run : Startup
        From `startup`.
    nodes : sequence of str, optional
        Which nodes; bias, plus, amp_out and output, as far as they exist, unless given.
    until : float, optional
        End of the time axis, s.

    Raises
    ------
    UnknownNameError
        If a node does not exist.
    """
    if nodes is None:
        nodes = [node for node in _USUAL_NODES if run.stage.circuit.has_node(node)]
    data = startup_data(run, nodes, until)
    figure, (ax,) = new_axes(1, height=3.8)
    draw_startup(ax, data, run.stage.supply)
    ax.set_xlabel("time after power comes on", color=INK)
    ax.set_title(f"{run.stage.title}: waking up", loc="left", fontsize=10, color=INK)
    return Picture(figure, startup_text(run, nodes))


def startup_text(run: Startup, nodes: Sequence[str]) -> str:
    """Return the numbers of a start-up: settling of each node, saturated phases.

    Parameters
    ----------
    run : Startup
        From `startup`.
    nodes : sequence of str
        Which nodes.
    """
    close = 0.01 * run.stage.supply
    lines = [
        f"{node}: rests at {write_quantity(_clean(run.final_voltage(node), close), 'V')}, "
        f"within 1 % of the rail ({write_quantity(close, 'V')}) "
        f"after {write_quantity(run.settling_time(node, volts=close), 's')}"
        for node in nodes
    ]
    lines += [
        f"{phase.opamp} sits at its {phase.side} limit from {write_quantity(phase.start, 's')} "
        f"to {write_quantity(phase.end, 's')}"
        for phase in run.saturated
    ]
    return "\n".join(lines)


def _clean(volts: float, scale: float) -> float:
    """Return a voltage, or 0 where only rounding is left of it."""
    return volts if abs(volts) > 1e-6 * scale else 0.0
