"""Which capacitor makes a start-up slow, with the usual rules beside the truth."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..circuit.circuit import Circuit
from ..circuit.elements import GROUND
from ..circuit.network_functions import transfer_function
from ..circuit.nodal_analysis import Injection
from ..errors import CircuitError, UnknownNameError
from .stage import Stage
from .startup_inputs import input_pieces
from .startup_run import Startup
from .startup_solver import solved
from .state_space import StateSpace
from .transfer import Transfer

_STEP = 1e-3


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
