"""From the inputs over time to the exact solution: segment after segment, event after event."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from ..errors import CircuitError, QuantityError
from ..quantities import QuantityLike, read_quantity
from .startup_crossings import first_below_zero
from .startup_inputs import InputPiece, Limits, Rail, input_pieces
from .startup_modes import ModeChooser
from .startup_segments import Segment
from .state_equations import Floats
from .state_space import StateSpace

MOST_SEGMENTS = 2000


def initial_states(
    space: StateSpace, limits: Limits, initial: QuantityLike | Mapping[str, QuantityLike]
) -> Floats:
    """Return the states with which a start-up begins.

    Parameters
    ----------
    space : StateSpace
        The stage.
    limits : Limits
        What its outputs keep from the rails.
    initial : float, str or mapping of str to float or str
        Capacitor voltages, V, or the fraction of their resting voltages that they still hold.

    Raises
    ------
    QuantityError
        If a voltage or the fraction makes no sense.
    UnknownNameError
        If there is no such capacitor.
    """
    if isinstance(initial, Mapping):
        states = np.zeros(len(space.states))
        for name, value in initial.items():
            if space.circuit.part(name).kind != "capacitor":
                raise QuantityError(
                    "initial", name, allowed="capacitors", remedy="Only capacitors hold a voltage."
                )
            states[space.states.index(name)] = read_quantity(value, "V", name=f"initial {name}")
        return states
    share = read_quantity(initial, "%", name="initial")
    if not 0 <= share <= 1:
        raise QuantityError(
            "initial", share, allowed="0 (empty) to 1 (at rest)", remedy="Or give a voltage per capacitor."
        )
    if share == 0:
        return np.zeros(len(space.states))
    pieces = input_pieces(space, Rail.ramp(space.stage.supply, 0.0), limits)
    rest = solved(space, pieces, np.zeros(len(space.states)))[-1].final_states
    return share * rest


def solved(space: StateSpace, pieces: list[InputPiece], x: Floats) -> tuple[Segment, ...]:
    """Return the exact solution from given states on, in segments.

    Parameters
    ----------
    space : StateSpace
        The stage.
    pieces : list of InputPiece
        Its inputs over time.
    x : ndarray, shape (states,)
        States at the start.

    Raises
    ------
    CircuitError
        If no state of the op-amps fits, or they never stop switching.
    """
    chooser = ModeChooser(space, max(float(np.abs(piece.value).max()) for piece in pieces))
    segments: list[Segment] = []
    mode = None
    for piece in pieces:
        time, leave = piece.start, False
        while True:
            w = piece.at(time)
            x = space.inside_limits(x, w)
            mode = chooser.choose(mode, x, w, piece.slope, leave=leave)
            equations = space.equations(mode)
            if equations is None or len(segments) > MOST_SEGMENTS:
                raise CircuitError(
                    f"{space.circuit.name} stage, start-up",
                    f"still switching after {time:.3g} s",
                    allowed="op-amps that come to rest",
                    remedy="It oscillates between its limits: look for feedback through the bias node.",
                )
            segment = Segment(time, piece.end, mode, equations, equations.entered(x, w), w, piece.slope)
            event = first_below_zero(segment, chooser.guards(mode), chooser.tolerance)
            if event is None and segment.runs_away:
                raise CircuitError(
                    f"{space.circuit.name} stage, start-up",
                    f"grows without a limit after {time:.3g} s",
                    allowed="voltages that come to rest or meet a limit",
                    remedy="The stage is unstable: look for feedback through the bias node or the rail.",
                )
            if event is None:
                segments.append(segment)
                x = segment.final_states
                break
            segment = segment.until(time + event)
            segments.append(segment)
            x, time, leave = segment.states(np.array([event]))[0], time + event, True
    return tuple(segments)
