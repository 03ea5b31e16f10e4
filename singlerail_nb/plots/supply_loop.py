"""The loop through the rail as a picture: how much comes back, and where it comes back in phase."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter, MultipleLocator
from numpy.typing import NDArray

from ..analysis.supply_loop import SupplyLoop
from ..errors import require_result
from ..quantities import QuantityLike
from .picture import COLOURS, DASHES, INK, Picture, label_logarithmic, new_axes, quantity_axis
from .supply_rejection import frequency_axis

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class SupplyLoopData:
    """Loop gains over frequency.

    Attributes
    ----------
    frequency : array, shape (points,)
        Hz, ascending.
    magnitude, phase : dict of str to array, shape (points,)
        By the name of the curve: a ratio; degrees from -180 to 180, 0 is in phase.
    in_phase : dict of str to (float, float)
        Frequency (Hz) and loop gain of the critical point; 0 and 0 if there is none.
    stable : dict of str to bool
        The verdict of each loop.
    """

    frequency: Floats
    magnitude: dict[str, Floats]
    phase: dict[str, Floats]
    in_phase: dict[str, tuple[float, float]]
    stable: dict[str, bool]


def supply_loop_data(
    loops: Mapping[str, SupplyLoop], low: QuantityLike = 1.0, high: QuantityLike = 1e3
) -> SupplyLoopData:
    """Return what a picture of loops through the rail shows.

    Parameters
    ----------
    loops : mapping of str to SupplyLoop
        From `supply_loop`, by the name beside their curve; one to five.
    low, high : float or str
        Frequency range, Hz.

    Raises
    ------
    QuantityError
        If the range is empty.
    """
    frequency = frequency_axis(low, high)
    found = {name: loop(frequency) for name, loop in loops.items()}
    return SupplyLoopData(
        frequency,
        {name: np.abs(values) for name, values in found.items()},
        {name: np.degrees(np.angle(values)) for name, values in found.items()},
        {name: (loop.frequency, loop.gain) for name, loop in loops.items()},
        {name: loop.is_stable for name, loop in loops.items()},
    )


def draw_loop_gain(ax: Axes, data: SupplyLoopData) -> None:
    """Draw the loop gain; a mark shows where it is in phase, hollow where that is harmless.

    Parameters
    ----------
    ax : Axes
        Where.
    data : SupplyLoopData
        What.
    """
    ax.set_yscale("log")
    every = np.concatenate(list(data.magnitude.values()))
    ax.set_ylim(max(float(every.min()), 1e-4 * float(every.max())) / 1.5, max(float(every.max()), 1.0) * 3.0)
    _curves(ax, data, data.magnitude)
    ax.axhline(1.0, color=INK, linewidth=1.0)
    ax.annotate(
        "above and in phase: oscillates", (0.99, 1.0), xycoords=("axes fraction", "data"),
        xytext=(0, 4), textcoords="offset points", ha="right", fontsize=9, color=INK,
    )  # fmt: skip
    _marks(ax, data, [gain for _, gain in data.in_phase.values()])
    quantity_axis(ax, "x", "Hz")
    ax.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    ax.set_ylabel("loop gain", color=INK)
    label_logarithmic(
        ax, [(float(m[-1]), name, COLOURS[i % 5]) for i, (name, m) in enumerate(data.magnitude.items())]
    )


def draw_loop_phase(ax: Axes, data: SupplyLoopData) -> None:
    """Draw the phase of the loop; at 0 degrees what comes back adds to what went out.

    Parameters
    ----------
    ax : Axes
        Where.
    data : SupplyLoopData
        What.
    """
    broken = {
        name: np.where(np.abs(np.diff(p, prepend=p[0])) > 180.0, np.nan, p) for name, p in data.phase.items()
    }
    _curves(ax, data, broken)
    ax.axhline(0.0, color=INK, linewidth=1.0)
    _marks(ax, data, [0.0] * len(data.in_phase))
    ax.set_ylim(-190.0, 190.0)
    ax.yaxis.set_major_locator(MultipleLocator(90.0))
    quantity_axis(ax, "x", "Hz")
    ax.set_ylabel("phase, degrees", color=INK)
    ax.set_xlabel("frequency", color=INK)


def _curves(ax: Axes, data: SupplyLoopData, heights: Mapping[str, Floats]) -> None:
    ax.set_xscale("log")
    ax.set_xlim(data.frequency[0], data.frequency[-1])
    for i, height in enumerate(heights.values()):
        (line,) = ax.plot(data.frequency, height, color=COLOURS[i % 5], linewidth=1.9)
        if DASHES[i % 5]:
            line.set_dashes(DASHES[i % 5])


def _marks(ax: Axes, data: SupplyLoopData, heights: Sequence[float]) -> None:
    """Mark where each loop is in phase, hollow where it is stable."""
    points = zip(data.in_phase.values(), data.stable.values(), heights, strict=True)
    for i, ((f, _), stable, height) in enumerate(points):
        if data.frequency[0] <= f <= data.frequency[-1]:
            ink = COLOURS[i % 5]
            face = "white" if stable else ink
            ax.plot(f, height, "o", markerfacecolor=face, markeredgecolor=ink, markersize=8, zorder=3)


def supply_loop_picture(
    loops: Mapping[str, SupplyLoop], low: QuantityLike = 1.0, high: QuantityLike = 1e3
) -> Picture:
    """Return loop gain and phase of the way through the rail and back.

    Parameters
    ----------
    loops : mapping of str to SupplyLoop
        From `supply_loop`, by the name beside their curve; one to five.
    low, high : float or str
        Frequency range, Hz.

    Raises
    ------
    QuantityError
        If there are no names with results, or the range is empty.
    """
    require_result(loops, Mapping, 'supply_loop_picture({"name": sr.supply_loop(stage, 10.0)})')
    data = supply_loop_data(loops, low, high)
    figure, (upper, lower) = new_axes(2, height=2.4)
    draw_loop_gain(upper, data)
    draw_loop_phase(lower, data)
    upper.set_title(
        "output current through the rail and the bias, back to the output", loc="left", fontsize=10
    )
    lines = [f"{name}: {loop.text}" for name, loop in loops.items()]
    return Picture(figure, "\n".join(lines))
