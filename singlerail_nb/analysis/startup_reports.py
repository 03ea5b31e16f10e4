"""What a start-up does to load, inputs and capacitors, and which capacitor makes it slow."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..circuit.circuit import Circuit
from ..circuit.elements import GROUND
from ..circuit.network_functions import transfer_function
from ..circuit.nodal_analysis import Injection
from ..errors import CircuitError, QuantityError, UnknownNameError
from .stage import Stage
from .startup_crossings import intervals_below_zero, with_extremes
from .startup_inputs import input_pieces
from .startup_run import Startup
from .startup_segments import Outputs, Segment
from .startup_solver import solved
from .state_space import StateSpace
from .transfer import Transfer


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


@dataclass(frozen=True)
class SlowCapacitor:
    """A capacitor, the usual rules for it, and its part in the truth.

    Attributes
    ----------
    name : str
        The capacitor.
    resistance : float
        What it sees with the other capacitors open and the op-amps in their loops, ohm.
    time_constant : float
        Resistance times capacitance, s: the "one time constant" rule.
    five_time_constants : float
        s: the rule that is taken for settled.
    share : float
        Relative change of the settling time per relative change of this capacitor.  When every
        capacitance doubles every time doubles, so the shares of all capacitors add up to 1 but
        for the share of the rail's own rise.
    """

    name: str
    resistance: float
    time_constant: float
    five_time_constants: float
    share: float


def extremes(run: Startup, outputs: list[Outputs]) -> tuple[Extreme, Extreme]:
    """Return the lowest and the highest value of an output over all time.

    Parameters
    ----------
    run : Startup
        The start-up.
    outputs : list of Outputs
        One per segment, as from ``run.node_outputs(node)``.
    """
    found: list[Extreme] = []
    for segment, output in zip(run.segments, outputs, strict=True):
        tau, y = with_extremes(segment, output)
        found += [Extreme(float(y[i]), segment.start + float(tau[i])) for i in (y.argmin(), y.argmax())]
    return min(found, key=lambda e: e.volts), max(found, key=lambda e: e.volts)


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
    peak = max(extremes(run, outputs), key=lambda e: abs(e.volts))
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
        part.name: extremes(run, [run.capacitor_output(part.name)] * len(run.segments))[0]
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


def slow_capacitors(
    run: Startup, node: str, within: float | None = None, *, volts: float | None = None
) -> tuple[SlowCapacitor, ...]:
    """Return the capacitors of a stage, the one to blame for the settling time first.

    Parameters
    ----------
    run : Startup
        The start-up.
    node : str
        The node whose settling counts.
    within : float, optional
        Fraction of the final voltage, as in ``run.settling_time``.
    volts : float, optional
        The same in volts.

    Raises
    ------
    UnknownNameError
        If the node does not exist.
    QuantityError
        As for ``run.settling_time``.
    """

    def settling(stage: Stage) -> float:
        space = StateSpace(stage)
        pieces = input_pieces(space, run.rail, run.limits)
        segments = solved(space, pieces, run.segments[0].x)
        return Startup(stage, run.rail, run.limits, space, segments).settling_time(node, within, volts=volts)

    rows = []
    for part in run.space.capacitors:
        value = run.stage.values[part.name]
        changed = [value * (1 - _STEP), value * (1 + _STEP)]
        less, more = (settling(run.stage.with_parts(**{part.name: c})) for c in changed)
        share = math.log(more / less) / math.log(changed[1] / changed[0]) if less > 0 else 0.0
        resistance = resistance_seen(run.stage, part.name)
        tau = resistance * value
        rows.append(SlowCapacitor(part.name, resistance, tau, 5.0 * tau, share))
    return tuple(sorted(rows, key=lambda row: -row.share))


_STEP = 1e-3


def resistance_seen(stage: Stage, capacitor: str) -> float:
    """Return the resistance that a capacitor sees with the other capacitors open, ohm.

    Parameters
    ----------
    stage : Stage
        The stage; its op-amps obey their loops.
    capacitor : str
        Name of the capacitor.

    Returns
    -------
    float
        Infinite if nothing but capacitors leads to it.

    Raises
    ------
    UnknownNameError
        If there is no such part.
    """
    one, other = stage.circuit.part(capacitor).nodes
    bare = stage.circuit.opened(*(part.name for part in stage.circuit.capacitors))
    try:
        ends = [_voltage_at(bare, stage, Injection(one, other), node) for node in (one, other)]
    except (CircuitError, UnknownNameError):
        return math.inf
    return ends[0] - ends[1]


def _voltage_at(circuit: Circuit, stage: Stage, injection: Injection, node: str) -> float:
    if node == GROUND:
        return 0.0
    function = transfer_function(circuit, injection, node, "ideal")
    return float(Transfer(function, dict(stage.parameters), injection.into, node)(0.0).real)
