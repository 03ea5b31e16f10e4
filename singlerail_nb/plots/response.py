"""Frequency response: the whole stage, its sections, the bias filter."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import MultipleLocator
from numpy.typing import NDArray

from ..analysis.network import require_stage
from ..analysis.stage import Stage
from ..analysis.transfer import Transfer
from ..errors import CircuitError, QuantityError
from ..quantities import QuantityLike, read_quantity, write_quantity
from .picture import COLOURS, DASHES, INK, Picture, label_lines, new_axes, quantity_axis

Floats = NDArray[np.float64]
POINTS = 600
DEPTH_DB = 60.0
"""How far below its highest point a gain is drawn, dB."""
LEAST_DEPTH_DB = 20.0
"""A flat gain is drawn on an axis of this height at least, so that it looks flat."""


@dataclass(frozen=True)
class Curve:
    """One response over frequency.

    Attributes
    ----------
    name : str
        Name of the line.
    gain_db : array, shape (points,)
        20 log10 |H|, dB.
    phase : array, shape (points,)
        Degrees.
    """

    name: str
    gain_db: Floats
    phase: Floats


@dataclass(frozen=True)
class ResponseData:
    """Some responses over one frequency axis.

    Attributes
    ----------
    frequency : array, shape (points,)
        Hz, ascending, equally spaced in the logarithm.
    curves : tuple of Curve
        The first one is the one that the marks belong to.
    marks : tuple of (str, float, float)
        Name, frequency in Hz, gain in dB of points worth marking.
    """

    frequency: Floats
    curves: tuple[Curve, ...]
    marks: tuple[tuple[str, float, float], ...]


def sensible_span(transfer: Transfer) -> tuple[float, float]:
    """Return a frequency range in Hz that shows all that happens, in whole decades.

    Parameters
    ----------
    transfer : Transfer
        What will be drawn.
    """
    roots = np.abs(np.concatenate([transfer.poles(), transfer.zeros()])) / (2.0 * math.pi)
    corners = roots[roots > 0]
    if corners.size == 0:
        return 1.0, 1e5
    low = 10.0 ** math.floor(math.log10(corners.min() / 3.0))
    high = 10.0 ** math.ceil(math.log10(max(corners.max() * 20.0, low * 1e4)))
    return low, high


def _in_sight(transfer: Transfer) -> float:
    """Return the decade below which the gain lies under the drawn range, Hz."""
    span = sensible_span(transfer)
    crossed = transfer.crossings(transfer.midband_gain() * 10.0 ** (-DEPTH_DB / 20.0))
    seen = crossed[crossed < transfer.midband.frequency]  # a stage flat down to DC has none
    return max(span[0], 10.0 ** math.floor(math.log10(seen[0]))) if seen.size else span[0]


def response_data(
    transfers: Sequence[tuple[str, Transfer]],
    low: QuantityLike | None = None,
    high: QuantityLike | None = None,
) -> ResponseData:
    """Return the responses of some transfers over one frequency axis.

    Parameters
    ----------
    transfers : sequence of (str, Transfer)
        Names and functions; cut-offs of the first are marked.
    low, high : float or str, optional
        Frequency range in Hz; chosen from the corners unless given.

    Raises
    ------
    QuantityError
        If the range is empty or not positive.
    """
    first = transfers[0][1]
    span = sensible_span(first)
    low = span[0] if low is None else read_quantity(low, "Hz", name="low", low=-math.inf)
    high = span[1] if high is None else read_quantity(high, "Hz", name="high", low=-math.inf)
    if not 0 < low < high:
        raise QuantityError(
            "frequency range", f"{low:g} Hz to {high:g} Hz", allowed="0 < low < high", remedy="Swap the ends."
        )
    frequency = np.geomspace(low, high, POINTS)
    curves = tuple(Curve(n, h.magnitude_db(frequency), h.phase_degrees(frequency)) for n, h in transfers)
    cutoffs = [("low-end cut-off", first.low_cutoff()), ("top-end cut-off", first.high_cutoff())]
    marks = tuple((name, f, float(first.magnitude_db(f))) for name, f in cutoffs if low < f < high)
    return ResponseData(frequency, curves, marks)


def draw_gain(ax: Axes, data: ResponseData, depth: float = DEPTH_DB) -> None:
    """Draw gain over frequency.

    Parameters
    ----------
    ax : Axes
        Where.
    data : ResponseData
        What.
    depth : float
        How far below the highest point the axis reaches, dB.
    """
    top = max(float(curve.gain_db.max()) for curve in data.curves)
    _draw(ax, data, [curve.gain_db for curve in data.curves])
    lowest = min(float(curve.gain_db.min()) for curve in data.curves)
    bottom = max(top - depth, lowest - 0.08 * depth)
    ax.set_ylim(min(bottom, top - LEAST_DEPTH_DB), top + 0.08 * depth)
    ax.set_ylabel("gain, dB", color=INK)
    for name, frequency, gain in data.marks:
        ax.plot(frequency, gain, "o", color=INK, markersize=5)
        left = name.startswith("low")
        ax.annotate(
            f"{name}\n{write_quantity(frequency, 'Hz')}",
            (frequency, gain),
            xytext=(10 if left else -10, -8),
            textcoords="offset points",
            ha="left" if left else "right",
            va="top",
            fontsize=9,
            color=INK,
        )
    _label(ax, data, [curve.gain_db for curve in data.curves])


def draw_phase(ax: Axes, data: ResponseData) -> None:
    """Draw phase over frequency.

    Parameters
    ----------
    ax : Axes
        Where.
    data : ResponseData
        What.
    """
    _draw(ax, data, [curve.phase for curve in data.curves])
    ax.set_ylabel("phase, degrees", color=INK)
    ax.yaxis.set_major_locator(MultipleLocator(45.0))
    ax.margins(y=0.08)


def _draw(ax: Axes, data: ResponseData, heights: list[Floats]) -> None:
    ax.set_xscale("log")
    ax.set_xlim(data.frequency[0], data.frequency[-1])
    for i, height in enumerate(heights):
        (line,) = ax.plot(data.frequency, height, color=COLOURS[i % 5], linewidth=2.0 if i == 0 else 1.6)
        if DASHES[i % 5]:
            line.set_dashes(DASHES[i % 5])
    quantity_axis(ax, "x", "Hz")


def _label(ax: Axes, data: ResponseData, heights: list[Floats]) -> None:
    if len(data.curves) > 1:
        pairs = enumerate(zip(data.curves, heights, strict=True))
        label_lines(ax, [(float(h[-1]), c.name, COLOURS[i % 5]) for i, (c, h) in pairs])


def response_picture(
    stage: Stage, low: QuantityLike | None = None, high: QuantityLike | None = None
) -> Picture:
    """Return gain and phase of a stage from the signal to its output.

    Parameters
    ----------
    stage : Stage
        The stage.
    low, high : float or str, optional
        Frequency range in Hz; from where the gain comes into sight unless given.

    Raises
    ------
    QuantityError
        If the range is empty, or ``stage`` is no stage.
    """
    require_stage(stage)
    whole = stage.transfer("signal", "output")
    data = response_data([("signal to output", whole)], _in_sight(whole) if low is None else low, high)
    figure, (upper, lower) = new_axes(2, height=2.5)
    draw_gain(upper, data)
    draw_phase(lower, data)
    lower.set_xlabel("frequency", color=INK)
    upper.set_title(f"{stage.title}: signal to output", loc="left", fontsize=10, color=INK)
    return Picture(figure, response_text(stage.title, whole))


def response_text(title: str, transfer: Transfer) -> str:
    """Return the numbers of a response in one sentence.

    Parameters
    ----------
    title : str
        Of what.
    transfer : Transfer
        The response.
    """
    gain, low, high = transfer.midband_gain(), transfer.low_cutoff(), transfer.high_cutoff()
    decibels = 20.0 * math.log10(gain)
    parts = [f"{title}: mid-band gain {write_quantity(gain, 'V/V')} ({decibels:.4g} dB)"]
    parts.append(f"low-end cut-off {write_quantity(low, 'Hz')}" if low else "flat down to DC")
    top = "no top-end cut-off" if math.isinf(high) else f"top-end cut-off {write_quantity(high, 'Hz')}"
    parts.append(top)
    return ", ".join(parts) + "."


def sections_picture(
    stage: Stage, low: QuantityLike | None = None, high: QuantityLike | None = None
) -> Picture:
    """Return the gain of the whole stage and of each section of its signal path.

    Parameters
    ----------
    stage : Stage
        The stage.
    low, high : float or str, optional
        Frequency range in Hz.

    Raises
    ------
    QuantityError
        If the range is empty, or ``stage`` is no stage.
    """
    require_stage(stage)
    whole = stage.transfer("signal", "output")
    sections = [(f"{s.start} to {s.end}", s.transfer) for s in stage.sections()]
    data = response_data([("whole stage", whole), *sections], low, high)
    figure, (ax,) = new_axes(1, height=3.6)
    draw_gain(ax, data)
    ax.set_xlabel("frequency", color=INK)
    ax.set_title(f"{stage.title}: sections and whole", loc="left", fontsize=10, color=INK)
    lines = [response_text(name, transfer) for name, transfer in [("whole stage", whole), *sections]]
    return Picture(figure, "\n".join(lines))


def bias_filter_picture(
    stage: Stage, low: QuantityLike | None = None, high: QuantityLike | None = None
) -> Picture:
    """Return how much of the rail's ripple reaches the bias node and the output.

    Parameters
    ----------
    stage : Stage
        The stage.
    low, high : float or str, optional
        Frequency range in Hz.

    Raises
    ------
    QuantityError
        If the range is empty, or ``stage`` is no stage.
    CircuitError
        If no ripple gets through: the bias does not come from the rail.
    """
    require_stage(stage)
    every = [(f"supply to {node}", stage.transfer("supply", node)) for node in ("bias", "output")]
    named = [(name, transfer) for name, transfer in every if not transfer.rational.is_zero]
    if not named:
        raise CircuitError(
            "ripple of the rail",
            "none",
            allowed="a bias that is made from the rail",
            remedy="Nothing is to be drawn: this bias keeps every ripple away from the stage.",
        )
    span = (0.01 if low is None else low, 1e4 if high is None else high)
    data = response_data(named, *span)
    figure, (ax,) = new_axes(1, height=3.2)
    draw_gain(ax, ResponseData(data.frequency, data.curves, ()), depth=100.0)
    ax.set_ylabel("ripple passed on, dB", color=INK)
    ax.set_xlabel("ripple frequency", color=INK)
    ax.set_title(f"{stage.title}: from the rail", loc="left", fontsize=10, color=INK)
    lines = [
        f"{name}: {h.magnitude_db(100.0):.4g} dB at 100 Hz, {h.magnitude_db(1e3):.4g} dB at 1 kHz"
        for name, h in named
    ]
    return Picture(figure, "\n".join(lines))
