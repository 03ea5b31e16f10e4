"""Phase margin of a follower against the capacitor that it drives."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes

from ..analysis.bias_follower import follower_margins
from ..analysis.stability import ENOUGH_MARGIN, MarginSweep
from ..circuit.opamp import OpAmp
from ..errors import QuantityError
from ..quantities import write_quantity
from .picture import COLOURS, DASHES, INK, Picture, label_lines, new_axes, quantity_axis

PER_DECADE = 12


@dataclass(frozen=True)
class Drive:
    """How a capacitor hangs on a follower.

    Attributes
    ----------
    name : str
        Beside the curve.
    series_resistance : float
        Of the capacitor (ESR), ohm.
    isolation : float
        Resistor between op-amp and capacitor, ohm.
    """

    name: str
    series_resistance: float = 0.0
    isolation: float = 0.0


def margin_data(opamp: OpAmp, drives: tuple[Drive, ...], low: float, high: float) -> dict[str, MarginSweep]:
    """Return the phase margins of a follower for each way of driving a capacitor.

    Parameters
    ----------
    opamp : OpAmp
        The amplifier.
    drives : tuple of Drive
        The ways, one to five.
    low, high : float
        Range of the capacitance, F; every decade that begins inside it is among the points.

    Raises
    ------
    QuantityError
        If the range is empty or not positive.
    """
    if not 0 < low < high:
        raise QuantityError(
            "capacitance range", f"{low:g} F to {high:g} F", allowed="0 < low < high", remedy="Give farad."
        )
    steps = round(PER_DECADE * np.log10(high / low))
    capacitance = np.geomspace(low, high, max(steps, 2) + 1)
    return {
        drive.name: follower_margins(
            opamp, capacitance, series_resistance=drive.series_resistance, isolation=drive.isolation
        )
        for drive in drives
    }


def draw_margins(ax: Axes, data: Mapping[str, MarginSweep]) -> None:
    """Draw phase margins over capacitance; the region of too little margin is shaded.

    Parameters
    ----------
    ax : Axes
        Where.
    data : mapping of str to MarginSweep
        What.
    """
    ax.set_xscale("log")
    ends = []
    for i, (name, found) in enumerate(data.items()):
        (line,) = ax.plot(found.capacitance, found.phase_margin, color=COLOURS[i % 5], linewidth=1.9)
        if DASHES[i % 5]:
            line.set_dashes(DASHES[i % 5])
        ends.append((float(found.phase_margin[-1]), name, COLOURS[i % 5]))
    every = np.concatenate([found.phase_margin for found in data.values()])
    ax.set_ylim(min(0.0, 1.1 * float(every.min())), max(90.0, 1.05 * float(every.max())))
    span = next(iter(data.values())).capacitance
    ax.set_xlim(span[0], span[-1])
    ax.axhspan(ax.get_ylim()[0], ENOUGH_MARGIN, facecolor="#f6efe4", zorder=0)
    ax.axhline(ENOUGH_MARGIN, color=INK, linewidth=1.0)
    quantity_axis(ax, "x", "F")
    quantity_axis(ax, "y", "deg")
    ax.set_ylabel("phase margin", color=INK)
    label_lines(ax, ends)


def margin_picture(
    opamp: OpAmp, drives: tuple[Drive, ...], low: float = 0.1e-9, high: float = 100e-6
) -> Picture:
    """Return the phase margin of a follower over the capacitor that it drives.

    Shaded is what lies below 45 degrees, the usual limit (common practice, no published source).

    Parameters
    ----------
    opamp : OpAmp
        The amplifier.
    drives : tuple of Drive
        Ways of driving the capacitor, one to five.
    low, high : float
        Range of the capacitance, F.

    Raises
    ------
    QuantityError
        If the range is empty or not positive.
    """
    data = margin_data(opamp, drives, low, high)
    figure, (ax,) = new_axes(1, height=3.4)
    draw_margins(ax, data)
    ax.set_xlabel("capacitor at the follower", color=INK)
    ax.set_title(f"op-amp {opamp.name} as a follower", loc="left", fontsize=10, color=INK)
    return Picture(figure, margin_text(data))


def margin_text(data: Mapping[str, MarginSweep]) -> str:
    """Return for each curve the least margin, and the range with too little.

    Parameters
    ----------
    data : mapping of str to MarginSweep
        What was drawn.
    """
    return "\n".join(f"{name}: {_sentence(found)}" for name, found in data.items())


def _sentence(found: MarginSweep) -> str:
    least = int(np.argmin(found.phase_margin))
    words = f"least phase margin {write_quantity(found.phase_margin[least], 'deg', 3)}"
    words += f" at {write_quantity(found.capacitance[least], 'F', 3)}"
    short = found.capacitance[~found.enough]
    if not short.size:
        return f"{words}; {write_quantity(ENOUGH_MARGIN, 'deg')} or more everywhere"
    first, last = (write_quantity(end, "F", 3) for end in (short[0], short[-1]))
    return f"{words}; below {write_quantity(ENOUGH_MARGIN, 'deg')} from {first} to {last}"
