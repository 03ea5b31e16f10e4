"""What a level shift gives at its two end points: chosen parts, tolerances, lowest rail."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from ..circuit.circuit import Circuit
from ..quantities import write_quantity
from .shift_checks import ROUNDING, Span, Wanted
from .shift_parts import dc_line


@dataclass(frozen=True)
class EndPoint:
    """One end of the line.

    Attributes
    ----------
    input, wanted : float
        The point that was asked for, V.
    output : float
        What the chosen parts give at the nominal rail, V.
    lowest, highest : float
        Extremes over the tolerances at the lowest rail, V.
    window : (float, float)
        Lowest and highest possible output at the lowest rail, V.
    """

    input: float
    wanted: float
    output: float
    lowest: float
    highest: float
    window: Span

    @property
    def error(self) -> float:
        """Output with the chosen parts less what was wanted, V; 0 where only rounding is left."""
        return self._without_rounding(self.output - self.wanted)

    @property
    def fits(self) -> bool:
        """Whether the extremes stay in the window."""
        return self.window[0] <= self.lowest and self.highest <= self.window[1]

    def _without_rounding(self, volts: float) -> float:
        return 0.0 if abs(volts) < ROUNDING * max(map(abs, self.window)) else volts

    @property
    def row(self) -> tuple[str, ...]:
        """Input, wanted, output, error, extremes and window, for a table."""
        low, high = (write_quantity(volts, "V") for volts in self.window)
        numbers = (self.input, self.wanted, self.output, self.error, self.lowest, self.highest)
        verdict = "" if self.fits else ", outside"
        shown = (write_quantity(self._without_rounding(volts), "V") for volts in numbers)
        return (*shown, f"{low} to {high}{verdict}")

    def __str__(self) -> str:
        x, wanted, output, error, lowest, highest, window = self.row
        return (
            f"{x} -> {output} (wanted {wanted}, error {error}; with tolerances {lowest} to {highest}, "
            f"window {window})"
        )


def end_points(
    circuit: Circuit,
    values: Mapping[str, float],
    wanted: Wanted,
    tolerance: float,
    reference_tolerance: float,
) -> tuple[EndPoint, ...]:
    """Return what comes out at the two end points.

    The line is monotonic in every resistor and in the reference, so its extremes lie at corners.

    Parameters
    ----------
    circuit : Circuit
        The resistors.
    values : mapping of str to float
        Their values, ohm.
    wanted : Wanted
        What was asked for.
    tolerance, reference_tolerance : float
        Of the resistors and of the reference, ratios.
    """
    slope, intercept = dc_line(circuit, values, wanted.reference)
    corners, references = _corners(circuit, values, wanted, tolerance, reference_tolerance)
    slopes, intercepts = dc_line(circuit, corners, references)
    ends = []
    for x, y in wanted.points:
        spread = slopes * x + intercepts
        nominal = float(slope[0] * x + intercept[0])
        ends.append(EndPoint(x, y, nominal, float(spread.min()), float(spread.max()), wanted.window))
    return tuple(ends)


def _corners(
    circuit: Circuit,
    values: Mapping[str, float],
    wanted: Wanted,
    tolerance: float,
    reference_tolerance: float,
) -> tuple[dict[str, float | NDArray[np.float64]], NDArray[np.float64]]:
    """Return every combination of extreme resistors and reference; the source keeps its value."""
    moved = [name for name in circuit.part_names if name != "r_source"]
    signs = np.array(list(product((-1.0, 1.0), repeat=len(moved) + 1))).T
    corners: dict[str, float | NDArray[np.float64]] = dict(values)
    for name, sign in zip(moved, signs, strict=False):
        corners[name] = values[name] * (1.0 + tolerance * sign)
    return corners, wanted.reference_at_lowest_rail * (1.0 + reference_tolerance * signs[-1])
