"""Choose a bias source from the comparison, with the reason and what was rejected."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from ..errors import RequirementError, require_result
from ..quantities import QuantityLike, read_fields, read_quantity, write_quantity
from ..quantities.tables import markdown_table
from .bias_comparison import BiasComparison
from .bias_conditions import BiasRow
from .bias_table import spoken


@dataclass(frozen=True)
class BiasLimits:
    """What the bias source must keep to; what is left out limits nothing.

    Quantities may be SI numbers or text with unit, such as ``wake_up="2 s"``.

    Attributes
    ----------
    rejection_db : float, str or mapping of float to float
        Least rejection from rail to output, source connected, dB: at every line, or line (Hz) -> dB.
    open_rejection_db : float, str or mapping of float to float
        The same with the source taken off.
    wake_up : float or str
        Longest time to wake up, s.
    current : float or str
        Largest current, A.
    error : float or str
        Largest worst-case error of the bias, V.
    noise : float or str
        Largest noise of the bias source at the output, Vrms.
    impedance : float or str
        Largest impedance of the bias node at DC, ohm: for loads that draw DC from it.
    follows_rail : bool
        Whether the bias must follow a sagging rail.

    Raises
    ------
    QuantityError
        If a text is no such quantity.
    """

    rejection_db: QuantityLike | Mapping[float, float] = -math.inf
    open_rejection_db: QuantityLike | Mapping[float, float] = -math.inf
    wake_up: QuantityLike = math.inf
    current: QuantityLike = math.inf
    error: QuantityLike = math.inf
    noise: QuantityLike = math.inf
    impedance: QuantityLike = math.inf
    follows_rail: bool = False

    def __post_init__(self) -> None:
        units = dict(_UNITS)
        for name in ("rejection_db", "open_rejection_db"):
            given = getattr(self, name)
            if isinstance(given, Mapping):
                object.__setattr__(self, name, _by_line(name, given))
                del units[name]
        read_fields(self, units)


def _by_line(name: str, given: Mapping[QuantityLike, QuantityLike]) -> dict[float, float]:
    """Read a limit that is given line by line."""
    return {
        read_quantity(f, "Hz", name=f"line of {name}"): read_quantity(db, "dB", name=name)
        for f, db in given.items()
    }


_UNITS = {
    "rejection_db": "dB",
    "open_rejection_db": "dB",
    "wake_up": "s",
    "current": "A",
    "error": "V",
    "noise": "Vrms",
    "impedance": "ohm",
}


@dataclass(frozen=True, repr=False)
class BiasRecommendation:
    """The bias source that keeps every limit with the fewest parts; shows itself with its reasons.

    Attributes
    ----------
    row : BiasRow
        The chosen one.
    reason : str
        Why.
    rejected : mapping of str to str
        Name of every other one -> why not.
    """

    row: BiasRow
    reason: str
    rejected: Mapping[str, str]

    def __repr__(self) -> str:
        lines = [f"  not {spoken(name)}: {why}" for name, why in self.rejected.items()]
        return "\n".join([f"Take the {spoken(self.row.name)}. {self.reason}", *lines])

    def _repr_markdown_(self) -> str:
        head = f"**Take the {spoken(self.row.name)}.** {self.reason}"
        rejected = [(spoken(name), why) for name, why in self.rejected.items()]
        return f"{head}\n\n{markdown_table(('rejected', 'because'), rejected)}"


def recommend(comparison: BiasComparison, limits: BiasLimits | None = None) -> BiasRecommendation:
    """Return the bias source to take: every limit kept, then the fewest parts, then the least current.

    Parameters
    ----------
    comparison : BiasComparison
        The table.
    limits : BiasLimits, optional
        What counts; without limits only what cannot work is left out.

    Raises
    ------
    RequirementError
        If no bias source keeps all limits; it names the limit that each one breaks.
    QuantityError
        If it is no comparison.
    """
    require_result(comparison, BiasComparison, "recommend(sr.bias_comparison(...))")
    limits = limits or BiasLimits()
    rejected = dict(comparison.impossible)
    fitting: list[BiasRow] = []
    for row in comparison.rows:
        lines = comparison.conditions.lines
        broken = [*row.problems, *_broken_rejection(row, lines, limits), *_broken(row, limits)]
        if broken:
            rejected[row.name] = " ".join(broken)
        else:
            fitting.append(row)
    if not fitting:
        raise RequirementError(
            "bias source",
            "; ".join(f"{name}: {why}" for name, why in rejected.items()),
            allowed="at least one bias source that keeps every limit",
            remedy="Relax the limit that most of them break, or filter the rail in front of the stage.",
        )
    best, *others = sorted(fitting, key=lambda row: (row.parts, row.current, row.wake_up))
    rejected |= {row.name: _comparison(row, best) for row in others}
    cost = f"{_parts(best)} and {write_quantity(best.current, 'A', 3)}"
    reason = f"The {spoken(best.name)} keeps every limit with {cost}: {_facts(best, comparison)}"
    return BiasRecommendation(best, reason, rejected)


def _parts(row: BiasRow) -> str:
    return f"{row.parts} part{'s' if row.parts != 1 else ''}"


def _facts(row: BiasRow, comparison: BiasComparison) -> str:
    rejections = ", ".join(
        f"{write_quantity(db, 'dB', 3)} at {write_quantity(f, 'Hz')}"
        for f, db in zip(comparison.conditions.lines, row.rejection_db, strict=True)
    )
    return f"rail to output {rejections}, awake after {write_quantity(row.wake_up, 's', 3)}."


def _comparison(row: BiasRow, best: BiasRow) -> str:
    if row.parts > best.parts:
        return f"Keeps the limits, but needs {_parts(row)} instead of {best.parts}."
    if row.current > best.current:
        ours, theirs = (write_quantity(r.current, "A", 3) for r in (row, best))
        return f"Keeps the limits with as few parts, but draws {ours} instead of {theirs}."
    ours, theirs = (write_quantity(r.wake_up, "s", 3) for r in (row, best))
    return f"Keeps the limits as cheaply, but wakes up in {ours} instead of {theirs}."


def _broken_rejection(row: BiasRow, lines: Sequence[float], limits: BiasLimits) -> Iterator[str]:
    """Yield a sentence for every line at which too much comes through."""
    asked = (
        (row.rejection_db, limits.rejection_db, ""),
        (row.open_rejection_db, limits.open_rejection_db, " with the source open"),
    )
    for found, limit, when in asked:
        for f, value in zip(lines, found, strict=True):
            needed = limit.get(f, -math.inf) if isinstance(limit, Mapping) else float(limit)
            if value < needed:
                at = f"{write_quantity(value, 'dB', 3)} at {write_quantity(f, 'Hz')}{when}"
                yield f"Rejects {at}; {write_quantity(needed, 'dB', 3)} is needed."


def _broken(row: BiasRow, limits: BiasLimits) -> Iterator[str]:
    """Yield a sentence for every other limit that a row breaks."""
    most = (
        ("Wakes up in", row.wake_up, limits.wake_up, "s"),
        ("Draws", row.current, limits.current, "A"),
        ("Its bias is off by up to", max(abs(e) for e in row.error), limits.error, "V"),
        ("Adds", row.noise, limits.noise, "Vrms"),
        ("Its impedance at DC is", row.impedance[0], limits.impedance, "ohm"),
    )
    for text, value, allowed, unit in most:
        limit = float(allowed)
        if value > limit:
            yield f"{text} {write_quantity(value, unit, 3)}; {write_quantity(limit, unit, 3)} is allowed."
    if limits.follows_rail and row.tracking < _FOLLOWS:
        yield "Its voltage stays where it is when the rail sags."


_FOLLOWS = 0.25
