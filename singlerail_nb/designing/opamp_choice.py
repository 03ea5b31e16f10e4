"""Which op-amps fit a stage, and why the others do not."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from ..analysis.stage import Stage
from ..circuit.opamp import OpAmp
from ..errors import SingleRailError
from ..quantities import write_quantity
from .demands import Demands
from .requirements import Requirements
from .review import Review, review


@dataclass(frozen=True)
class Candidate:
    """How an op-amp would do in a stage.

    Attributes
    ----------
    opamp : OpAmp
        The candidate.
    fits : bool
        Whether every requirement holds.
    reasons : tuple of str
        Why not; empty if it fits.
    """

    opamp: OpAmp
    fits: bool
    reasons: tuple[str, ...]


def candidates(
    stage: Stage,
    opamps: Iterable[OpAmp],
    demands: Demands | None = None,
    needed: Requirements | None = None,
) -> tuple[Candidate, ...]:
    """Return which op-amps fit a stage, and why the others do not.

    Parameters
    ----------
    stage : Stage
        The stage; its own op-amp is replaced.
    opamps : iterable of OpAmp
        The candidates.
    demands : Demands, optional
        What the op-amp side must do.
    needed : Requirements, optional
        What the signal path must do.
    """
    found = []
    for record in opamps:
        try:
            reasons = _reasons(review(replace(stage, opamp=record), demands, needed))
        except SingleRailError as error:
            reasons = (str(error),)
        found.append(Candidate(record, not reasons, reasons))
    return tuple(found)


def _reasons(found: Review) -> tuple[str, ...]:
    reasons = []
    for row in found.failed:
        worst = min(zip(row.checks, found.rails, strict=True), key=lambda pair: pair[0].margin)
        check, rail = worst
        where = f" at {write_quantity(rail, 'V')}" if row.rule.each_rail else ""
        figure = write_quantity(check.value, check.unit, 3)
        reasons.append(f"{check.requirement}{where}: {figure}, needed {check.limit_text}")
    return tuple(reasons)
