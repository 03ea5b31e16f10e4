"""Faults of single parts: open, shorted, misread, reversed, leaking, a ceramic that lost its capacitance."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from ..analysis.capacitor_classes import capacitor_class
from ..analysis.dc_errors import SMALLEST_ELECTROLYTIC, electrolytic_leakage
from ..analysis.operating_point import operating_point
from ..analysis.stage import Stage
from ..circuit.elements import Part
from ..quantities import write_quantity
from .board import Board
from .faults import Change, Fault, fault_kind

FACTOR_OF_PREFIX = 1e-3
FACTOR_OF_BAND = 10.0
REVERSED_TIME = 0.05
"""Leakage resistance times capacitance of an electrolytic that is reversed, s.  An assumption for
teaching, invented: the real current grows steeply beyond about 1 V and differs from part to part."""
REVERSED_FROM = 1.0
"""Reverse voltage below which a reversed electrolytic is taken to behave, V (common practice, no
published source)."""
REVERSED_SPREAD = (0.1, 10.0)
STORED_LEAKAGE = 10.0
"""Leakage of an electrolytic after long storage over its usual limit: an assumption, invented."""
STORED_SPREAD = (0.5, 2.0)

_MISSING = {
    "c_g": "The gain leg has no capacitor that works",
    "c_bias": "The bias filter has lost its capacitor",
    "r_bias": "The bias resistor is missing, so the + input has no path for its current",
    "r_source": "Nothing is plugged in: the source is not connected",
}
_BRIDGED = {
    "c_g": "The gain leg goes to ground without a capacitor, so the stage amplifies its own bias",
    "r_source": "The source has no resistance of its own",
}
_NO_JOINT = "A cold joint, a lifted leg, the wrong row of the breadboard, or a part that was never fitted."
_BRIDGE = "A solder bridge, two legs in one row, a wire link in place of the part, or a part that broke down."


def _named(part: Part) -> str:
    return f"{part.name} ({part.label[0].lower()}{part.label[1:]})"


@fault_kind("open")
def opened(stage: Stage) -> Iterator[Fault]:
    """Yield each part taken out.

    Parameters
    ----------
    stage : Stage
        The sound stage.
    """
    for part in stage.circuit.parts:
        told = _MISSING.get(part.name, f"{_named(part)} is open")
        yield Fault(f"{part.name} open", "open", part.name, f"{told}.", _NO_JOINT, change=_without(part.name))


def _without(name: str) -> Change:
    return lambda board: board.changed(board.circuit.opened(name))


@fault_kind("short")
def shorted(stage: Stage) -> Iterator[Fault]:
    """Yield each part replaced by a wire.

    Parameters
    ----------
    stage : Stage
        The sound stage.
    """
    for part in stage.circuit.parts:
        told = _BRIDGED.get(part.name, f"{_named(part)} is shorted")
        yield Fault(f"{part.name} short", "short", part.name, f"{told}.", _BRIDGE, change=_bridged(part.name))


def _bridged(name: str) -> Change:
    return lambda board: board.changed(board.circuit.shorted(name))


@fault_kind("prefix")
def wrong_prefix(stage: Stage) -> Iterator[Fault]:
    """Yield each capacitor a thousand times too small, and each resistor ten times too large.

    Parameters
    ----------
    stage : Stage
        The sound stage.
    """
    own = {name for name in stage.circuit.part_names if name.startswith(("r_source", "r_load", "r_dynamic"))}
    for part in stage.circuit.parts:
        if part.name in own:
            continue
        is_capacitor = part.kind == "capacitor"
        factor = FACTOR_OF_PREFIX if is_capacitor else FACTOR_OF_BAND
        fitted = stage.values[part.name] * factor
        found, meant = (write_quantity(v, part.unit) for v in (fitted, stage.values[part.name]))
        why = (
            "A prefix misread: n for µ or p for n."
            if is_capacitor
            else "The multiplier band misread, or a resistor from the next drawer."
        )
        yield Fault(
            f"{part.name} is {found}", "prefix", part.name, f"{_named(part)} is {found} instead of {meant}.",
            why, change=_valued(part.name, fitted),
        )  # fmt: skip


def _valued(name: str, value: float) -> Change:
    return lambda board: board.changed(None, **{name: value})


@fault_kind("reversed")
def reversed_electrolytic(stage: Stage) -> Iterator[Fault]:
    """Yield each electrolytic put in the wrong way round.

    Parameters
    ----------
    stage : Stage
        The sound stage.
    """
    for part, volts in _electrolytics(stage):
        leak = REVERSED_TIME / stage.values[part.name]
        leaks = abs(volts) >= REVERSED_FROM
        if leaks:
            model = (
                f"It is taken to leak like {write_quantity(leak, 'ohm')}, a tenth to ten times of that, "
                f"while more than about {write_quantity(REVERSED_FROM, 'V')} stands on it the wrong way: "
                "an invented figure."
            )
        else:
            model = (
                f"Only {write_quantity(abs(volts), 'V')} stands on it, less than the "
                f"{write_quantity(REVERSED_FROM, 'V')} from which it is taken to leak: nothing shows yet."
            )
        yield Fault(
            f"{part.name} reversed", "reversed", part.name, f"{_named(part)} sits the wrong way round.",
            "The stripe marks the - side; the board or the drawing was read the other way.", model,
            _leaking(part.name, leak, REVERSED_SPREAD) if leaks else _unchanged,
        )  # fmt: skip


@fault_kind("leaking")
def leaking(stage: Stage) -> Iterator[Fault]:
    """Yield each electrolytic that leaks as after long storage.

    Parameters
    ----------
    stage : Stage
        The sound stage.
    """
    for part, _ in _electrolytics(stage):
        current = STORED_LEAKAGE * electrolytic_leakage(stage.values[part.name], stage.supply)
        leak = stage.supply / current
        yield Fault(
            f"{part.name} leaks", "leaking", part.name, f"{_named(part)} leaks.",
            "Years in a drawer, heat, or an earlier reversal have thinned the oxide.",
            f"Ten times its usual limit at full rail, {write_quantity(current, 'A')}, so "
            f"{write_quantity(leak, 'ohm')}; half to twice of that: an invented figure.",
            _leaking(part.name, leak, STORED_SPREAD),
        )  # fmt: skip


def _electrolytics(stage: Stage) -> Iterator[tuple[Part, float]]:
    """Yield each capacitor that usually is an electrolytic, with the DC voltage on it, V."""
    volts = {state.name: state.voltage for state in operating_point(stage).capacitors}
    for part in stage.circuit.capacitors:
        if stage.values[part.name] >= SMALLEST_ELECTROLYTIC and not math.isnan(volts[part.name]):
            yield part, volts[part.name]


def _unchanged(board: Board) -> Board:
    return board


def _leaking(name: str, leak: float, spread: tuple[float, float]) -> Change:
    def change(board: Board) -> Board:
        beside = Part(f"r_leak_{name}", "resistor", board.circuit.part(name).nodes, "Leakage")
        circuit = replace(board.circuit, parts=(*board.circuit.parts, beside))
        leaky = board.changed(circuit, **{beside.name: leak})
        return replace(leaky, spread={**board.spread, beside.name: spread})

    return change


@fault_kind("ceramic")
def ceramic(stage: Stage) -> Iterator[Fault]:
    """Yield each capacitor with a DC voltage on it as a class-2 ceramic used up to its rating.

    Parameters
    ----------
    stage : Stage
        The sound stage.
    """
    known = capacitor_class("X7R")
    volts = {state.name: state.voltage for state in operating_point(stage).capacitors}
    for part in stage.circuit.capacitors:
        value = stage.values[part.name]
        if not (known.smallest <= value <= known.largest and abs(volts[part.name]) >= REVERSED_FROM):
            continue
        left = value * (1.0 + known.bias_loss[0])
        yield Fault(
            f"{part.name} ceramic", "ceramic", part.name,
            f"{_named(part)} is a small class-2 ceramic: under DC {write_quantity(left, 'F', 3)} are left.",
            "The value was matched, the loss under DC voltage was not looked up.",
            "The largest loss of the class, at its full rating; a larger case loses less.",
            _valued(part.name, left),
        )  # fmt: skip
