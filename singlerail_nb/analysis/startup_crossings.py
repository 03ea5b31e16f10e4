"""When an output of an exact solution crosses a level, turns around or leaves a range."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .startup_segments import Outputs, Segment
from .state_equations import Floats


def first_below_zero(segment: Segment, guards: Outputs, tolerance: float) -> float | None:
    """Return the time after the start at which the first guard falls below zero, None if none does.

    Parameters
    ----------
    segment : Segment
        Where to look.
    guards : Outputs
        Functions that must stay at or above zero.
    tolerance : float
        Rounding to overlook, V.
    """
    tau = segment.grid
    y, rate = segment.outputs(tau, guards)
    if y.min(initial=0.0) >= -tolerance and not _may_dip(tau, y, rate, tolerance):
        return None
    found: list[tuple[float, float, int]] = []
    for k in range(y.shape[1]):
        below = np.flatnonzero(y[:, k] < -tolerance)
        stop = below[0] if len(below) else len(tau)
        dip = _dip(segment, guards, k, tau[:stop], y[:stop, k], rate[:stop, k], tolerance)
        if dip is not None:
            found.append((*dip, k))
        elif stop == 0:
            return 0.0
        elif stop < len(tau):
            found.append((float(tau[stop - 1]), float(tau[stop]), k))
    times = [zero_between(segment, _one(guards, k), a, b) for a, b, k in found]
    return min(times, default=None)


def _one(outputs: Outputs, k: int) -> Outputs:
    return Outputs(outputs.c[k : k + 1], outputs.d[k : k + 1], outputs.f[k : k + 1])


def _lowest_possible(tau: Floats, y: Floats, rate: Floats) -> Floats:
    """Return where the tangents at both ends of each step meet, if it turns upwards in between."""
    with np.errstate(divide="ignore", invalid="ignore"):
        s = (y[1:] - y[:-1] - rate[1:] * np.diff(tau)[:, np.newaxis]) / (rate[:-1] - rate[1:])
        return np.where((rate[:-1] < 0) & (rate[1:] > 0), y[:-1] + rate[:-1] * s, np.inf)


def _may_dip(tau: Floats, y: Floats, rate: Floats, tolerance: float) -> bool:
    return bool(np.any(_lowest_possible(tau, y, rate) < -tolerance))


def _dip(
    segment: Segment, guards: Outputs, k: int, tau: Floats, y: Floats, rate: Floats, tolerance: float
) -> tuple[float, float] | None:
    """Return a bracket of a crossing that hides between two times at which the guard is positive."""
    lowest_possible = _lowest_possible(tau, y[:, np.newaxis], rate[:, np.newaxis])[:, 0]
    for i in np.flatnonzero(lowest_possible < -tolerance):
        lowest = extreme_between(segment, _one(guards, k), tau[i], tau[i + 1])
        if segment.outputs(np.array([lowest]), _one(guards, k))[0][0, 0] < -tolerance:
            return float(tau[i]), lowest
    return None


def turning_points(rate: Floats, *, rising: bool) -> NDArray[np.intp]:
    """Return the indices i at which a rate changes sign between i and i + 1.

    Parameters
    ----------
    rate : ndarray, shape (times,)
        Rate of change of some output.
    rising : bool
        True for lowest points (from falling to rising), False for highest points.
    """
    sign = rate if rising else -rate
    return np.flatnonzero((sign[:-1] < 0) & (sign[1:] > 0))


def with_extremes(segment: Segment, output: Outputs) -> tuple[Floats, Floats]:
    """Return times and values of an output: the grid of the segment and every extreme between.

    Parameters
    ----------
    segment : Segment
        Where to look.
    output : Outputs
        One output.
    """
    tau = segment.grid
    y, rate = (values[:, 0] for values in segment.outputs(tau, output))
    smallest = 1e-12 * np.abs(y).max(initial=0.0)
    turns = [*turning_points(rate, rising=True), *turning_points(rate, rising=False)]
    reach = [max(abs(rate[i]), abs(rate[i + 1])) * (tau[i + 1] - tau[i]) for i in turns]
    extremes = [
        extreme_between(segment, output, tau[i], tau[i + 1])
        for i, most in zip(turns, reach, strict=True)
        if most > smallest
    ]
    if not extremes:
        return tau, y
    together = np.unique(np.concatenate([tau, extremes]))
    return together, segment.outputs(together, output)[0][:, 0]


def last_outside(segment: Segment, output: Outputs, final: float, distance: float) -> float | None:
    """Return the last time after the start at which an output is further away than allowed.

    Parameters
    ----------
    segment : Segment
        Where to look.
    output : Outputs
        One output.
    final, distance : float
        Where it settles and how far from it counts as settled, V.
    """
    tau, y = with_extremes(segment, output)
    outside = np.flatnonzero(np.abs(y - final) > distance)
    if not len(outside):
        return None
    last = int(outside[-1])
    if last == len(tau) - 1:
        return float(tau[-1])
    level = final + math.copysign(distance, y[last] - final)
    return zero_between(segment, output, tau[last], tau[last + 1], level)


def intervals_below_zero(segment: Segment, output: Outputs) -> list[tuple[float, float]]:
    """Return the stretches of time, from the rail's start on, in which an output is negative.

    Parameters
    ----------
    segment : Segment
        Where to look.
    output : Outputs
        One output.
    """
    tau, y = with_extremes(segment, output)
    negative = y < -1e-9
    edges = np.flatnonzero(negative[1:] != negative[:-1])
    times = [zero_between(segment, output, tau[i], tau[i + 1]) for i in edges]
    if negative[0]:
        times.insert(0, 0.0)
    if negative[-1]:
        times.append(segment.end - segment.start)
    return [(segment.start + a, segment.start + b) for a, b in zip(times[::2], times[1::2], strict=True)]


def zero_between(segment: Segment, output: Outputs, a: float, b: float, level: float = 0.0) -> float:
    """Return the time after the start at which an output crosses a level, between two times.

    Newton's method, kept inside a bracket that every step shrinks.

    Parameters
    ----------
    segment : Segment
        Where to look.
    output : Outputs
        One output.
    a, b : float
        Times after the start, s, with the level in between.
    level : float
        V.
    """
    return _root(segment, output, a, b, level, of_rate=False)


def extreme_between(segment: Segment, output: Outputs, a: float, b: float) -> float:
    """Return the time after the start at which an output is highest or lowest, between two times.

    Parameters
    ----------
    segment : Segment
        Where to look.
    output : Outputs
        One output.
    a, b : float
        Times after the start, s, at which its rates of change have opposite signs.
    """
    return _root(segment, output, a, b, 0.0, of_rate=True)


def _root(segment: Segment, output: Outputs, a: float, b: float, level: float, *, of_rate: bool) -> float:
    function = segment.function_of_time(output)

    def value(t: float) -> tuple[float, float]:
        y, rate, bend = function(t)
        return (rate, bend) if of_rate else (y - level, rate)

    sign = math.copysign(1.0, value(b)[0])
    t = 0.5 * (a + b)
    for _ in range(200):
        y, slope = value(t)
        if y * sign > 0:
            b = t
        else:
            a = t
        new = t - y / slope if slope else math.nan
        if not a <= new <= b:
            new = 0.5 * (a + b)
        if abs(new - t) <= 1e-15 * b or b - a <= 1e-15 * b:
            return float(new)
        t = new
    return float(t)
