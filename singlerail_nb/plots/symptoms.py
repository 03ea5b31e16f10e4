"""A sound and a broken board side by side: the volts of every node, and the wave on the screen."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from ..analysis.network import require_stage
from ..analysis.settled_wave import Floats
from ..analysis.stage import Stage
from ..circuit.typeset import part_label
from ..fault_finding.bench import Bench
from ..fault_finding.board import Board
from ..fault_finding.catalogue import Fault, fault_named
from ..fault_finding.readings import Reading, reading
from ..fault_finding.waves import screen
from ..quantities import write_quantity
from .picture import COLOURS, GRID, INK, Picture, quantity_axis

_PART = re.compile(r"\b[rc]_\w+")
_PERIODS = 2
_HALF = 0.34
"""Half the width of a node's column, in columns."""
_MOVED = 0.02
"""Share of the rail by which a reading must have moved to get its number."""


@dataclass(frozen=True)
class NodeVolts:
    """What a meter shows at one node of both boards.

    Attributes
    ----------
    node : str
        Which node.
    sound, broken : Reading
        On the sound and on the broken board, V.
    """

    node: str
    sound: Reading
    broken: Reading

    @property
    def text(self) -> str:
        """Both readings in words."""
        return f"{self.node}: {self.sound.text} on the sound board, {self.broken.text} on this one"


def node_volts(bench: Bench, fault: Fault) -> tuple[NodeVolts, ...]:
    """Return what the meter shows at every node of the sound and of the broken board.

    Parameters
    ----------
    bench : Bench
        The bench.
    fault : Fault
        What is wrong.
    """
    wanted = [m for m in bench.measurements if m.kind == "volts"]
    return tuple(NodeVolts(m.node, reading(bench, None, m), reading(bench, fault, m)) for m in wanted)


def screens(bench: Bench, fault: Fault, node: str) -> tuple[Floats, Floats, Floats]:
    """Return the wave at a node of both boards: time in s, sound and broken in V, each shape (points,).

    Parameters
    ----------
    bench : Bench
        The bench.
    fault : Fault
        What is wrong.
    node : str
        Where the probe is.

    Raises
    ------
    UnknownNameError
        If there is no such node.
    """
    time, sound = screen(bench, Board.of(bench.stage), node)
    _, broken = screen(bench, fault.on(bench.stage), node)
    whole = np.concatenate([time + k / bench.frequency for k in range(_PERIODS)])
    return whole, np.tile(sound, _PERIODS), np.tile(broken, _PERIODS)


def draw_node_volts(ax: Axes, rows: Sequence[NodeVolts], supply: float) -> None:
    """Draw the volts of every node between ground and the rail: sound as bars, broken as dots with a band.

    Parameters
    ----------
    ax : Axes
        Where.
    rows : sequence of NodeVolts
        The nodes, left to right.
    supply : float
        The rail of the sound board, V.
    """
    for level in (0.0, supply):
        ax.axhline(level, color=INK, linewidth=1.2)
    for i, row in enumerate(rows):
        low, high = max(row.sound.low, 0.0), row.sound.high
        ax.fill_between([i - _HALF, i + _HALF], low, high, color=COLOURS[0], alpha=0.25, linewidth=0)
        ax.plot([i - _HALF, i + _HALF], [row.sound.value] * 2, color=COLOURS[0], linewidth=2.2)
        _draw_broken(ax, i, row, supply)
    ax.set_xticks(range(len(rows)), [row.node for row in rows], fontsize=8, rotation=30, ha="right")
    ax.set_xlim(-0.6, len(rows) - 0.2)
    ax.set_ylim(-0.06 * supply, 1.1 * supply)
    ax.set_ylabel("DC volts to ground", color=INK)
    ax.set_title(
        "meter, no signal: blue bar sound, dot this board with its band", loc="left", fontsize=9, color=INK
    )


def _draw_broken(ax: Axes, at: int, row: NodeVolts, supply: float) -> None:
    """Draw the reading of the broken board with its band, and its value where it has moved."""
    value = row.broken.value
    low, high = max(row.broken.low, 0.0), min(row.broken.high, supply)
    ax.plot([at, at], [low, high], color=COLOURS[1], linewidth=1.0)
    ax.plot([at], [value], marker="o", markersize=6, color=COLOURS[1], linestyle="none")
    if abs(value - row.sound.value) > _MOVED * supply:
        where: dict[str, Any] = {"xytext": (0, 7), "textcoords": "offset points", "ha": "center"}
        where["bbox"] = {"facecolor": "white", "edgecolor": "none", "pad": 0.5}
        ax.annotate(write_quantity(value, "V", 3), (at, value), fontsize=8, color=COLOURS[1], **where)


def draw_screens(ax: Axes, waves: tuple[Floats, Floats, Floats], node: str) -> None:
    """Draw the wave of both boards on one screen.

    Parameters
    ----------
    ax : Axes
        Where.
    waves : (array, array, array)
        Time, sound and broken, as `screens` returns them.
    node : str
        Where the probe is.
    """
    time, sound, broken = waves
    ax.plot(time, sound, color=COLOURS[0], linewidth=1.8, label="sound board")
    ax.plot(time, broken, color=COLOURS[1], linewidth=1.8, dashes=(6, 2), label="this board")
    ax.set_xlim(time[0], time[-1])
    ax.xaxis.set_major_locator(MaxNLocator(4))
    quantity_axis(ax, "x", "s")
    ax.set_xlabel("time", color=INK)
    ax.set_ylabel(f"volts at {node}", color=INK)
    ax.legend(loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=2, fontsize=8, frameon=False)


def symptom_picture(
    stage: Stage, fault: Fault | str, *, node: str = "amp_out", bench: Bench | None = None
) -> Picture:
    """Return the sound and the broken board side by side: node volts, and the wave at one node.

    Parameters
    ----------
    stage : Stage
        The sound stage.
    fault : Fault or str
        What is wrong.
    node : str
        Where the scope is.
    bench : Bench, optional
        Instruments, test signals and tolerances; the usual ones unless given.

    Raises
    ------
    QuantityError
        If ``stage`` is no stage.
    UnknownNameError
        If the stage cannot have that fault, or has no such node.
    CircuitError
        If the fault joins the rail or an output to another source.
    """
    require_stage(stage)
    wrong = fault_named(stage, fault) if isinstance(fault, str) else fault
    known = Bench.of(stage) if bench is None else bench
    rows, waves = node_volts(known, wrong), screens(known, wrong, node)
    figure = Figure(figsize=(9.0, 3.6), layout="constrained")
    left, right = figure.subplots(1, 2, width_ratios=(3, 2))
    for ax in (left, right):
        ax.spines[["top", "right"]].set_visible(False)
        ax.grid(visible=True, axis="y", color=GRID, linewidth=0.7)
        ax.tick_params(colors=INK, labelsize=8)
    draw_node_volts(left, rows, stage.supply)
    draw_screens(right, waves, node)
    figure.suptitle(
        _PART.sub(lambda name: part_label(name[0]), wrong.what), x=0.01, ha="left", fontsize=10, color=INK
    )
    return Picture(figure, "\n".join([wrong.what, *(row.text for row in rows), _wave_text(node, waves)]))


def _wave_text(node: str, waves: tuple[Floats, Floats, Floats]) -> str:
    def span(volts: Floats) -> str:
        low, high = float(volts.min()), float(volts.max())
        ends = dict.fromkeys(write_quantity(round(end, 3), "V", 3) for end in (low, high))
        return " to ".join(ends)

    return f"wave at {node}: {span(waves[1])} on the sound board, {span(waves[2])} on this one"
