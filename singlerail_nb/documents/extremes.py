"""Requirements at the ends of the tolerances, read off the tolerance report."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ..analysis.tolerance import ToleranceReport, worst_case
from ..designing.extreme_checks import bias_ends
from ..designing.review import ReviewRow
from ..designing.synthesis import Design
from ..designing.verification import Check
from ..quantities import write_quantity

_SWING = "undistorted output swing"


@dataclass(frozen=True)
class Judged:
    """One requirement with all parts at the worst ends of their tolerances.

    Attributes
    ----------
    row : ReviewRow
        The requirement.
    ends : (float, float)
        Lowest and highest figure, SI units.
    """

    row: ReviewRow
    ends: tuple[float, float]

    @property
    def verdict(self) -> Literal["holds", "misses"]:
        """Whether the requirement holds at both ends."""
        rule = self.row.rule
        checks = [
            Check(rule.requirement, end, rule.limit, rule.kind, rule.unit, rule.method, rule.band)
            for end in self.ends
        ]
        return "holds" if all(check.status == "pass" for check in checks) else "misses"

    @property
    def range_text(self) -> str:
        """Lowest and highest figure as text."""
        low, high = (write_quantity(end, self.row.unit) for end in self.ends)
        return f"{low} to {high}"


def judged_at_extremes(made: Design, report: ToleranceReport) -> tuple[Judged, ...]:
    """Return every requirement on the signal path or the bias at the ends of the tolerances.

    Parameters
    ----------
    made : Design
        The design.
    report : ToleranceReport
        Its tolerance analysis.
    """
    own = bias_ends(made.stage, made.requirements, report.spread.tolerances.parts)
    ends = {**own, **{row.label: row.extreme for row in report.rows}}
    found = []
    for row in made.checks:
        if row.requirement == _SWING and "output swing" in ends:
            found.append(Judged(row, _swing_at_all_rails(made, report)))
        elif row.requirement in ends:
            found.append(Judged(row, ends[row.requirement]))
    return tuple(found)


def _swing_at_all_rails(made: Design, report: ToleranceReport) -> tuple[float, float]:
    """Return lowest and highest swing over parts and rail together."""
    needed, stage = made.requirements, made.stage
    rail = (needed.lowest_supply / stage.supply - 1.0, needed.highest_supply / stage.supply - 1.0)
    return worst_case(stage, {**report.spread.tolerances.parts, "supply": rail})["swing"].limits
