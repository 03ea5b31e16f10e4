"""The smallest change of one part, or of one op-amp figure, that mends a failed requirement."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from ..analysis.stage import Stage
from ..circuit.opamp import OpAmp
from ..circuit.opamp_figures import FIGURES, Limits
from ..errors import SingleRailError
from ..quantities import write_quantity

Passes = Callable[[Stage], bool]

NOT_OURS = ("r_source", "r_load")
"""Parts that belong to the source and the load; the stage has to take them as they are."""
_LARGEST_FACTOR = 1000.0
_STEPS = 16
_BISECTIONS = 12


@dataclass(frozen=True)
class Mend:
    """One change that makes a requirement hold.

    Attributes
    ----------
    what : str
        Part name, or op-amp figure.
    factor : float
        New value over old value.
    value : float
        New value, SI units.
    text : str
        The change in words.
    stage : Stage
        The stage with the change made.
    """

    what: str
    factor: float
    value: float
    text: str
    stage: Stage

    @property
    def size(self) -> float:
        """Size of the change: |ln(factor)|; 0.1 is about ten per cent."""
        return abs(math.log(self.factor))


def part_mends(stage: Stage, passes: Passes) -> list[Mend]:
    """Return for every part the smallest change that makes the test pass, the smallest first.

    Parameters
    ----------
    stage : Stage
        A stage that fails.
    passes : callable
        The test.
    """
    found = [
        _smallest(name, value, passes, _with_part(stage, name), _part_words)
        for name, value in stage.values.items()
        if value > 0 and name not in NOT_OURS
    ]
    return _ordered(found)


def _with_part(stage: Stage, name: str) -> Callable[[float], Stage]:
    """Return the stage as a function of one part value."""
    return lambda value: stage.with_parts(**{name: value})


def opamp_mends(stage: Stage, passes: Passes, levers: tuple[str, ...]) -> list[Mend]:
    """Return for every op-amp figure the smallest change that makes the test pass.

    Parameters
    ----------
    stage : Stage
        A stage that fails.
    passes : callable
        The test.
    levers : tuple of str
        Op-amp figures that may help.
    """
    record = stage.opamp
    if record is None:
        return []
    found = []
    for name in levers:
        value = getattr(record, name)
        if name in FIGURES and isinstance(value, float) and value and math.isfinite(value):
            changed = _with_figure(stage, record, name)
            found.append(_smallest(name, value, passes, changed, _figure_words))
    return _ordered(found)


def _with_figure(stage: Stage, record: OpAmp, name: str) -> Callable[[float], Stage]:
    """Return the stage as a function of one op-amp figure; its limits move along."""

    def changed(value: float) -> Stage:
        factor = value / getattr(record, name)
        limits = tuple(_scaled(limit, factor) if limit.quantity == name else limit for limit in record.limits)
        figures: dict[str, Any] = {name: value, "limits": limits}
        return replace(stage, opamp=replace(record, **figures))

    return changed


def _scaled(limit: Limits, factor: float) -> Limits:
    ends = [None if end is None else end * factor for end in (limit.lowest, limit.highest)]
    return replace(limit, lowest=ends[0], highest=ends[1])


def _ordered(found: list[Mend | None]) -> list[Mend]:
    return sorted((mend for mend in found if mend is not None), key=lambda mend: mend.size)


def _smallest(
    name: str,
    value: float,
    passes: Passes,
    changed: Callable[[float], Stage],
    words: Callable[[str, float, float], str],
) -> Mend | None:
    """Search outwards in both directions, then halve the last step."""

    def fits(log_factor: float) -> bool:
        try:
            return passes(changed(value * math.exp(log_factor)))
        except SingleRailError:
            return False  # a value that no such part has

    best: float | None = None
    for direction in (1.0, -1.0):
        before = 0.0
        for step in _outwards(direction):
            if best is not None and abs(step) >= abs(best):
                break
            if fits(step):
                best = _boundary(fits, before, step)
                break
            before = step
    if best is None:
        return None
    factor = math.exp(best)
    return Mend(name, factor, value * factor, words(name, value, factor), changed(value * factor))


def _outwards(direction: float) -> Iterator[float]:
    for k in range(1, _STEPS + 1):
        yield direction * math.log(_LARGEST_FACTOR) * (k / _STEPS) ** 2


def _boundary(fits: Callable[[float], bool], outside: float, inside: float) -> float:
    for _ in range(_BISECTIONS):
        middle = (outside + inside) / 2.0
        if fits(middle):
            inside = middle
        else:
            outside = middle
    return inside


def _part_words(name: str, value: float, factor: float) -> str:
    unit = "F" if name.startswith("c_") else "ohm"
    bound = "at least" if factor > 1 else "at most"
    new, old = (write_quantity(v, unit, 3) for v in (value * factor, value))
    return f"{name}: {bound} {new} instead of {old}"


def _figure_words(name: str, value: float, factor: float) -> str:
    kind = FIGURES[name]
    bound = "at least" if factor > 1 else "at most"
    new, old = (write_quantity(abs(v), kind.unit, 3) for v in (value * factor, value))
    return f"an op-amp whose {kind.label} is {bound} {new} instead of {old}"
