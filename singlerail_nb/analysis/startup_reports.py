"""What a start-up does to the load, to op-amp inputs and to capacitors."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..errors import QuantityError
from .startup_crossings import intervals_below_zero
from .startup_extremes import Extreme, extremes
from .startup_run import Startup
from .startup_segments import Outputs, Segment


@dataclass(frozen=True)
class Thump:
    """What the load feels while the stage wakes up.

    Attributes
    ----------
    peak : Extreme
        The voltage furthest from 0 V, with its sign (Vp).
    energy : float
        Heat in the load over all time, J; 0 without a load.
    """

    peak: Extreme
    energy: float


@dataclass(frozen=True)
class Violation:
    """A time during which an op-amp input was outside its range.

    Attributes
    ----------
    node : str
        The input.
    side : "low" or "high"
        Which end of the range.
    start, end : float
        s.
    """

    node: str
    side: str
    start: float
    end: float


def thump(run: Startup, node: str = "output") -> Thump:
    """Return the largest voltage and the energy at the load.

    Parameters
    ----------
    run : Startup
        The start-up.
    node : str
        The node of the load.

    Raises
    ------
    UnknownNameError
        If the node does not exist.
    """
    outputs = run.node_outputs(node)
    peak = max(extremes(run.segments, outputs), key=lambda e: abs(e.volts))
    load = run.stage.values.get("r_load")
    if load is None or run.stage.circuit.node("output") != run.stage.circuit.node(node):
        return Thump(peak, 0.0)
    if abs(run.final_voltage(node)) > 1e-9 * run.rail.highest:
        return Thump(peak, math.inf)  # DC in the load never ends
    return Thump(peak, sum(_square_integral(s, o) for s, o in zip(run.segments, outputs, strict=True)) / load)


_POINTS, _WEIGHTS = np.polynomial.legendre.leggauss(5)


def _square_integral(segment: Segment, output: Outputs) -> float:
    """Return the integral of y^2: Gauss's rule on the grid, whose steps follow the exponentials."""
    tau = segment.grid
    half = 0.5 * np.diff(tau)
    at = (tau[:-1] + half)[:, np.newaxis] + half[:, np.newaxis] * _POINTS
    y = segment.outputs(at.ravel(), output)[0].reshape(at.shape)
    return float(np.sum(half * (y**2 @ _WEIGHTS)))


def reverse_voltages(run: Startup) -> dict[str, Extreme]:
    """Return the capacitors that see a reverse voltage, with the worst of it.

    Parameters
    ----------
    run : Startup
        The start-up.

    Returns
    -------
    dict of str to Extreme
        Capacitor -> most negative voltage from its first node to its second.
    """
    worst = {
        part.name: extremes(run.segments, [run.capacitor_output(part.name)] * len(run.segments))[0]
        for part in run.space.capacitors
    }
    rounding = 1e-9 * run.rail.highest
    return {name: extreme for name, extreme in worst.items() if extreme.volts < -rounding}


def input_violations(
    run: Startup, *, low: float | None = None, high: float | None = None, opamp: str = "opamp"
) -> tuple[Violation, ...]:
    """Return when the inputs of an op-amp are outside their range, in order of time.

    Parameters
    ----------
    run : Startup
        The start-up.
    low, high : float, optional
        Range: distance inwards from ground and from the rail, V; negative when it reaches beyond.
        Without them the figures of the stage's op-amp.
    opamp : str
        Name of the op-amp in the circuit.

    Raises
    ------
    UnknownNameError
        If there is no such op-amp.
    QuantityError
        If the range is not known.
    """
    inputs = run.stage.circuit.opamp(opamp)
    record = run.stage.opamp
    low = record.common_mode_low if low is None and record is not None else low
    high = record.common_mode_high if high is None and record is not None else high
    if low is None or high is None:
        raise QuantityError(
            "input range",
            "not given",
            allowed="distances from both rails in volts",
            remedy="Give low and high, or a stage with an op-amp record.",
        )
    found: list[Violation] = []
    for node in dict.fromkeys((inputs.plus, inputs.minus)):
        found += _outside(run, node, "low", -low, rail=0.0)
        found += _outside(run, node, "high", -high, rail=1.0)
    return tuple(sorted(found, key=lambda violation: violation.start))


def _outside(run: Startup, node: str, side: str, offset: float, *, rail: float) -> list[Violation]:
    """Return when ``v + offset`` or ``rail + offset - v`` is negative; touching stretches are joined."""
    sign = 1.0 if side == "low" else -1.0
    supply = run.space.inputs.index("supply")
    joined: list[Violation] = []
    for segment, output in zip(run.segments, run.node_outputs(node), strict=True):
        d = sign * output.d
        d[0, supply] += rail
        shifted = Outputs(sign * output.c, d, sign * output.f, np.array([offset]))
        for start, end in intervals_below_zero(segment, shifted):
            touches = joined and math.isclose(joined[-1].end, start, rel_tol=1e-12, abs_tol=1e-15)
            joined.append(Violation(node, side, joined.pop().start if touches else start, end))
    return joined
