"""Extreme values: every corner of the box, and whether that settles the matter."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ..quantities import write_quantity
from .boards import Floats
from .sensitivity import sensitivities
from .stage import Stage
from .tolerance_catalogue import nominal_value
from .tolerance_figures import Figure, Measured
from .tolerance_inputs import ToleranceSet
from .tolerance_proof import BoxProof, prove
from .tolerance_stage_figures import Settling

MOST_PARTS = 13
"""Parts whose corners are all combined; of more parts the weakest go where they do most harm."""
_MOST_SLOW_PARTS = 4
_TRIED, _TRIED_SLOW = 2000, 16


@dataclass(frozen=True)
class Extreme:
    """The lowest and the highest value of a figure over all boards within tolerance.

    Attributes
    ----------
    figure : Figure
        The figure.
    nominal, lowest, highest : float
        With nominal parts, and over the corners, in its unit.
    low_corner, high_corner : mapping of str to float
        The part values at which they occur, SI units.
    proof : BoxProof
        Whether a board inside the box can be worse.
    corners : int
        How many corners were looked at.
    complete : bool
        True if that was all of them.
    """

    figure: Figure
    nominal: float
    lowest: float
    highest: float
    low_corner: Mapping[str, float]
    high_corner: Mapping[str, float]
    proof: BoxProof
    corners: int
    complete: bool

    @property
    def limits(self) -> tuple[float, float]:
        """Lowest and highest value over the corners."""
        return self.lowest, self.highest

    @property
    def bounds(self) -> tuple[float, float]:
        """What no board can exceed; minus infinity to infinity if that is not proven."""
        if not math.isfinite(self.proof.excess):
            return -math.inf, math.inf
        grow = 1.0 + self.proof.excess
        low, high = min(self.lowest / grow, self.lowest * grow), self.highest
        return low, max(high * grow, high / grow)

    @property
    def is_proven(self) -> bool:
        """True if no board within tolerance can lie beyond the corners."""
        return self.proof.excess == 0.0

    @property
    def verdict(self) -> str:
        """What is proven, in words."""
        if self.proof.kind == "linear quotient":
            return "proven: a quotient that is linear in every part has its extremes at corners"
        if self.proof.kind == "monotonic":
            return "proven: monotonic in every part over the whole box"
        loose = ", ".join(name for name, sign in self.proof.directions.items() if sign == 0)
        if self.proof.kind == "bounded":
            return (
                f"bounded: no board lies more than {write_quantity(self.proof.excess, '%', 2)} beyond the "
                f"corners ({loose} not proven monotonic)"
            )
        return f"not proven: {self.corners} corners and random boards were tried"

    def __repr__(self) -> str:
        low, high = (write_quantity(v, self.figure.unit) for v in self.limits)
        nominal = write_quantity(self.nominal, self.figure.unit)
        return f"{self.figure.label}: {low} to {high}, nominal {nominal} ({self.verdict})"


def extreme(tolerances: ToleranceSet, figure: Figure) -> Extreme:
    """Return the extreme values of a figure over all corners, with what is proven about them.

    Parameters
    ----------
    tolerances : ToleranceSet
        The stage and its tolerances.
    figure : Figure
        The figure.
    """
    stage, box = tolerances.stage, tolerances.box
    nominal = nominal_value(stage, figure)
    if not box:
        proof = BoxProof("monotonic", {}, 0.0)
        return Extreme(figure, nominal, nominal, nominal, {}, {}, proof, 1, complete=True)
    values, complete = _corners(tolerances, figure)
    found = figure.on(Measured(stage, values))
    low, high = int(np.argmin(found)), int(np.argmax(found))
    limits = float(found[low]), float(found[high])
    proof = prove(stage, figure, box, limits)
    if not complete and proof.kind != "monotonic":
        proof = BoxProof("tried", proof.directions, math.inf)  # the worst corner may have been left out
    if proof.kind == "tried":
        limits = _tried(stage, figure, box, limits)
    at_low, at_high = ({name: float(v[i]) for name, v in values.items()} for i in (low, high))
    return Extreme(figure, nominal, *limits, at_low, at_high, proof, len(found), complete)


def _corners(tolerances: ToleranceSet, figure: Figure) -> tuple[dict[str, Floats], bool]:
    """Return corner values, shape (corners,), and whether they are all of them."""
    box = tolerances.box
    most = _MOST_SLOW_PARTS if isinstance(figure, Settling) else MOST_PARTS
    names = list(box)
    signs: Mapping[str, float] = {}
    if len(names) > most:
        signs = sensitivities(tolerances.stage, figure).shares
        names.sort(key=lambda n: -abs(signs[n]) * math.log(box[n][1] / box[n][0]))
    strong, weak = names[:most], names[most:]
    bits = np.indices((2,) * len(strong)).reshape(len(strong), -1)
    values = {name: np.array(box[name])[bits[i]] for i, name in enumerate(strong)}
    if weak:
        values = {name: np.tile(v, 2) for name, v in values.items()}
        half = bits.shape[1]
        for name in weak:
            down, up = box[name] if signs[name] >= 0 else box[name][::-1]
            values[name] = np.repeat([down, up], half)
    return {name: values[name] for name in box}, not weak


def _tried(
    stage: Stage, figure: Figure, box: Mapping[str, tuple[float, float]], limits: tuple[float, float]
) -> tuple[float, float]:
    """Return the limits widened by what random boards inside the box give."""
    boards = _TRIED_SLOW if isinstance(figure, Settling) else _TRIED
    generator = np.random.default_rng(0)
    inside = {name: generator.uniform(*ends, boards) for name, ends in box.items()}
    found = figure.on(Measured(stage, inside))
    return min(limits[0], float(np.min(found))), max(limits[1], float(np.max(found)))
