"""Bias sources on one stage, side by side: what the rail passes on, and how firm the bias node is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from ..analysis.supply_rejection import SourceState
from ..designing.bias_comparison import BiasComparison, rejection_on
from ..designing.bias_table import spoken
from ..quantities import write_quantity
from .picture import COLOURS, DASHES, INK, Picture, label_lines, new_axes, quantity_axis
from .supply_rejection import RejectionData, draw_passed_on, frequency_axis

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class BiasSourcesData:
    """What bias sources do over frequency.

    Attributes
    ----------
    passed_on : RejectionData
        Rail to output for each bias source.
    impedance : dict of str to array
        Name of the row -> impedance of the bias node, ohm, at the same frequencies.
    """

    passed_on: RejectionData
    impedance: dict[str, Floats]


def bias_sources_data(
    comparison: BiasComparison, source: SourceState = "connected", low: float = 1.0, high: float = 1e6
) -> BiasSourcesData:
    """Return what a picture of bias sources shows.

    Parameters
    ----------
    comparison : BiasComparison
        From `bias_comparison`.
    source : "connected" or "open"
        Whether the signal source is there.
    low, high : float
        Frequency range, Hz.

    Raises
    ------
    QuantityError
        If the range is empty.
    """
    frequency = frequency_axis(low, high)
    passed, impedance = {}, {}
    for row in comparison.rows:
        name = spoken(row.name)
        passed[name] = rejection_on(row.stage, comparison.conditions, source).total.magnitude_db(frequency)
        impedance[name] = np.abs(row.stage.node_impedance("bias")(frequency))
    return BiasSourcesData(RejectionData(frequency, passed, ()), impedance)


def draw_impedance(ax: Axes, frequency: Floats, impedance: dict[str, Floats]) -> None:
    """Draw impedances of the bias node over frequency.

    Parameters
    ----------
    ax : Axes
        Where.
    frequency : array, shape (points,)
        Hz.
    impedance : dict of str to array
        Name -> ohm.
    """
    ax.set_xscale("log")
    ends = []
    for i, (name, ohms) in enumerate(impedance.items()):
        exponent = np.log10(np.maximum(ohms, 1e-6))
        (line,) = ax.plot(frequency, exponent, color=COLOURS[i % 5], linewidth=1.6)
        if DASHES[(i + i // 5) % 5]:
            line.set_dashes(DASHES[(i + i // 5) % 5])
        ends.append((float(exponent[-1]), name, COLOURS[i % 5]))
    low, high = ax.get_ylim()
    decades = np.arange(np.ceil(low), np.floor(high) + 1.0, max(1.0, np.ceil((high - low) / 5.0)))
    ax.set_yticks(decades, [write_quantity(10.0**decade, "ohm", 3) for decade in decades])
    quantity_axis(ax, "x", "Hz")
    ax.set_ylabel("bias node impedance", color=INK)
    label_lines(ax, ends)


def bias_sources_picture(
    comparison: BiasComparison, source: SourceState = "connected", low: float = 1.0, high: float = 1e6
) -> Picture:
    """Return bias sources side by side: rail to output above, impedance of the bias node below.

    Parameters
    ----------
    comparison : BiasComparison
        From `bias_comparison`.
    source : "connected" or "open"
        Whether the signal source is there.
    low, high : float
        Frequency range, Hz.

    Raises
    ------
    QuantityError
        If the range is empty.
    """
    data = bias_sources_data(comparison, source, low, high)
    figure, (upper, lower) = new_axes(2, height=3.0)
    draw_passed_on(upper, data.passed_on, named=False)  # where the op-amp decides, they all end as one
    title = f"rail to output, source {source} (lines as named below)"
    upper.set_title(title, loc="left", fontsize=10, color=INK)
    draw_impedance(lower, data.passed_on.frequency, data.impedance)
    lower.set_xlabel("frequency", color=INK)
    return Picture(figure, "\n".join(bias_sources_text(comparison, source)))


def bias_sources_text(comparison: BiasComparison, source: SourceState) -> list[str]:
    """Return the numbers of a picture, one sentence per bias source.

    Parameters
    ----------
    comparison : BiasComparison
        What was drawn.
    source : "connected" or "open"
        Whether the signal source is there.
    """
    lines = comparison.conditions.lines
    sentences = []
    for row in comparison.rows:
        rejected = row.rejection_db if source == "connected" else row.open_rejection_db
        at_lines = ", ".join(
            f"{-db:.1f} dB at {write_quantity(f, 'Hz')}" for f, db in zip(lines, rejected, strict=True)
        )
        ohms = write_quantity(row.impedance[0], "ohm", 3)
        sentences.append(f"{spoken(row.name)}: passes on {at_lines}; bias node {ohms} at DC")
    return sentences
