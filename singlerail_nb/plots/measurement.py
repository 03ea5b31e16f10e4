"""Measured points over the prediction and its tolerance band."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from ..errors import require_result
from ..measurement.comparison import Comparison
from ..measurement.fit_result import Fit
from .picture import COLOURS, DASHES, GRID, INK, Picture, new_axes, quantity_axis

Floats = NDArray[np.float64]
_POINTS = 400
_MOST_DOTS = 2000


@dataclass(frozen=True)
class ComparisonData:
    """What a comparison picture shows; levels in ``unit``.

    Attributes
    ----------
    at, measured, difference : array, shape (points,)
        Where (Hz or s), what was measured, and that minus the prediction; of a long record every so
        many points.
    inside : array of bool, shape (points,)
        Which points lie in the band.
    curve_at, predicted, low, high : array, shape (curve points,)
        The prediction and its band.
    fitted : array, shape (curve points,), or None
        With fitted parts.
    unit : str
        "dB" or "V".
    """

    at: Floats
    measured: Floats
    difference: Floats
    inside: NDArray[np.bool_]
    curve_at: Floats
    predicted: Floats
    low: Floats
    high: Floats
    fitted: Floats | None
    unit: str


def comparison_data(comparison: Comparison, fit: Fit | None = None) -> ComparisonData:
    """Return the data of a comparison picture.

    Parameters
    ----------
    comparison : Comparison
        From `compare`.
    fit : Fit, optional
        From ``comparison.fit()``: its curve is drawn too.
    """
    at = comparison.at
    every = slice(None, None, -(-at.size // _MOST_DOTS))
    space = np.geomspace if comparison.unit == "dB" else np.linspace
    curve_at = space(at[0], at[-1], _POINTS)
    fitted = None if fit is None else comparison.predicted_with(fit.values, curve_at)
    low, high = comparison.band_at(curve_at)
    return ComparisonData(
        at[every], comparison.measured[every], comparison.difference[every], comparison.inside[every],
        curve_at, comparison.predicted_with({}, curve_at), low, high, fitted, comparison.unit,
    )  # fmt: skip


def draw_comparison(ax: Axes, data: ComparisonData) -> None:
    """Draw band, prediction, fit and measured points; points outside the band are crosses.

    Parameters
    ----------
    ax : Axes
        Where.
    data : ComparisonData
        What.
    """
    _axis(ax, data)
    ax.fill_between(data.curve_at, data.low, data.high, color=GRID, label="parts within tolerance", zorder=1)
    ax.plot(data.curve_at, data.predicted, color=COLOURS[0], linewidth=1.8, label="nominal parts", zorder=3)
    if data.fitted is not None:
        _dashed(ax, data, data.fitted)
    _dots(ax, data, data.measured)
    ax.set_ylabel("gain, dB" if data.unit == "dB" else "volts", color=INK)
    ax.legend(fontsize=9, frameon=False, labelcolor=INK)


def draw_difference(ax: Axes, data: ComparisonData) -> None:
    """Draw measured minus predicted in its band, which shows what the whole curve hides.

    Parameters
    ----------
    ax : Axes
        Where.
    data : ComparisonData
        What.
    """
    _axis(ax, data)
    low, high = data.low - data.predicted, data.high - data.predicted
    ax.fill_between(data.curve_at, low, high, color=GRID, zorder=1)
    ax.axhline(0.0, color=COLOURS[0], linewidth=1.8, zorder=2)
    if data.fitted is not None:
        _dashed(ax, data, data.fitted - data.predicted)
    _dots(ax, data, data.difference)
    ax.set_ylabel(f"difference, {data.unit}", color=INK)


def _axis(ax: Axes, data: ComparisonData) -> None:
    if data.unit == "dB":
        ax.set_xscale("log")
    ax.set_xlim(data.curve_at[0], data.curve_at[-1])
    quantity_axis(ax, "x", "Hz" if data.unit == "dB" else "s")


def _dashed(ax: Axes, data: ComparisonData, heights: Floats) -> None:
    (line,) = ax.plot(data.curve_at, heights, color=COLOURS[1], linewidth=1.6, label="fitted", zorder=3)
    line.set_dashes(DASHES[1])


def _dots(ax: Axes, data: ComparisonData, heights: Floats) -> None:
    for chosen, mark, label in ((data.inside, "o", "measured"), (~data.inside, "x", "measured, outside")):
        if chosen.any():
            ax.plot(
                data.at[chosen], heights[chosen], mark, color=INK, markersize=4, label=label, zorder=4,
                markerfacecolor="none",
            )  # fmt: skip


def comparison_picture(comparison: Comparison, fit: Fit | None = None) -> Picture:
    """Return measured points over the prediction and its band, and their difference below.

    Parameters
    ----------
    comparison : Comparison
        From `compare`.
    fit : Fit, optional
        From ``comparison.fit()``: its curve is drawn too.

    Raises
    ------
    QuantityError
        If it is no comparison, or no fit.
    """
    require_result(comparison, Comparison, "comparison_picture(sr.compare(stage, data))")
    if fit is not None:
        require_result(fit, Fit, "comparison.fit()")
    data = comparison_data(comparison, fit)
    figure, (upper, lower) = new_axes(2, height=2.6)
    draw_comparison(upper, data)
    draw_difference(lower, data)
    lower.set_xlabel("frequency" if data.unit == "dB" else "time after power comes on", color=INK)
    title = f"{comparison.stage.title}: measured at {comparison.node}"
    upper.set_title(title, loc="left", fontsize=10, color=INK)
    return Picture(figure, comparison.text + ("" if fit is None else f"\n{fit.text}"))
