"""Crosstalk over frequency: what a channel hears through the bias node."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from matplotlib.axes import Axes

from ..analysis.crosstalk import SourceState, crosstalk
from ..analysis.network import Solvable
from ..errors import require_result
from ..quantities import QuantityLike, read_quantity, write_quantity
from .picture import INK, Picture, new_axes
from .supply_rejection import RejectionData, draw_passed_on, frequency_axis


def crosstalk_data(
    stages: Mapping[str, Solvable],
    low: QuantityLike = 10.0,
    high: QuantityLike = 20e3,
    *,
    source: SourceState = "connected",
) -> RejectionData:
    """Return what the first channel of some stages hears of the second, dB; without those that hear nothing.

    Parameters
    ----------
    stages : mapping of str to Stage or Network
        Stages with two channels or more, by the name beside their curve.
    low, high : float or str
        Frequency range, Hz.
    source : "connected" or "open"
        Whether the listening channel has its signal source.

    Raises
    ------
    QuantityError
        If the range is empty.
    UnknownNameError
        If a stage has one channel only.
    """
    frequency = frequency_axis(low, high)
    heard = {n: crosstalk(stage, source=source).magnitude_db(frequency) for n, stage in stages.items()}
    return RejectionData(frequency, {n: h for n, h in heard.items() if np.isfinite(h).all()}, ())


def draw_crosstalk(ax: Axes, data: RejectionData, depth: float = 120.0) -> None:
    """Draw crosstalk, dB; at 0 dB a channel hears the other as loud as itself.

    Parameters
    ----------
    ax : Axes
        Where.
    data : RejectionData
        From `crosstalk_data`.
    depth : float
        How far below the highest point the axis reaches, dB.
    """
    draw_passed_on(ax, data, depth)
    ax.set_ylabel("heard of the other, dB", color=INK)
    ax.set_xlabel("frequency", color=INK)


def crosstalk_picture(
    stages: Mapping[str, Solvable],
    low: QuantityLike = 10.0,
    high: QuantityLike = 20e3,
    *,
    source: SourceState = "connected",
    at: QuantityLike = 100.0,
) -> Picture:
    """Return what one channel hears of the other over frequency.

    Parameters
    ----------
    stages : mapping of str to Stage or Network
        Stages with two channels or more, by the name beside their curve.
    low, high : float or str
        Frequency range, Hz.
    source : "connected" or "open"
        Whether the listening channel has its signal source.
    at : float or str
        Frequency of the numbers in the text, Hz.

    Raises
    ------
    QuantityError
        If there are no names with results, or the range is empty.
    UnknownNameError
        If a stage has one channel only.
    """
    require_result(stages, Mapping, 'crosstalk_picture({"name": stage})')
    f = read_quantity(at, "Hz", name="at")
    data = crosstalk_data(stages, low, high, source=source)
    figure, (ax,) = new_axes(1, height=3.4)
    draw_crosstalk(ax, data)
    title = f"one channel heard in the other, listening source {source}"
    ax.set_title(title, loc="left", fontsize=10, color=INK)
    levels = {name: crosstalk(stage, source=source).magnitude_db(f) for name, stage in stages.items()}
    words = {name: f"{db:.4g} dB" if np.isfinite(db) else "nothing" for name, db in levels.items()}
    numbers = [f"{name}: {level} at {write_quantity(f, 'Hz')}" for name, level in words.items()]
    return Picture(figure, "\n".join([title, *numbers]))
