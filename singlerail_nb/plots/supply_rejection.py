"""Ripple of the rail at a node: the way through the bias, the way through the op-amp, and their sum."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from ..analysis.supply_rejection import SupplyRejection
from ..errors import QuantityError
from ..quantities import QuantityLike, read_quantity, write_quantity
from .picture import COLOURS, DASHES, INK, Picture, label_lines, new_axes, quantity_axis

Floats = NDArray[np.float64]
POINTS = 400
DEPTH_DB = 100.0
"""How far below its highest point a path is drawn, dB."""


@dataclass(frozen=True)
class RejectionData:
    """What a rail passes on to a node, over frequency.

    Attributes
    ----------
    frequency : array, shape (points,)
        Hz, ascending.
    paths : dict of str to array
        Name of a path -> 20 log10 of volts at the node per volt on the rail, dB.
    marks : tuple of (float, float)
        Frequency (Hz) and height (dB) of the sum at each line of the ripple.
    """

    frequency: Floats
    paths: dict[str, Floats]
    marks: tuple[tuple[float, float], ...]


def frequency_axis(low: QuantityLike, high: QuantityLike) -> Floats:
    """Return the frequencies of a picture, equally spaced in the logarithm, Hz.

    Parameters
    ----------
    low, high : float
        Its ends, Hz.

    Raises
    ------
    QuantityError
        If the range is empty or not positive.
    """
    first = read_quantity(low, "Hz", name="low", low=-math.inf)
    last = read_quantity(high, "Hz", name="high", low=-math.inf)
    if not 0 < first < last:
        raise QuantityError(
            "frequency range",
            f"{first:g} Hz to {last:g} Hz",
            allowed="0 < low < high",
            remedy="Swap the ends.",
        )
    return np.geomspace(first, last, POINTS)


def rejection_data(
    rejection: SupplyRejection, lines: tuple[float, ...] = (), low: float = 1.0, high: float = 1e6
) -> RejectionData:
    """Return what a picture of the two paths shows.

    Parameters
    ----------
    rejection : SupplyRejection
        From `supply_rejection`.
    lines : tuple of float
        Frequencies of the ripple, Hz, to mark.
    low, high : float
        Frequency range, Hz.

    Raises
    ------
    QuantityError
        If the range is empty.
    """
    frequency = frequency_axis(low, high)
    named = {"through the bias": rejection.bias_path, "through the op-amp": rejection.opamp_path}
    paths = {name: path.magnitude_db(frequency) for name, path in named.items() if path.terms}
    marks = tuple((f, float(rejection.total.magnitude_db(f))) for f in lines)
    return RejectionData(frequency, {"both": rejection.total.magnitude_db(frequency), **paths}, marks)


def draw_passed_on(ax: Axes, data: RejectionData, depth: float = DEPTH_DB, *, named: bool = True) -> None:
    """Draw what the rail passes on, in dB; 0 dB is as much as there is on the rail.

    Parameters
    ----------
    ax : Axes
        Where.
    data : RejectionData
        What.
    depth : float
        How far below the highest point the axis reaches, dB.
    named : bool
        Whether the lines are named at their right ends.
    """
    ax.set_xscale("log")
    ax.set_xlim(data.frequency[0], data.frequency[-1])
    ends = []
    for i, (name, height) in enumerate(data.paths.items()):
        colour = COLOURS[i % 5]
        (line,) = ax.plot(data.frequency, height, color=colour, linewidth=2.2 if i == 0 else 1.6)
        if DASHES[(i + i // 5) % 5]:
            line.set_dashes(DASHES[(i + i // 5) % 5])
        ends.append((float(height[-1]), name, colour))
    top = max(float(height.max()) for height in data.paths.values())
    lowest = min(float(height[np.isfinite(height)].min(initial=top)) for height in data.paths.values())
    ax.set_ylim(max(top - depth, lowest - 5.0), top + 0.08 * depth)
    ax.axhline(0.0, color=INK, linewidth=0.8)
    for f, marked in data.marks:
        ax.plot(f, marked, "o", color=INK, markersize=5)
    quantity_axis(ax, "x", "Hz")
    ax.set_ylabel("passed on, dB", color=INK)
    if named:
        bottom = ax.get_ylim()[0]
        label_lines(ax, [(max(end, bottom), name, colour) for end, name, colour in ends])


def rejection_picture(
    rejection: SupplyRejection, lines: tuple[float, ...] = (), low: float = 1.0, high: float = 1e6
) -> Picture:
    """Return how much of the rail's ripple reaches a node, by which path.

    Parameters
    ----------
    rejection : SupplyRejection
        From `supply_rejection`.
    lines : tuple of float
        Frequencies of the ripple, Hz, to mark.
    low, high : float
        Frequency range, Hz.

    Raises
    ------
    QuantityError
        If the range is empty.
    """
    data = rejection_data(rejection, lines, low, high)
    figure, (ax,) = new_axes(1, height=3.4)
    draw_passed_on(ax, data)
    ax.set_xlabel("ripple frequency", color=INK)
    title = f"rail to {rejection.node}, source {rejection.source}"
    ax.set_title(title, loc="left", fontsize=10, color=INK)
    return Picture(figure, "\n".join([title, *rejection_text(rejection, lines or (100.0, 100e3))]))


def rejection_text(rejection: SupplyRejection, lines: tuple[float, ...]) -> list[str]:
    """Return the numbers of a picture, one sentence per line of the ripple.

    Parameters
    ----------
    rejection : SupplyRejection
        What was drawn.
    lines : tuple of float
        Frequencies, Hz.
    """
    return [
        f"at {write_quantity(f, 'Hz')}: through the bias {_decibels(rejection.bias_path.magnitude_db(f))}, "
        f"through the op-amp {_decibels(rejection.opamp_path.magnitude_db(f))}, "
        f"both {_decibels(rejection.total.magnitude_db(f))}"
        for f in lines
    ]


def _decibels(value: float) -> str:
    return f"{value:.4g} dB" if np.isfinite(value) else "nothing"
