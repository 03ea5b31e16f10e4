"""The rail over time, and what follows from it: output limits and references."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..errors import QuantityError
from .state_equations import Floats
from .state_space import HIGH, LOW, StateSpace


@dataclass(frozen=True)
class Rail:
    """The supply voltage over time, in straight lines between points; constant after the last.

    Attributes
    ----------
    points : tuple of (float, float)
        (time in s, voltage in V); times ascend from 0, and two points of one time are a step.

    Raises
    ------
    QuantityError
        If the times do not ascend from 0, or a voltage is negative.
    """

    points: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        times = [time for time, _ in self.points]
        if not times or times[0] != 0 or not all(a <= b < math.inf for a, b in pairwise([0.0, *times])):
            raise QuantityError(
                "rail profile",
                f"times {times}",
                allowed="times in seconds that ascend from 0",
                remedy="Start the profile at 0 s and sort its points; repeat a time to make a step.",
            )
        for time, volts in self.points:
            if not 0 <= volts < math.inf:
                raise QuantityError(
                    "rail profile",
                    f"{volts:g} V at {time:g} s",
                    allowed="0 V or more",
                    remedy="A reversed rail is outside the model: clip the profile at 0 V.",
                )

    @classmethod
    def ramp(cls, supply: float, ramp_time: float) -> Rail:
        """Return a rail that rises from 0 V in a straight line, or at once.

        Parameters
        ----------
        supply : float
            Final voltage, V.
        ramp_time : float
            Seconds from 0 V to the final voltage; 0 is a step.

        Raises
        ------
        QuantityError
            If the time is negative or not finite.
        """
        if not 0 <= ramp_time < math.inf:
            raise QuantityError(
                "ramp_time",
                f"{ramp_time:g} s",
                allowed="0 s or more",
                remedy="Give the rise time of the rail; 0 is a step.  A falling rail is a profile.",
            )
        return cls(((0.0, 0.0), (ramp_time, supply)))

    @property
    def highest(self) -> float:
        """Highest voltage of the rail, V."""
        return max(volts for _, volts in self.points)

    @property
    def last_change(self) -> float:
        """Time of the last point, s."""
        return self.points[-1][0]


@dataclass(frozen=True)
class Limits:
    """How far from each rail an op-amp output and a reference must stay.

    Attributes
    ----------
    low, high : float
        Lowest output above ground and highest output below the rail, V.
    dropout : float
        Lowest distance of a reference below the rail, V.

    Raises
    ------
    QuantityError
        If one is negative.
    """

    low: float
    high: float
    dropout: float

    def __post_init__(self) -> None:
        for name in ("low", "high", "dropout"):
            value = getattr(self, name)
            if not 0 <= value < math.inf:
                raise QuantityError(
                    name, f"{value:g} V", allowed="0 V or more", remedy="Give the distance from the rail."
                )

    def low_at(self, rail: float) -> float:
        """Return the lowest output at a rail voltage, V.

        Parameters
        ----------
        rail : float
            V.
        """
        return min(self.low, rail)

    def high_at(self, rail: float) -> float:
        """Return the highest output at a rail voltage, V; a rail too low for any swing pins it low.

        Parameters
        ----------
        rail : float
            V.
        """
        return max(rail - self.high, self.low_at(rail))

    def regulated_at(self, rail: float, level: float) -> float:
        """Return what a reference gives at a rail voltage, V.

        Parameters
        ----------
        rail, level : float
            Rail and nominal level, V.
        """
        return min(level, max(rail - self.dropout, 0.0))


@dataclass(frozen=True)
class InputPiece:
    """Inputs that change in a straight line: w = start_value + slope (t - start).

    Attributes
    ----------
    start, end : float
        s; the last piece ends at infinity.
    value, slope : ndarray, shape (inputs,)
        V and V/s.
    """

    start: float
    end: float
    value: Floats
    slope: Floats

    def at(self, time: float) -> Floats:
        """Return the inputs at a time.

        Parameters
        ----------
        time : float
            s.
        """
        return self.value + self.slope * (time - self.start)


def input_pieces(space: StateSpace, rail: Rail, limits: Limits) -> list[InputPiece]:
    """Return the inputs of a stage over time, in straight pieces.

    Parameters
    ----------
    space : StateSpace
        The stage.
    rail : Rail
        Its supply over time.
    limits : Limits
        What follows the rail at a distance.
    """

    def inputs(volts: float) -> Floats:
        return np.array([_input(space, name, volts, limits) for name in space.inputs])

    kinks = {limits.low, limits.low + limits.high, limits.dropout}
    kinks |= {level + limits.dropout for level in space.stage.levels.values()}
    pieces = []
    for (start, v0), (end, v1) in pairwise(_with_kinks(rail.points, sorted(kinks))):
        if end > start:
            value = inputs(v0)
            pieces.append(InputPiece(start, end, value, (inputs(v1) - value) / (end - start)))
    last = inputs(rail.points[-1][1])
    return [*pieces, InputPiece(rail.last_change, math.inf, last, np.zeros_like(last))]


def _input(space: StateSpace, name: str, rail: float, limits: Limits) -> float:
    if name == "supply":
        return rail
    if name in (LOW, HIGH):
        return limits.low_at(rail) if name == LOW else limits.high_at(rail)
    kind = space.circuit.source(name).kind
    level = space.stage.levels.get(name, 0.0)  # the signal source rests at 0 V
    return limits.regulated_at(rail, level) if kind == "regulated" else level


def _with_kinks(points: Sequence[tuple[float, float]], kinks: Iterable[float]) -> list[tuple[float, float]]:
    """Return the profile with a point wherever the rail crosses a voltage at which an input bends."""
    result = [points[0]]
    for (t0, v0), (t1, v1) in pairwise(points):
        between = [v for v in kinks if min(v0, v1) < v < max(v0, v1)]
        ordered = between if v1 > v0 else between[::-1]
        result += [(t0 + (t1 - t0) * (v - v0) / (v1 - v0), v) for v in ordered]
        result.append((t1, v1))
    return result
