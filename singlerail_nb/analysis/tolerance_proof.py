"""Is the extreme at a corner?  Proofs over the whole box, by kind of figure.

- A resting voltage, and a mid-band gain that is flat up to infinity or down to DC, is a real
  quotient that is linear in every part above and below.  Along any one part it cannot turn, so
  walking to the end of each part in turn never loses: its extremes are corners, always.
- A magnitude at a frequency is monotonic in a part if the sensitivity has one sign in the box.
- A cut-off is monotonic in a part if ``|H|`` relative to mid-band is, everywhere in the band between
  the lowest and the highest corner, and |H| over frequency has one slope there.  Then |H| at the ends
  of the band is on the right side of half power for every board, since it is at every corner.

A part whose sign is not proven can move the figure beyond the corners by no more than the largest
sensitivity times half its width: that bound is given instead.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from .stage import Stage
from .tolerance_figures import Cutoff, DroopAt, Figure, Magnitude
from .tolerance_intervals import Box, Enclosure, Reference, TooLargeError, dominant_powers, enclose
from .tolerance_quotients import Interval
from .tolerance_stage_figures import Resting
from .transfer import Transfer

Proof = Literal["linear quotient", "monotonic", "bounded", "tried"]
_MIDDLES = (1.3, 2.0, 4.0, 8.0)
_BANDS = (1e-6, 0.02, 0.1, 0.3)


@dataclass(frozen=True)
class BoxProof:
    """What is known about the extremes of a figure over a box.

    Attributes
    ----------
    kind : str
        "linear quotient": corners, always.  "monotonic": proven in every part.  "bounded": proven
        but for ``excess``.  "tried": corners and random boards were tried, nothing is proven.
    directions : mapping of str to int
        For each part 1 if the figure rises with it, -1 if it falls, 0 if that is not proven.
    excess : float
        How far beyond the corners the figure may lie, as a relative amount; infinity if unknown.
    """

    kind: Proof
    directions: Mapping[str, int]
    excess: float


def prove(stage: Stage, figure: Figure, box: Box, corners: tuple[float, float]) -> BoxProof:
    """Return what can be proven about the extremes of a figure.

    Parameters
    ----------
    stage : Stage
        The nominal stage.
    figure : Figure
        The figure.
    box : mapping of str to (float, float)
        Lowest and highest value of everything that varies.
    corners : (float, float)
        Lowest and highest figure over the corners.
    """
    unknown = BoxProof("tried", dict.fromkeys(box, 0), math.inf)
    parts = {name: limits for name, limits in box.items() if name in stage.parameters}
    if isinstance(figure, Resting):
        return BoxProof("linear quotient", dict.fromkeys(box, 0), 0.0)
    try:
        found = _proof(stage, figure, parts, corners)
    except TooLargeError:  # parts of a network with much feedback are all in one factor
        found = None
    return unknown if found is None else found


def _proof(stage: Stage, figure: Figure, parts: Box, corners: tuple[float, float]) -> BoxProof | None:
    if isinstance(figure, Magnitude):
        return _of_magnitude(stage, figure, parts)
    if isinstance(figure, Cutoff):
        return _of_cutoff(stage, figure, parts, corners)
    return _of_droop(stage, figure, parts) if isinstance(figure, DroopAt) else None


def _of_droop(stage: Stage, figure: DroopAt, parts: Box) -> BoxProof | None:
    """Prove a droop only by a full set of signs; it falls where |H| relative to mid-band rises."""
    transfer, f = stage.transfer("signal", "output"), figure.frequency
    relative = _relative_to_middle(transfer, stage.parameters, parts, (f, f))
    if relative is None:
        return None
    found = _judged({n: Interval(-share.high, -share.low) for n, share in relative.shares.items()}, parts)
    return found if found.kind == "monotonic" else None


def _of_magnitude(stage: Stage, figure: Magnitude, parts: Box) -> BoxProof | None:
    transfer = figure.transfer(stage)
    if figure.frequency is not None:
        f = figure.frequency
        bounds: Mapping[str, Interval] | None = enclose(
            transfer.function, stage.parameters, parts, (f, f)
        ).shares
    elif transfer.midband.frequency in (0.0, math.inf):
        return BoxProof("linear quotient", dict.fromkeys(parts, 0), 0.0)
    else:
        bounds = _middle(transfer, stage.parameters, parts, None)
    return None if bounds is None else _judged(bounds, parts)


def _of_cutoff(stage: Stage, figure: Cutoff, parts: Box, corners: tuple[float, float]) -> BoxProof | None:
    transfer = figure.transfer(stage)
    if not (transfer.midband.stationary and 0.0 < corners[0] <= corners[1] < math.inf):
        return None
    for margin in _BANDS:
        band = (corners[0] / (1.0 + margin), corners[1] * (1.0 + margin))
        found = _relative_to_middle(transfer, stage.parameters, parts, band)
        if found is None:
            return None
        slope = found.slope
        if slope.sign and _held(found, parts, math.log1p(margin)):
            moved = {n: Interval(-s.high, -s.low).over(slope) for n, s in found.shares.items()}
            return _judged(moved, parts)
    return None


def _relative_to_middle(
    transfer: Transfer, numbers: Mapping[str, float], parts: Box, band: tuple[float, float]
) -> Enclosure | None:
    """Return bounds in a band of |H| relative to the board's own mid-band; None if that is not caught."""
    function, f = transfer.function, transfer.midband.frequency
    reference = dominant_powers(function, numbers, f)
    found = enclose(function, numbers, parts, band, reference)
    if f == 0 or math.isinf(f):
        return found
    middle = _middle(transfer, numbers, parts, reference)
    if middle is None:
        return None
    return Enclosure({n: share - middle[n] for n, share in found.shares.items()}, found.slope)


def _held(found: Enclosure, parts: Box, margin: float) -> bool:
    """Tell whether no board can leave the band: parts of unproven sign need a margin to the corners."""
    loose = sum(s.size * _half_width(parts[n]) for n, s in found.shares.items() if s.sign == 0)
    steepness = min(abs(float(np.min(found.slope.low))), abs(float(np.max(found.slope.high))))
    return bool(loose <= steepness * margin)


def _middle(
    transfer: Transfer, numbers: Mapping[str, float], parts: Box, reference: Reference
) -> Mapping[str, Interval] | None:
    """Return bounds at the peak of every board, wherever it lies; None if it is not caught."""
    function, f = transfer.function, transfer.midband.frequency
    for ratio in _MIDDLES:
        below, above = f / ratio, f * ratio
        rising = enclose(function, numbers, parts, (below, below)).slope.sign == 1
        if rising and enclose(function, numbers, parts, (above, above)).slope.sign == -1:
            return enclose(function, numbers, parts, (below, above), reference).shares
    return None


def _judged(bounds: Mapping[str, Interval], parts: Box) -> BoxProof:
    directions = {name: bounds[name].sign if name in bounds else 1 for name in parts}
    loose = [name for name, sign in directions.items() if sign == 0]
    excess = sum(bounds[name].size * _half_width(parts[name]) for name in loose)
    if not math.isfinite(excess):
        return BoxProof("tried", directions, math.inf)
    return BoxProof("bounded" if loose else "monotonic", directions, math.expm1(excess))


def _half_width(limits: tuple[float, float]) -> float:
    return 0.5 * math.log(limits[1] / limits[0])
