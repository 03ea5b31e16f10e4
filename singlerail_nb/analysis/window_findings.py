"""What is wrong with a window, or worth knowing about it, each with what to change."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from ..circuit.opamp import OpAmp
from ..errors import RequirementError
from ..quantities import write_quantity
from .rail_window import RailWindow
from .window import Window

Severity = Literal["fault", "caution"]

_ONE_SIDED = 1.5


@dataclass(frozen=True, slots=True)
class WindowFinding:
    """Something about the window of a stage.

    Attributes
    ----------
    severity : "fault" or "caution"
        A fault leaves no usable swing.
    kind : str
        "supply range", "empty window", "handover zone", "phase reversal", "one-sided clipping",
        "heavy load" or "not given".
    supply : float or None
        The rail at which it happens, V; None if at all.
    message : str
        One sentence.
    remedy : str
        What to change.
    """

    severity: Severity
    kind: str
    supply: float | None
    message: str
    remedy: str


def window_findings(found: Window) -> tuple[WindowFinding, ...]:
    """Return everything to be said about a window, faults first.

    Parameters
    ----------
    found : Window
        The window.
    """
    record = found.opamp
    every = list(_empty(found))
    if record is not None:
        every += [*_supply(found, record), *_handover(found, record), *_reversal(found, record)]
        every += [*_load(found, record), *_not_given(record)]
    every += list(_one_sided(found))
    return tuple(sorted(every, key=lambda finding: finding.severity == "caution"))


def require_open(found: Window) -> Window:
    """Return a window without faults, or raise.

    Parameters
    ----------
    found : Window
        The window.

    Raises
    ------
    RequirementError
        On the first fault: the rail is outside the op-amp's supply range, or nothing can swing.
    """
    for finding in window_findings(found):
        if finding.severity == "fault":
            raise RequirementError(
                finding.kind,
                finding.message,
                allowed="a window that is open at every rail",
                remedy=finding.remedy,
            )
    return found


def _volts(value: float) -> str:
    return write_quantity(value, "V", 3)


def _supply(found: Window, record: OpAmp) -> Iterator[WindowFinding]:
    allowed = f"{_volts(record.supply_min)} to {_volts(record.supply_max)}"
    for rail in (found.rails[0], found.rails[-1])[: len(found.rails)]:
        if not record.supply_min <= rail.supply <= record.supply_max:
            yield WindowFinding(
                "fault",
                "supply range",
                rail.supply,
                f"a rail of {_volts(rail.supply)} is outside the supply range of {record.name}, {allowed}",
                f"Choose an op-amp whose supply range holds {_volts(rail.supply)}, or change the rail.",
            )


def _empty(found: Window) -> Iterator[WindowFinding]:
    for rail in found.rails:
        if rail.swing > 0:
            continue
        pin = "output" if rail.limited_by.startswith("output") else "+ input"
        side = "below" if rail.limited_by.endswith("low") else "above"
        at = (rail.output_rest if pin == "output" else rail.input_rest)[side == "above"]
        end = (rail.output_range if pin == "output" else rail.input_range)[side == "above"]
        yield WindowFinding(
            "fault",
            "empty window",
            rail.supply,
            f"at {_volts(rail.supply)} the {pin} rests at {_volts(at)}, {side} or at its limit {_volts(end)}",
            _way_out(found),
        )


def _way_out(found: Window) -> str:
    best = found.best_bias
    if best.swing > 0:
        place = _volts(best.volts[0])
        if best.fraction is not None:
            place = f"{best.fraction:.3g} of the rail"
        return f"Move the bias to {place}: that allows {write_quantity(best.swing, 'Vpp', 3)}."
    return "No bias point serves: take an op-amp with wider input and output ranges, or a higher rail."


def _handover(found: Window, record: OpAmp) -> Iterator[WindowFinding]:
    if not record.handover_far:
        return
    for rail in found.rails:
        start, stop = rail.supply - record.handover_far, rail.supply - record.handover_near
        reach = 0.0 if math.isinf(rail.gain) else rail.swing / 2.0 / rail.gain
        low, high = rail.input_rest[0] - reach, rail.input_rest[1] + reach
        if low < stop and high > start:
            room = max(start - rail.input_rest[1], rail.input_rest[0] - stop)
            clear = f"stays clear of that only up to {write_quantity(room, 'Vp', 3)}"
            yield WindowFinding(
                "caution",
                "handover zone",
                rail.supply,
                f"at {_volts(rail.supply)} the input pairs hand over between {_volts(start)} and "
                f"{_volts(stop)}; the input {clear if room > 0 else 'rests inside that zone'}",
                "Move the bias away from the zone, or invert, so that the inputs rest.",
            )


def _reversal(found: Window, record: OpAmp) -> Iterator[WindowFinding]:
    for rail in found.rails:
        limits = rail.limits
        if record.reversal and limits["input low"] <= min(limits["output low"], limits["output high"]):
            yield WindowFinding(
                "caution",
                "phase reversal",
                rail.supply,
                f"at {_volts(rail.supply)} overdrive takes the input out of its range; the output of "
                f"{record.name} reverses {record.reversal}",
                "Limit the input with a series resistor and a clamp, or take an op-amp without reversal.",
            )


def _load(found: Window, record: OpAmp) -> Iterator[WindowFinding]:
    heaviest = min((point.load for point in record.swing), default=0.0)
    if record.swing and found.load < heaviest:
        yield WindowFinding(
            "caution",
            "heavy load",
            None,
            f"the output drives {write_quantity(found.load, 'ohm', 3)}; the swing of {record.name} is known "
            f"down to {write_quantity(heaviest, 'ohm', 3)} and is extrapolated",
            "Enter a swing point for the load, or make the load lighter.",
        )


def _not_given(record: OpAmp) -> Iterator[WindowFinding]:
    missing = [] if record.swing else ["the output swing"]
    if not (record.is_given("common_mode_low") or record.is_given("common_mode_high")):
        missing.append("the common-mode range")
    if missing:
        yield WindowFinding(
            "caution",
            "not given",
            None,
            f"{' and '.join(missing)} of {record.name} is not given and is taken to reach both rails",
            "Enter it from the data sheet.",
        )


def _one_sided(found: Window) -> Iterator[WindowFinding]:
    worst: RailWindow = found.worst
    ratio = worst.asymmetry
    if worst.swing > 0 and not 1.0 / _ONE_SIDED <= ratio <= _ONE_SIDED and found.best_bias.bought > 0:
        side = "high" if ratio < 1 else "low"
        yield WindowFinding(
            "caution",
            "one-sided clipping",
            worst.supply,
            f"at {_volts(worst.supply)} the {side} side clips first: room above over below is {ratio:.2g}",
            _way_out(found),
        )
