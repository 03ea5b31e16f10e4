"""How a stage wakes up: exact piecewise-linear start-up, brown-out and power-down.

Between two switchings the network is linear and its solution is known exactly.  An op-amp output
obeys its loop or sits at a limit that follows the rail; a Zener conducts or does not.  The instants
at which they switch are roots of the exact solution.  Nothing is stepped through time.

Outside the model: slew rate, input protection diodes, and what an op-amp does below its lowest
supply.  A rail too low for any output swing pins the output at its lower limit.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from ..errors import QuantityError
from ..quantities import QuantityLike, read_quantity, write_quantity
from .network import require_stage
from .stage import Stage
from .startup_inputs import Limits, Rail, input_pieces
from .startup_run import Startup
from .startup_solver import initial_states, solved
from .state_space import StateSpace


def startup(
    stage: Stage,
    *,
    ramp_time: float | str = 0.0,
    profile: Sequence[tuple[QuantityLike, QuantityLike]] | None = None,
    low: float | str | None = None,
    high: float | str | None = None,
    dropout: float | str = 0.0,
    initial: QuantityLike | Mapping[str, QuantityLike] = 0.0,
) -> Startup:
    """Return what happens when the supply comes on, sags, returns or goes.

    Parameters
    ----------
    stage : Stage
        The stage; its signal source rests at 0 V.
    ramp_time : float or str
        Rise time of the rail from 0 V to the supply, s; 0 is a step.
    profile : sequence of (float or str, float or str), optional
        The rail as (time in s, voltage in V), straight lines between; instead of the ramp.
    low, high : float or str, optional
        Lowest output above ground and highest output below the rail, of every op-amp, V.  Without
        them the swing of the stage's op-amp record into ``r_load``, or up to both rails.
    dropout : float or str
        Lowest distance of a reference below the rail, V.
    initial : float, str or mapping of str to float or str
        Capacitor voltages at the start, V, others empty; or one number, the fraction of their
        resting voltages that all of them still hold.

    Returns
    -------
    Startup
        Exact; see `Startup`.

    Raises
    ------
    QuantityError
        If a time, a voltage or the profile makes no sense, or ``stage`` is no stage.
    UnknownNameError
        If there is no such capacitor.
    CircuitError
        If no state of the op-amps fits, or they never stop switching.
    """
    require_stage(stage)
    own_low, own_high = (0.0, 0.0) if low is not None and high is not None else swing_distances(stage)
    limits = Limits(
        read_quantity(own_low if low is None else low, "V", name="low"),
        read_quantity(own_high if high is None else high, "V", name="high"),
        read_quantity(dropout, "V", name="dropout"),
    )
    if profile is None:
        rail = Rail.ramp(stage.supply, read_quantity(ramp_time, "s", name="ramp_time"))
    else:
        rail = Rail(_points(profile))
    space = StateSpace(stage)
    start = initial_states(space, limits, initial)
    return Startup(stage, rail, limits, space, solved(space, input_pieces(space, rail, limits), start))


def _points(profile: Sequence[tuple[QuantityLike, QuantityLike]]) -> tuple[tuple[float, float], ...]:
    try:
        pairs = [(time, volts) for time, volts in profile]
    except (TypeError, ValueError):
        raise QuantityError(
            "profile",
            profile,
            allowed="pairs of time and voltage",
            remedy='Write [(0, 0), ("10 ms", "9 V")].',
        ) from None
    return tuple(
        (read_quantity(time, "s", name="profile time"), read_quantity(volts, "V", name="profile voltage"))
        for time, volts in pairs
    )


def swing_distances(stage: Stage) -> tuple[float, float]:
    """Return how far from ground and from the rail the op-amp outputs stay by their record, V.

    Parameters
    ----------
    stage : Stage
        The stage; ``r_load`` decides which swing figure holds.

    Raises
    ------
    QuantityError
        If the op-amp has no swing at all on this rail into this load.
    """
    if stage.opamp is None or not stage.opamp.swing:
        return 0.0, 0.0
    load = stage.values.get("r_load", math.inf)
    lowest, highest = stage.opamp.output_range(stage.supply, load, linear=False)
    if not lowest < highest:
        raise QuantityError(
            "output swing",
            f"none left of {stage.opamp.name} on {stage.supply:g} V into {write_quantity(load, 'ohm')}",
            allowed="a rail and a load that leave the output some swing",
            remedy="Take a higher rail, a lighter load or a stronger op-amp, or state low and high.",
        )
    return lowest, stage.supply - highest


def power_down(
    stage: Stage,
    *,
    fall_time: float | str = 0.0,
    low: float | str | None = None,
    high: float | str | None = None,
    dropout: float | str = 0.0,
) -> Startup:
    """Return what happens when the rail of a settled stage falls to 0 V and is held there.

    Parameters
    ----------
    stage : Stage
        The stage.
    fall_time : float or str
        Seconds from the supply voltage to 0 V, in a straight line.
    low, high, dropout : float or str
        As in `startup`.

    Raises
    ------
    QuantityError
        If a time or voltage makes no sense.
    CircuitError
        As for `startup`.
    """
    fall = read_quantity(fall_time, "s", name="fall_time", low=0.0)
    profile = [(0.0, stage.supply), (fall, 0.0)]
    return startup(stage, profile=profile, low=low, high=high, dropout=dropout, initial=1.0)


def brown_out(
    stage: Stage,
    *,
    sag: float | str,
    duration: float | str,
    edge_time: float | str = 0.0,
    low: float | str | None = None,
    high: float | str | None = None,
    dropout: float | str = 0.0,
) -> Startup:
    """Return what happens when the rail of a settled stage sags for a while and returns.

    Parameters
    ----------
    stage : Stage
        The stage.
    sag : float or str
        Rail voltage during the sag, V.
    duration : float or str
        How long it stays there, s.
    edge_time : float or str
        Seconds each for falling and returning, in a straight line.
    low, high, dropout : float or str
        As in `startup`.

    Raises
    ------
    QuantityError
        If a time or voltage makes no sense.
    CircuitError
        As for `startup`.
    """
    volts = read_quantity(sag, "V", name="sag", low=0.0, high=stage.supply)
    edge = read_quantity(edge_time, "s", name="edge_time", low=0.0)
    back = edge + read_quantity(duration, "s", name="duration", low=0.0)
    profile = [(0.0, stage.supply), (edge, volts), (back, volts), (back + edge, stage.supply)]
    return startup(stage, profile=profile, low=low, high=high, dropout=dropout, initial=1.0)
