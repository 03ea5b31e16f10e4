"""The smallest change of one part, or of one op-amp figure, that mends a failed requirement."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any

from ..analysis.stage import Stage
from ..circuit.opamp import OpAmp
from ..circuit.opamp_figures import FIGURES, Limits
from ..errors import SingleRailError
from ..quantities import write_quantity

Margin = Callable[[Stage], float]
"""How far inside its limit a requirement is; negative where it fails."""

NOT_OURS = ("r_source", "r_load")
"""Parts that belong to the source and the load; the stage has to take them as they are."""
_LARGEST = math.log(1000.0)
"""Largest |ln(factor)| that is tried."""
_STEPS = 12
_BISECTIONS = 12
_PEAK_STEPS = 16
_GOLDEN = (math.sqrt(5.0) - 1.0) / 2.0


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


def part_mends(stage: Stage, margin: Margin, enough: Callable[[Mend], bool] | None = None) -> list[Mend]:
    """Return for every part the smallest change that makes the margin positive, the smallest first.

    Parameters
    ----------
    stage : Stage
        A stage that fails.
    margin : callable
        The test: negative where a stage fails.
    enough : callable, optional
        Whether a mend is good enough to end the search: then larger changes of other parts, which
        could only come after it, may be missing.
    """
    searches = [
        _Search(name, value, margin, _with_part(stage, name), _part_words)
        for name, value in stage.values.items()
        if value > 0 and name not in NOT_OURS
    ]
    found: list[Mend] = []
    for reach in _REACHES:
        found = _ordered(search.smallest(reach) for search in searches)
        if enough is not None and any(map(enough, found)):
            break
    return found


def _with_part(stage: Stage, name: str) -> Callable[[float], Stage]:
    """Return the stage as a function of one part value."""
    return lambda value: stage.with_parts(**{name: value})


def opamp_mends(stage: Stage, margin: Margin, levers: tuple[str, ...]) -> list[Mend]:
    """Return for every op-amp figure the smallest change that makes the margin positive.

    Parameters
    ----------
    stage : Stage
        A stage that fails.
    margin : callable
        The test: negative where a stage fails.
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
            found.append(_Search(name, value, margin, changed, _figure_words).smallest(_LARGEST))
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


def _ordered(found: Iterable[Mend | None]) -> list[Mend]:
    return sorted((mend for mend in found if mend is not None), key=lambda mend: mend.size)


class _Search:
    """The search for the smallest change of one value; what it has evaluated it remembers."""

    def __init__(
        self,
        name: str,
        value: float,
        margin: Margin,
        changed: Callable[[float], Stage],
        words: Callable[[str, float, float], str],
    ) -> None:
        self.name, self.value, self.margin, self.changed, self.words = name, value, margin, changed, words
        self.seen: dict[float, float] = {}

    def at(self, log_factor: float) -> float:
        """Return the margin with the value changed by a factor, given as its logarithm."""
        if log_factor not in self.seen:
            try:
                found = self.margin(self.changed(self.value * math.exp(log_factor)))
            except SingleRailError:
                found = -math.inf  # a value that no such part has
            self.seen[log_factor] = -math.inf if math.isnan(found) else found
        return self.seen[log_factor]

    def smallest(self, reach: float) -> Mend | None:
        """Search outwards in both directions, then close in on the border of what passes."""
        if reach > _REACHES[0] and self.has_no_influence:
            return None
        up = _border(self.at, reach)
        down = _border(lambda log_factor: self.at(-log_factor), reach if up is None else up)
        if up is None and down is None:
            return None
        factor = math.exp(up or 0.0) if down is None else math.exp(-down)
        value = self.value * factor
        return Mend(self.name, factor, value, self.words(self.name, self.value, factor), self.changed(value))

    @property
    def has_no_influence(self) -> bool:
        """Whether the margin is the same near by and far out, to rounding.

        A figure of 0, such as the swing of an empty window, has a margin of -1 and may wake up further out.
        """
        if not -1.0 < self.at(0.0) < 0.0:
            return False
        ends = [self.at(sign * _outwards(step)) for sign in (1.0, -1.0) for step in (1, _STEPS)]
        return all(math.isclose(end, self.at(0.0), rel_tol=1e-12) for end in ends)


def _outwards(step: int) -> float:
    """Return |ln(factor)| of a step outwards; the steps grow, the last is the largest."""
    return _LARGEST * (step / _STEPS) ** 2


_REACHES = (_outwards(_STEPS // 4), _outwards(_STEPS // 2), _LARGEST)
"""How far the search goes before it asks whether what it has is good enough."""


def _border(at: Callable[[float], float], reach: float) -> float | None:
    """Return where the nearest passing range begins, outwards up to a reach.

    Between failing steps there may be a narrow range that passes: where the margin rises and falls
    again, the peak between is looked up.
    """
    before, middle = -_outwards(1), 0.0
    for step in range(1, _STEPS + 1):
        present = _outwards(step)
        inside = present if at(present) >= 0 else None
        if inside is None and at(before) < at(middle) >= at(present):
            inside = _peak(at, max(before, 0.0), present)
        if inside is not None:
            border = _boundary(at, middle if inside > middle else before, inside)
            return border if border < reach else None
        if present >= reach:
            return None
        before, middle = middle, present
    return None


def _peak(at: Callable[[float], float], low: float, high: float) -> float | None:
    """Return a point between two others at which the margin is positive, by golden section."""
    for _ in range(_PEAK_STEPS):
        reach = _GOLDEN * (high - low)
        one, other = high - reach, low + reach
        better = max((one, other), key=at)
        if at(better) >= 0:
            return better
        low, high = (low, other) if better == one else (one, high)
    return None


def _boundary(at: Callable[[float], float], outside: float, inside: float) -> float:
    for _ in range(_BISECTIONS):
        middle = (outside + inside) / 2.0
        if at(middle) >= 0:
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
