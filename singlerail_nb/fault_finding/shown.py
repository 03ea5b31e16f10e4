"""What an instrument shows on boards with the same circuit: volts, sines with their cuts, ripple, a wait.

Outside the model: slew rate, current limit and own supply rejection of an op-amp, and what a part
does when it burns.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np

from ..analysis.evaluation import Value
from ..analysis.limited_rest import LimitedRest, circuit_in
from ..circuit.circuit import Circuit
from ..circuit.loop import drive_name
from ..circuit.network_functions import transfer_function
from ..errors import CircuitError
from ..measurement.instruments import PROBE
from ..measurement.prediction import ResponsePrediction
from .bench import Bench, Measurement
from .board import AMPLIFIER, Board
from .trials import Floats

ENDS_WITHIN = 0.2
"""A waking output is there when it stays within this share of the rail of where it ends.  A tighter
share would make the time jump from board to board: a small overshoot leaves the band or does not."""
LEAST_SEEN = 5e-3
"""Smallest wave that is seen on a screen, Vpp (common practice, no published source)."""
_LEAST_CUT = 1e-3
"""A cut smaller than this share of the rail is not seen."""

CLEAN, TOP, BOTTOM, BOTH, FLAT = "clean", "cut at the top", "cut at the bottom", "cut on both sides", "flat"
EVERY_SHAPE = frozenset({CLEAN, TOP, BOTTOM, BOTH, FLAT})


class Shown(NamedTuple):
    """What is shown on each board.

    Attributes
    ----------
    values : array, shape (boards,)
        Readings; not a number where none can be promised.
    shapes : tuple of str
        Shape of a wave on each board; empty for other readings.
    """

    values: Floats
    shapes: tuple[str, ...] = ()


def shown(bench: Bench, board: Board, what: Measurement, numbers: Mapping[str, Value]) -> Shown:
    """Return what the instrument of a measurement shows, a wait excepted.

    Parameters
    ----------
    bench : Bench
        Instruments and test signals.
    board : Board
        With the instrument in it.
    what : Measurement
        The measurement.
    numbers : mapping of str to array, shape (boards,)
        Numbers of each board.
    """
    rest = board.rest(**numbers)
    if what.kind == "volts":
        return Shown(rest.voltage(PROBE))
    if what.kind == "ripple":
        return Shown(bench.ripple * _passed_on(rest, bench.ripple_frequency))
    frequency = bench.low_frequency if what.kind == "low end" else bench.frequency
    return _wave(rest, bench.amplitude / 2.0, frequency)


def wait(board: Board) -> float:
    """Return how long the op-amp output takes to come to rest, s; not a number if it drifts.

    Parameters
    ----------
    board : Board
        With the instrument in it.
    """
    if board.loose_inputs:
        return math.nan  # it drifts on the leakage of the board
    try:
        return board.waking().settling_time(PROBE, volts=ENDS_WITHIN * board.supply)
    except CircuitError:
        return math.nan


def _gain(rest: LimitedRest, circuit: Circuit, source: str, node: str, frequency: float) -> Any:
    """Return a transfer at one frequency on every board, complex."""
    function = transfer_function(circuit, source, node, rest.model)
    if not function.numerator:
        return np.zeros(len(rest.states), dtype=np.complex128)
    numbers: Any = dict(rest.numbers)
    found = ResponsePrediction(function, numbers).complex_gain(np.array([frequency]))
    return np.broadcast_to(found, len(rest.states))


def _passed_on(rest: LimitedRest, frequency: float) -> Floats:
    """Return what reaches the instrument from the rail, V/V; an output at its upper limit follows it."""
    state = rest.states[0]
    circuit = circuit_in(rest.circuit, state)
    total = _gain(rest, circuit, "supply", PROBE, frequency)
    for pins, how in zip(rest.circuit.opamps, state, strict=False):
        if how == "high":
            total = total + _gain(rest, circuit, drive_name(pins.name), PROBE, frequency)
    return np.asarray(np.abs(total))


def _wave(rest: LimitedRest, amplitude: float, frequency: float) -> Shown:
    """Return the height of the wave at the instrument, Vpp, and its shape.

    Where the op-amp output is cut, its share in the wave shrinks as the output does.
    """
    place = [pins.name for pins in rest.circuit.opamps].index(AMPLIFIER)
    state = rest.states[0]
    held = circuit_in(rest.circuit, (*state[:place], "high", *state[place + 1 :]))
    beside = _gain(rest, held, "signal", PROBE, frequency)
    asked = rest.asked(AMPLIFIER)
    if asked is None:
        height = np.asarray(2.0 * amplitude * np.abs(beside))
        return Shown(height, tuple(FLAT if flat else CLEAN for flat in height < LEAST_SEEN))
    looped = circuit_in(rest.circuit, (*state[:place], "loop", *state[place + 1 :]))
    whole = _gain(rest, looped, "signal", PROBE, frequency)
    peak = amplitude * np.abs(_gain(rest, looped, "signal", rest.circuit.opamp(AMPLIFIER).output, frequency))
    top, bottom = np.clip(asked + peak, *rest.limits), np.clip(asked - peak, *rest.limits)
    left = np.divide(top - bottom, 2.0 * peak, out=np.ones_like(peak), where=peak > 0.0)
    through = left * (whole - beside)
    height = 2.0 * amplitude * np.abs(beside + through)
    follows = np.abs(whole - beside) > np.abs(beside)
    slack = _LEAST_CUT * float(np.max(rest.numbers["supply"]))
    high, low = asked + peak > top + slack, asked - peak < bottom - slack
    cuts = zip(height < LEAST_SEEN, follows & high, follows & low, strict=True)
    return Shown(
        np.asarray(height), tuple(_SHAPES[bool(small), bool(up), bool(down)] for small, up, down in cuts)
    )


_SHAPES = {
    (False, False, False): CLEAN,
    (False, True, False): TOP,
    (False, False, True): BOTTOM,
    (False, True, True): BOTH,
    **{(True, top, bottom): FLAT for top in (False, True) for bottom in (False, True)},
}
"""Shape by: too small to see, cut at the top, cut at the bottom."""
