"""The lowest and the highest voltage of a start-up, and when."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .startup_crossings import with_extremes
from .startup_segments import Outputs, Segment


@dataclass(frozen=True)
class Extreme:
    """A lowest or highest voltage.

    Attributes
    ----------
    volts : float
        V.
    time : float
        When, s.
    """

    volts: float
    time: float


def extremes(segments: Sequence[Segment], outputs: Sequence[Outputs]) -> tuple[Extreme, Extreme]:
    """Return the lowest and the highest value of an output over all time.

    Parameters
    ----------
    segments : sequence of Segment
        The pieces of a start-up.
    outputs : sequence of Outputs
        One per segment, as from ``run.node_outputs(node)``.
    """
    found: list[Extreme] = []
    for segment, output in zip(segments, outputs, strict=True):
        tau, y = with_extremes(segment, output)
        found += [Extreme(float(y[i]), segment.start + float(tau[i])) for i in (y.argmin(), y.argmax())]
    return min(found, key=lambda e: e.volts), max(found, key=lambda e: e.volts)
