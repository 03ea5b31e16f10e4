"""One reading with its band: what the bench shows of a board whose parts are within tolerance."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from ..measurement.instruments import PROBE
from ..quantities import write_quantity
from .bench import Bench, Measurement
from .board import AMPLIFIER, Board
from .faults import Fault
from .shown import CLEAN, EVERY_SHAPE, LEAST_SEEN, shown, wait
from .trials import corner_boards, summed_band, trial_numbers

RESOLUTION = {"V": 1e-3, "Vpp": LEAST_SEEN, "s": 1e-3}
"""Smallest difference that is read, by unit (common practice, no published source)."""
CURSOR = 0.05
"""How well a time is read off a screen, relative (common practice, no published source)."""


@dataclass(frozen=True)
class Reading:
    """What an instrument shows.

    Attributes
    ----------
    value : float
        Of the nominal board, V, Vpp or s; not a number where none can be promised.
    low, high : float
        What parts in tolerance and the instrument may make of it.
    unit : str
        Its unit.
    shapes : frozenset of str
        Shapes that the wave may have; empty where there is none.
    note : str
        What to know about it.
    """

    value: float
    low: float
    high: float
    unit: str
    shapes: frozenset[str] = frozenset()
    note: str = ""

    def differs(self, other: Reading) -> bool:
        """Return whether no board can show both: the bands do not touch, or no shape is common.

        Parameters
        ----------
        other : Reading
            Of the same measurement.
        """
        apart = self.low > other.high or other.low > self.high
        return apart or (bool(self.shapes and other.shapes) and not self.shapes & other.shapes)

    @property
    def text(self) -> str:
        """The reading in words."""
        if math.isnan(self.value):
            return "no steady reading"
        if self.unit == "Vpp" and self.value < RESOLUTION["Vpp"]:
            return "nothing seen"
        cut = sorted(self.shapes - {CLEAN})
        shape = f", {cut[0]}" if len(self.shapes) == 1 and cut else ""
        return f"{write_quantity(_tidy(self.value, self.unit), self.unit, 3)}{shape}"

    @property
    def band_text(self) -> str:
        """The band in words."""
        if not math.isfinite(self.high):
            return "anything"
        low, high = (write_quantity(_tidy(end, self.unit), self.unit, 3) for end in (self.low, self.high))
        if self.unit != "V" and self.low <= 0.0:
            return f"up to {high}"
        return low if low == high else f"{low} to {high}"


def _tidy(value: float, unit: str) -> float:
    """Return a value without digits that nobody reads."""
    return round(value / RESOLUTION[unit]) * RESOLUTION[unit]


@lru_cache(maxsize=8192)
def reading(bench: Bench, fault: Fault | None, what: Measurement) -> Reading:
    """Return what the bench shows of a board with a fault, or of the sound one.

    Parameters
    ----------
    bench : Bench
        Stage, instruments, test signals and tolerances.
    fault : Fault or None
        What is wrong; None is the sound stage.
    what : Measurement
        What is measured.

    Raises
    ------
    CircuitError
        If the fault joins the rail or an output to another source.
    """
    return reading_of(bench, _board(bench, fault), what)


@lru_cache(maxsize=512)
def _board(bench: Bench, fault: Fault | None) -> Board:
    return Board.of(bench.stage) if fault is None else fault.on(bench.stage)


def reading_of(bench: Bench, board: Board, what: Measurement) -> Reading:
    """Return what the bench shows of a board.

    Parameters
    ----------
    bench : Bench
        Instruments, test signals and tolerances.
    board : Board
        The board without instruments.
    what : Measurement
        What is measured.
    """
    known = bench.meter if what.kind == "volts" else bench.scope
    probed = board.with_instrument(what.node, known)
    note = _note(board)
    outside = _outside_input_range(board)
    if what.kind == "wait":
        return _waited(bench, probed, _PROMISES_NOTHING if outside else note, promised=not outside)
    found = shown(bench, probed, what, trial_numbers(probed, dict(bench.tolerance)))
    low, high = summed_band(found.values)
    smallest = RESOLUTION[what.unit]
    low = max(low * (1.0 - known.accuracy), 0.0) - smallest
    high = high * (1.0 + known.accuracy) + smallest
    result = Reading(float(found.values[0]), low, high, what.unit, frozenset(found.shapes), note)
    return _undefined(bench, probed, what, result) if outside else result


def _waited(bench: Bench, board: Board, note: str, *, promised: bool) -> Reading:
    """Return a wait with its band: capacitors at their corners, and all times follow the resistors."""
    times = [wait(other) for other in corner_boards(board, dict(bench.tolerance))] if promised else [math.nan]
    if not math.isfinite(sum(times)):
        return Reading(math.nan, -math.inf, math.inf, "s", note=note)
    resistors = {part.name for part in bench.stage.circuit.resistors}
    ends = [limits for name, limits in bench.tolerance if name in resistors] or [(1.0, 1.0)]
    low = min(times) * min(low for low, _ in ends) * (1.0 - CURSOR) - RESOLUTION["s"]
    high = max(times) * max(high for _, high in ends) * (1.0 + CURSOR) + RESOLUTION["s"]
    return Reading(times[0], low, high, "s", note=note)


def _note(board: Board) -> str:
    pins = " and ".join(board.loose_inputs)
    return f"{pins} hangs in the air: it drifts, and a probe there changes everything" if pins else ""


def _outside_input_range(board: Board) -> bool:
    """Return whether the + input of the amplifier rests where the data sheet promises nothing."""
    if board.opamp is None:
        return False
    plus = float(board.rest().voltage(board.circuit.opamp(AMPLIFIER).plus)[0])
    low, high = board.opamp.input_range(board.supply)
    return not low <= plus <= high


def _undefined(bench: Bench, probed: Board, what: Measurement, found: Reading) -> Reading:
    """Return a reading behind an op-amp whose input is out of range: anything that the output can do."""
    pins = bench.stage.circuit.opamp(AMPLIFIER)
    _, top = (float(np.asarray(end)) for end in probed.output_limits())
    if what.kind == "volts":
        low, high = sorted(_held(probed, how) for how in ("low", "high"))
        if high - low < RESOLUTION["V"]:
            return found
        return replace(found, low=min(low, found.low), high=max(high, found.high), note=_PROMISES_NOTHING)
    if what.node not in (pins.output, pins.minus, "output"):
        return found
    shapes = EVERY_SHAPE if found.shapes else found.shapes
    return replace(found, low=0.0, high=max(top, found.high), shapes=shapes, note=_PROMISES_NOTHING)


_PROMISES_NOTHING = "the + input rests outside its range: the data sheet promises nothing"


def _held(probed: Board, how: str) -> float:
    """Return what the meter shows with the amplifier's output held at a limit, V."""
    rest = probed.rest()
    place = [pins.name for pins in probed.circuit.opamps].index(AMPLIFIER)
    state = rest.states[0]
    return float(replace(rest, states=((*state[:place], how, *state[place + 1 :]),)).voltage(PROBE)[0])
