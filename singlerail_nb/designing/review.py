"""The table for a design review: every requirement at the lowest, nominal and highest rail.

Each row carries figure, limit, margin, method and verdict; a failed row knows the smallest change of
one part that would mend it, and what that change would break.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

from ..analysis.stage import Stage
from ..analysis.window import window
from ..analysis.window_findings import window_findings
from ..circuit.opamp import OpAmp
from ..errors import RequirementError
from ..quantities import write_quantity
from ..quantities.tables import markdown_table, text_table, unbroken
from .demands import Demands
from .mending import Mend, opamp_mends, part_mends
from .requirements import Requirements
from .review_rules import Rule, rules
from .verification import Check

Verdict = Literal["pass", "caution", "fail"]


@dataclass(frozen=True)
class ReviewRow:
    """One requirement at every rail.

    Attributes
    ----------
    id : str
        Such as "R3".
    rule : Rule
        The requirement.
    checks : tuple of Check
        One for each rail, ascending.
    cautions : tuple of str
        What stands behind a caution.
    figures : tuple of float
        The figure at each rail, SI units; a requirement on the nominal rail is judged there only.
    """

    id: str
    rule: Rule
    checks: tuple[Check, ...]
    cautions: tuple[str, ...] = ()
    figures: tuple[float, ...] = ()

    def __repr__(self) -> str:
        return f"<ReviewRow {self.text}>"

    @property
    def requirement(self) -> str:
        """The requirement in words."""
        return self.rule.requirement

    @property
    def worst(self) -> Check:
        """The check at the rail where the requirement is met least."""
        return min(self.checks, key=lambda check: check.margin)

    @property
    def value(self) -> float:
        """The figure at the worst rail, SI units."""
        return self.worst.value

    @property
    def limit(self) -> float:
        """What the figure is compared with, SI units."""
        return self.rule.limit

    @property
    def unit(self) -> str:
        """Unit of figure and limit."""
        return self.rule.unit

    @property
    def method(self) -> str:
        """How the figure was found."""
        return self.rule.method

    @property
    def margin(self) -> float:
        """The least relative margin over the rails; negative where it fails."""
        return self.worst.margin

    @property
    def status(self) -> Verdict:
        """The verdict over all rails."""
        if any(check.status == "fail" for check in self.checks):
            return "fail"
        return "caution" if self.cautions else "pass"

    @property
    def text(self) -> str:
        """One line: what, figure at the worst rail, limit, verdict."""
        worst = self.worst
        return f"{self.id} {self.requirement}: {worst.figure_text()} ({worst.limit_text}) {self.status}"

    @property
    def cells(self) -> tuple[str, ...]:
        """Id, requirement, figures at the rails, limit, margin, method, verdict, for a table."""
        figures = [replace(self.worst, value=value).figure_text(3) for value in self.figures]
        margin = "-" if math.isinf(self.margin) else f"{round(100.0 * self.margin) + 0} %"
        text = (self.checks[0].limit_text, margin, self.method, self.status)
        return (self.id, self.requirement, *figures, *text)


@dataclass(frozen=True)
class Review:
    """The verification of a stage, requirement by requirement.

    Attributes
    ----------
    stage : Stage
        At the nominal rail.
    rails : tuple of float
        Lowest, nominal and highest rail, V; equal ones once.
    rows : tuple of ReviewRow
        Every requirement.
    """

    stage: Stage
    rails: tuple[float, ...]
    rows: tuple[ReviewRow, ...]

    @property
    def passed(self) -> bool:
        """True if no requirement fails."""
        return not self.failed

    @property
    def failed(self) -> tuple[ReviewRow, ...]:
        """The rows that fail."""
        return tuple(row for row in self.rows if row.status == "fail")

    @cached_property
    def mends(self) -> dict[str, Mend | None]:
        """The smallest change for each failed row, by row id; None if no single part or figure does.

        Changes that break no other requirement come first, then parts, then the op-amp.
        """
        return {row.id: self._mend(row) for row in self.failed}

    @cached_property
    def _found(self) -> dict[str, Mend | None]:
        """What has been looked for, by row id."""
        return {}

    def _mend(self, row: ReviewRow) -> Mend | None:
        if row.id not in self._found:
            self._found[row.id] = self._look_for_mend(row)
        return self._found[row.id]

    def _look_for_mend(self, row: ReviewRow) -> Mend | None:
        def margin(stage: Stage) -> float:
            return _first_margin(row.rule, stage, self.rails)

        parts = part_mends(self.stage, margin, enough=lambda mend: not self.breaks(mend))
        harmless = next((mend for mend in parts if not self.breaks(mend)), None)
        if harmless is not None:
            return harmless
        figures = opamp_mends(self.stage, margin, row.rule.levers)
        every = [mend for mend in figures if not self.breaks(mend)] + parts + figures
        return every[0] if every else None

    def breaks(self, mend: Mend) -> tuple[str, ...]:
        """Return the ids of rows that hold now and would fail with a change.

        Parameters
        ----------
        mend : Mend
            The change.
        """
        holding = [row for row in self.rows if row.status != "fail"]
        return tuple(row.id for row in holding if not _holds(row.rule, mend.stage, self.rails))

    def mend_text(self, row_id: str) -> str:
        """Return in words what would mend a failed row.

        Parameters
        ----------
        row_id : str
            Id of the row.
        """
        mend = next((self._mend(row) for row in self.failed if row.id == row_id), None)
        if mend is None:
            return "no change of a single part: another topology, op-amp or requirement is needed"
        broken = self.breaks(mend)
        return mend.text + (f" (then fails: {', '.join(broken)})" if broken else "")

    @property
    def text(self) -> str:
        """The table as plain text, with mends and cautions below."""
        table = text_table(self.header, [row.cells for row in self.rows])
        return "\n".join([table, *self.notes])

    def __repr__(self) -> str:
        return self.text

    def _repr_markdown_(self) -> str:
        notes = [f"- {note}" for note in self.notes]
        table = markdown_table(unbroken(self.header), [unbroken(row.cells) for row in self.rows])
        return table + "\n\n" + "\n".join(notes)

    @property
    def header(self) -> tuple[str, ...]:
        """Names of the columns: those of `ReviewRow.cells`."""
        rails = [f"at {write_quantity(rail, 'V')}" for rail in self.rails]
        return ("id", "requirement", *rails, "limit", "margin", "method", "verdict")

    @property
    def notes(self) -> tuple[str, ...]:
        """What would mend each failed row, then what stands behind each caution, a sentence each."""
        return (*(self.mend_note(row) for row in self.failed), *self.cautions)

    def mend_note(self, row: ReviewRow) -> str:
        """Return the sentence that says what would mend a failed row.

        Parameters
        ----------
        row : ReviewRow
            One that fails.
        """
        return f"{row.id} would pass with {self.mend_text(row.id)}"

    @property
    def cautions(self) -> tuple[str, ...]:
        """What stands behind each caution, a sentence each."""
        return tuple(f"{row.id}: {caution}" for row in self.rows for caution in row.cautions)


def review(stage: Stage, demands: Demands | None = None, needed: Requirements | None = None) -> Review:
    """Return the verification table of a stage.

    Parameters
    ----------
    stage : Stage
        At its nominal rail.
    demands : Demands, optional
        What the op-amp side must do.
    needed : Requirements, optional
        What the signal path must do; its rail range serves unless the demands give one.

    Raises
    ------
    RequirementError
        If the range of the rail does not enclose the nominal rail.
    QuantityError, CircuitError
        If the stage cannot be analysed: an input without a DC path, a reference above the rail.
    """
    asked = Demands() if demands is None else demands
    rails = _rails(stage, asked, needed)
    found = []
    for number, rule in enumerate(rules(stage, needed, asked), 1):
        checks = _checks(rule, stage, rails)
        cautions = _cautions(rule, checks, stage, rails)
        figures = _figures(rule, checks, stage, rails)
        found.append(ReviewRow(f"R{number}", rule, checks, cautions, figures))
    return Review(stage, rails, tuple(found))


def _rails(stage: Stage, asked: Demands, needed: Requirements | None) -> tuple[float, ...]:
    low = needed.lowest_supply if needed else stage.supply
    high = needed.highest_supply if needed else stage.supply
    low = low if asked.supply_min is None else asked.number("supply_min")
    high = high if asked.supply_max is None else asked.number("supply_max")
    if not low <= stage.supply <= high:
        raise RequirementError(
            "rail",
            f"{low:g} V to {high:g} V",
            allowed=f"a range that encloses the nominal {stage.supply:g} V",
            remedy="Give supply_min <= supply <= supply_max.",
        )
    return tuple(sorted({low, stage.supply, high}))


def _checks(rule: Rule, stage: Stage, rails: tuple[float, ...]) -> tuple[Check, ...]:
    if not rule.each_rail:
        return (rule.check(stage),) * len(rails)
    return tuple(rule.check(replace(stage, supply=rail)) for rail in rails)


def _figures(
    rule: Rule, checks: tuple[Check, ...], stage: Stage, rails: tuple[float, ...]
) -> tuple[float, ...]:
    """Return the figure at every rail, also where it is not judged."""
    if rule.at_nominal:
        return tuple(rule.figure(replace(stage, supply=rail)) for rail in rails)
    return tuple(check.value for check in checks)


def _holds(rule: Rule, stage: Stage, rails: tuple[float, ...]) -> bool:
    """Return whether a requirement holds at every rail."""
    return _first_margin(rule, stage, rails) >= 0


def _first_margin(rule: Rule, stage: Stage, rails: tuple[float, ...]) -> float:
    """Return the margin at the first rail that fails, or 0 if none does."""
    for rail in rails if rule.each_rail else (stage.supply,):
        check = rule.check(replace(stage, supply=rail))
        if check.status == "fail":
            return check.margin
    return 0.0


def _cautions(
    rule: Rule, checks: tuple[Check, ...], stage: Stage, rails: tuple[float, ...]
) -> tuple[str, ...]:
    """Return why a pass is not a plain pass."""
    found = []
    margin = min(check.margin for check in checks)
    if 0 <= margin < rule.comfortable:
        found.append(f"margin {100 * margin:.0f} %, less than the usual {100 * rule.comfortable:.0f} %")
    if rule.requirement == "input impedance":
        found += _lost_signal(stage, checks[0].value)
    record = stage.opamp
    if record is not None:
        found += [
            f"{name} of {record.name} is not given: taken as ideal"
            for name in rule.levers
            if not _given(record, name)
        ]
    if rule.requirement == "undistorted output swing":
        seen = window_findings(window(stage, supply_min=rails[0], supply_max=rails[-1], spread="worst"))
        found += [f.message for f in seen if f.severity == "caution" and f.kind != "not given"]
    return tuple(found)


def _lost_signal(stage: Stage, impedance: float) -> list[str]:
    """Return a sentence if the source loses more than half of its signal at the input."""
    source = stage.values.get("r_source", 0.0)
    lost = 100.0 * source / (source + impedance)
    if lost <= 50.0 + 1e-6:
        return []
    return [f"a source of {write_quantity(source, 'ohm')} loses {lost:.3g} % of its signal here"]


def _given(record: OpAmp, name: str) -> bool:
    return bool(record.swing) if name == "swing" else record.is_given(name)
