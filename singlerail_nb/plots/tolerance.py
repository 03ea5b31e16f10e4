"""Pictures of a spread: the band of the response, and three ways to look at it above a histogram."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import ArrayLike, NDArray

from ..analysis.evaluation import compiled
from ..analysis.rational import horner
from ..analysis.tolerance_boards import Boards
from ..analysis.tolerance_catalogue import chosen_figures, nominal_value
from ..analysis.tolerance_results import RootSumSquare, Spread, WorstCase
from ..errors import QuantityError
from ..quantities import write_quantity
from .picture import COLOURS, INK, Picture, new_axes, quantity_axis

Floats = NDArray[np.float64]
Limits = tuple[float, float]

MIDDLE_98 = (1.0, 99.0)
"""Percentiles of the band and of the bar for random boards."""
_BAND_BOARDS, _BAND_POINTS, _BINS = 400, 120, 40
_LINE = 100.0
"""Frequency of the supply ripple where a figure needs one, Hz."""


@dataclass(frozen=True)
class GainBand:
    """Gain over frequency of random boards.

    Attributes
    ----------
    frequency : array, shape (n,)
        Hz.
    nominal, low, high : array, shape (n,)
        With nominal parts, and the 1 % and 99 % values of the boards, dB.
    boards : int
        How many boards were taken.
    """

    frequency: Floats
    nominal: Floats
    low: Floats
    high: Floats
    boards: int


def gain_band(spread: Spread, f: ArrayLike, boards: int = _BAND_BOARDS) -> GainBand:
    """Return the band that holds the gain of 98 % of random boards, frequency by frequency.

    Parameters
    ----------
    spread : Spread
        From `monte_carlo`; its first boards are taken.
    f : array_like, shape (n,)
        Hz, positive.
    boards : int
        How many boards.
    """
    frequency = np.asarray(f, dtype=np.float64)
    stage = spread.tolerances.stage
    h = stage.transfer("signal", "output")
    drawn = {name: spread.part_values(name)[:boards] for name in spread.tolerances.parts}
    top, bottom = compiled(h.function.reduced)(Boards(stage, drawn).numbers)
    s = 2j * math.pi * frequency[:, np.newaxis]
    gains = 20.0 * np.log10(np.abs(horner(top, s) / horner(bottom, s)))
    low, high = np.percentile(gains, MIDDLE_98, axis=1)
    return GainBand(frequency, np.asarray(h.magnitude_db(frequency)), low, high, min(boards, spread.boards))


def draw_gain_band(ax: Axes, data: GainBand) -> None:
    """Draw the nominal gain and the band of the boards.

    Parameters
    ----------
    ax : Axes
        Where.
    data : GainBand
        What.
    """
    ax.set_xscale("log")
    ax.set_xlim(data.frequency[0], data.frequency[-1])
    ax.fill_between(data.frequency, data.low, data.high, color=COLOURS[0], alpha=0.25, linewidth=0)
    ax.plot(data.frequency, data.nominal, color=COLOURS[0], linewidth=1.9)
    quantity_axis(ax, "x", "Hz")
    quantity_axis(ax, "y", "dB")
    ax.set_ylabel("gain", color=INK)


def gain_band_picture(spread: Spread) -> Picture:
    """Return the gain around the low end, with the band of 98 % of the boards.

    Parameters
    ----------
    spread : Spread
        From `monte_carlo`.

    Raises
    ------
    QuantityError
        If the stage has no low end: its gain reaches down to DC.
    """
    stage = spread.tolerances.stage
    cutoff = stage.transfer("signal", "output").low_cutoff()
    if not cutoff > 0:
        raise QuantityError(
            "low-end cut-off",
            cutoff,
            allowed="above 0 Hz",
            remedy="Draw `gain_band` over a range of your own.",
        )
    data = gain_band(spread, np.geomspace(cutoff / 5.0, cutoff * 5.0, _BAND_POINTS))
    figure, (ax,) = new_axes(1, height=3.0)
    draw_gain_band(ax, data)
    ax.set_xlabel("frequency", color=INK)
    ax.set_title(f"gain, shaded: 98 % of {data.boards} boards", loc="left", fontsize=10, color=INK)
    return Picture(figure, gain_band_text(data))


def gain_band_text(data: GainBand) -> str:
    """Return the band at its ends and where it is widest.

    Parameters
    ----------
    data : GainBand
        What was drawn.
    """
    widest = int(np.argmax(data.high - data.low))
    lines = []
    for words, i in (("lowest frequency", 0), ("widest", widest), ("highest frequency", -1)):
        low, high, nominal = (write_quantity(v[i], "dB") for v in (data.low, data.high, data.nominal))
        f = write_quantity(data.frequency[i], "Hz", 3)
        lines.append(f"{words}, {f}: {low} to {high}, nominal {nominal}")
    return "\n".join(lines)


@dataclass(frozen=True)
class Histogram:
    """One figure of many boards, with its three ranges.

    Attributes
    ----------
    label, unit : str
        The figure.
    edges : array, shape (n + 1,)
        Of the bins, in the unit of the figure.
    share : array, shape (n,)
        Boards in each bin over all boards.
    nominal : float
        With nominal parts.
    ranges : dict of str to (float, float)
        The three ways, widest question first.
    boards : int
        How many.
    """

    label: str
    unit: str
    edges: Floats
    share: Floats
    nominal: float
    ranges: dict[str, Limits]
    boards: int


def histogram(spread: Spread, name: str = "low_cutoff", bins: int = _BINS) -> Histogram:
    """Return a figure of random boards as a histogram, with extreme value and root sum square.

    Parameters
    ----------
    spread : Spread
        From `monte_carlo`.
    name : str
        A figure that was asked for.
    bins : int
        How many bins.

    Raises
    ------
    UnknownNameError
        If that figure was not asked for.
    """
    found, tolerances = spread.of(name), spread.tolerances
    (figure,) = chosen_figures(tolerances.stage, (name,), _LINE)
    counts, edges = np.histogram(found, bins)
    low, high = spread.percentiles(name, MIDDLE_98)
    ranges = {
        "extreme value": WorstCase(tolerances, {name: figure}).of(name),
        "root sum square": RootSumSquare(tolerances, {name: figure}).of(name),
        "98 % of the boards": (low, high),
    }
    nominal = nominal_value(tolerances.stage, figure)
    return Histogram(figure.label, figure.unit, edges, counts / len(found), nominal, ranges, spread.boards)


def draw_histogram(ax: Axes, data: Histogram, limits: Mapping[str, float] | None = None) -> None:
    """Draw the boards as bars and the three ranges as lines above them.

    Parameters
    ----------
    ax : Axes
        Where.
    data : Histogram
        What.
    limits : mapping of str to float, optional
        Limits of the figure by name, drawn across.
    """
    ax.set_axisbelow(True)
    ax.stairs(data.share, data.edges, fill=True, color=COLOURS[0], alpha=0.3)
    top = float(data.share.max())
    for i, (way, (low, high)) in enumerate(data.ranges.items()):
        height = top * (1.55 - 0.17 * i)
        ax.plot([low, high], [height, height], color=COLOURS[i], linewidth=2.2, marker="|", markersize=9)
        ax.annotate(way, (low, height), xytext=(-6, 0), textcoords="offset points", ha="right", va="center",
                    fontsize=9, color=COLOURS[i], annotation_clip=False)  # fmt: skip
    ax.axvline(data.nominal, ymax=0.68, color=INK, linewidth=1.0, dashes=(4, 3))
    ends = [*data.ranges["extreme value"], *data.edges[[0, -1]], *(limits or {}).values()]
    span = max(ends) - min(ends)
    ax.set_xlim(min(ends) - 0.35 * span, max(ends) + 0.08 * span)
    ax.set_ylim(0.0, 1.75 * top)
    for words, value in (limits or {}).items():
        ax.axvline(value, color=COLOURS[4], linewidth=1.6)
        text = f"{words} {write_quantity(value, data.unit)}"
        ax.annotate(text, (value, 1.75 * top), xytext=(4, -2), textcoords="offset points", va="top",
                    fontsize=9, color=COLOURS[4])  # fmt: skip
    quantity_axis(ax, "x", data.unit)
    quantity_axis(ax, "y", "%")
    ax.set_ylabel("boards", color=INK)


def histogram_picture(
    spread: Spread, name: str = "low_cutoff", limits: Mapping[str, float] | None = None
) -> Picture:
    """Return the boards as a histogram with extreme value, root sum square and random boards above it.

    Parameters
    ----------
    spread : Spread
        From `monte_carlo`.
    name : str
        A figure that was asked for.
    limits : mapping of str to float, optional
        Limits of the figure by name, such as ``{"at most": 60.0}``, in its unit.

    Raises
    ------
    UnknownNameError
        If that figure was not asked for.
    """
    data = histogram(spread, name)
    figure, (ax,) = new_axes(1, height=3.4)
    draw_histogram(ax, data, limits)
    ax.set_xlabel(data.label, color=INK)
    count = f"{data.boards:,}".replace(",", " ")
    ax.set_title(f"{count} boards, dashed: nominal", loc="left", fontsize=10, color=INK)
    return Picture(figure, histogram_text(data, spread, name, limits))


def histogram_text(
    data: Histogram, spread: Spread, name: str, limits: Mapping[str, float] | None = None
) -> str:
    """Return the nominal value, the three ranges and the share of boards on either side of each limit.

    Parameters
    ----------
    data : Histogram
        What was drawn.
    spread : Spread
        The boards.
    name : str
        The figure.
    limits : mapping of str to float, optional
        Limits by name.
    """
    lines = [f"{data.label}: nominal {write_quantity(data.nominal, data.unit)}"]
    for way, ends in data.ranges.items():
        low, high = (write_quantity(end, data.unit) for end in ends)
        lines.append(f"  {way:<18}  {low} to {high}")
    for words, value in (limits or {}).items():
        share = spread.share_within(name, high=value)
        written = write_quantity(value, data.unit)
        lines.append(f"  {words} {written}: {share:.1%} of the boards lie below, {1.0 - share:.1%} above")
    return "\n".join(lines)
