"""What one change does: every figure and requirement that moves, and why."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from ..analysis.network import require_stage
from ..analysis.sensitivity import sensitivities
from ..analysis.stage import Stage
from ..analysis.tolerance_catalogue import nominal_value, standard_figures
from ..analysis.tolerance_figures import Figure
from ..circuit.elements import Part
from ..errors import QuantityError
from ..quantities import QuantityLike, read_part, write_quantity
from .requirements import Requirements
from .verification import Check, verify

_MOVED = 1e-4
"""Smaller relative changes are not worth a line."""


@dataclass(frozen=True)
class FigureChange:
    """One figure before and after.

    Attributes
    ----------
    figure : Figure
        The figure.
    before, after : float
        In its unit.
    share : float
        Its relative change per relative change of the part, at the start.
    """

    figure: Figure
    before: float
    after: float
    share: float

    @property
    def ratio(self) -> float:
        """After over before."""
        return self.after / self.before if self.before else math.inf

    @property
    def text(self) -> str:
        """Label, both values, and the change in per cent."""
        unit = self.figure.unit
        values = f"{write_quantity(self.before, unit)} -> {write_quantity(self.after, unit)}"
        sign = "+" if self.ratio > 1.0 else ""
        return f"{self.figure.label}: {values} ({sign}{write_quantity(self.ratio - 1.0, '%', 2)})"


@dataclass(frozen=True)
class RequirementChange:
    """One requirement before and after.

    Attributes
    ----------
    before, after : Check
        With the old and the new value.
    """

    before: Check
    after: Check

    @property
    def flips(self) -> bool:
        """True if the verdict changes."""
        return self.before.status != self.after.status

    @property
    def text(self) -> str:
        """Id, requirement, figures, and margin or verdict."""
        unit = self.after.unit
        moved = f"{write_quantity(self.before.value, unit)} -> {write_quantity(self.after.value, unit)}"
        verdict = f"{self.before.status} -> {self.after.status}" if self.flips else self.after.status
        return f"{self.after.id} {self.after.requirement}: {moved}, {self.after.limit_text}: {verdict}"


@dataclass(frozen=True)
class ChangeReport:
    """Everything that one change moves.

    Attributes
    ----------
    part : Part
        The part that was changed.
    before, after : Stage
        The stage with the old and the new value.
    figures : tuple of FigureChange
        Those that move, the most moved first.
    requirements : tuple of RequirementChange
        Those whose figure moves.
    reasons : tuple of str
        Why, in words.
    """

    part: Part
    before: Stage
    after: Stage
    figures: tuple[FigureChange, ...]
    requirements: tuple[RequirementChange, ...]
    reasons: tuple[str, ...]

    @property
    def text(self) -> str:
        """The change, the figures, the requirements and the reasons, as plain text."""
        unit = self.part.unit
        old, new = (write_quantity(s.values[self.part.name], unit) for s in (self.before, self.after))
        lines = [f"{self.part.label} {self.part.name}: {old} -> {new}", "", "figures that move:"]
        lines += [f"  {change.text}" for change in self.figures] or ["  none"]
        if self.requirements:
            lines += ["requirements that move:", *(f"  {change.text}" for change in self.requirements)]
        return "\n".join([*lines, "why:", *(f"  {reason}" for reason in self.reasons)])

    def __repr__(self) -> str:
        return self.text


def explain_change(
    stage: Stage, requirements: Requirements | None = None, *, line: float = 100.0, **change: QuantityLike
) -> ChangeReport:
    """Return every figure and requirement that one new part value moves, and why.

    Parameters
    ----------
    stage : Stage
        The stage as it is.
    requirements : Requirements, optional
        What it must do.
    line : float
        Frequency of the supply ripple, Hz.
    **change : float or str
        One part and its new value.

    Raises
    ------
    QuantityError
        If it is not exactly one change, or the value cannot be read, or ``stage`` is no stage.
    UnknownNameError
        If the stage has no such part.
    """
    require_stage(stage)
    if len(change) != 1:
        raise QuantityError(
            "change", ", ".join(change) or "nothing", allowed="one part", remedy='Write c_in="470n".'
        )
    ((name, given),) = change.items()
    part = stage.circuit.part(name)
    after = stage.with_parts(**{name: read_part(name, given)})
    figures = tuple(_moved(stage, after, name, line))
    checks = _changed(stage, after, requirements) if requirements is not None else ()
    return ChangeReport(part, stage, after, figures, checks, tuple(_reasons(part, stage, after, figures)))


def _moved(before: Stage, after: Stage, name: str, line: float) -> list[FigureChange]:
    known = standard_figures(after, line)
    found = []
    for key, figure in standard_figures(before, line).items():
        if key not in known:
            continue
        old, new = nominal_value(before, figure), nominal_value(after, known[key])
        if abs(new - old) > _MOVED * max(abs(old), abs(new)):
            share = sensitivities(before, figure).shares[name]
            found.append(FigureChange(figure, old, new, share))
    return sorted(found, key=lambda c: -abs(math.log(c.ratio)) if c.ratio > 0 else -math.inf)


def _changed(before: Stage, after: Stage, needed: Requirements) -> tuple[RequirementChange, ...]:
    pairs = zip(verify(before, needed), verify(after, needed), strict=True)
    return tuple(
        RequirementChange(old, new)
        for old, new in pairs
        if abs(new.value - old.value) > _MOVED * max(abs(old.value), abs(new.value))
    )


def _reasons(part: Part, before: Stage, after: Stage, figures: tuple[FigureChange, ...]) -> Iterator[str]:
    """Yield why: where in the signal path the part acts, and how strongly figures follow it."""
    if not figures:
        yield f"No figure depends on {part.name}."
        return
    path = _section_moved(before, after)
    if path is not None:
        yield path
    bent = False
    for change in figures:
        follows = "follows" if change.share > 0 else "goes against"
        predicted = (after.values[part.name] / before.values[part.name]) ** change.share
        bent |= abs(math.log(change.ratio / predicted)) >= 0.1 * abs(math.log(change.ratio))
        yield f"{change.figure.label} {follows} it by {abs(change.share):.2g} % per %."
    if bent:
        yield "That holds for a small change; so large a one leaves these slopes behind."


def _section_moved(before: Stage, after: Stage) -> str | None:
    """Return which piece of the signal path changes most at the old cut-off, in words."""
    f = before.transfer("signal", "output").low_cutoff()
    if not f > 0:
        return None
    moved = []
    for old, new in zip(before.sections(), after.sections(), strict=True):
        shifts = 20.0 * math.log10(abs(new.transfer(f)) / abs(old.transfer(f)))
        moved.append((abs(shifts), shifts, old))
    size, shift, section = max(moved, key=lambda m: m[0])
    if size < 1e-4:
        return None
    return (
        f"It acts between {section.start} and {section.end}: at the old cut-off of {write_quantity(f, 'Hz')} "
        f"that piece changes by {shift:+.2g} dB."
    )
