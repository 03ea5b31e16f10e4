"""A guaranteed design, with the nominal one and the cost beside it."""

from __future__ import annotations

from dataclasses import dataclass

from ..analysis.stage import Stage
from ..analysis.tolerance import Tolerances, monte_carlo
from ..quantities import write_quantity
from ..quantities.tables import markdown_table, unbroken
from .requirements import Requirements
from .steps import DesignStep
from .synthesis import Design
from .verification import Check


@dataclass(frozen=True, repr=False)
class GuaranteedDesign(Design):
    """A design whose requirements hold for every board within tolerance.

    Attributes
    ----------
    tolerance : float, str, pair or mapping
        The tolerances it was guaranteed for.
    extremes : tuple of Check
        Every requirement with the worst figure within tolerance; ``method`` says what is proven.
    aimed : Requirements
        The tightened requirements that nominal parts meet.
    nominal : Design
        The design for the requirements as given.
    nominal_extremes : tuple of Check
        What the nominal design does at the extremes.
    """

    tolerance: Tolerances
    extremes: tuple[Check, ...]
    aimed: Requirements
    nominal: Design
    nominal_extremes: tuple[Check, ...]

    @property
    def is_guaranteed(self) -> bool:
        """True if every requirement holds at the extremes; so it is for every one that is returned."""
        return all(check.status == "pass" for check in self.extremes)

    @property
    def text(self) -> str:
        """Title, parts, and every requirement at its worst board, as plain text."""
        lines = [self._title, ""]
        lines += [
            f"  {step.symbol:<7} {write_quantity(step.chosen, step.unit):>8}   {step.recomputed}"
            for step in self.steps
        ]
        lines += ["", "  with the worst board within tolerance:", *(f"  {c.text}" for c in self.extremes)]
        return "\n".join(lines)

    @property
    def _title(self) -> str:
        rail = write_quantity(self.stage.supply, "V")
        tried = ", ".join(check.requirement for check in self.extremes if check.method.startswith(_TRIED))
        sure = f" (tried, not proven: {tried})" if tried else ""
        return f"{self.stage.title}, {rail} rail: every board within tolerance meets every requirement{sure}"

    def _repr_markdown_(self) -> str:
        parts = markdown_table(
            ("part", "value", "code", "nominal design", "gives, with nominal parts"),
            [self._part_row(step) for step in self.steps],
        )
        header = ("id", "requirement", "worst board", "limit", "margin", "verdict", "how sure")
        extremes = markdown_table(header, [(*unbroken(check.row), check.method) for check in self.extremes])
        return f"**{self._title}.**\n\n{parts}\n\n{extremes}"

    def _part_row(self, step: DesignStep) -> tuple[str, ...]:
        symbol, value, code, *_, gives = step.row
        old = self.nominal.stage.values.get(step.part)
        return symbol, value, code, "" if old is None else write_quantity(old, step.unit), gives

    @property
    def changes(self) -> dict[str, tuple[float, float]]:
        """Parts with another value than in the nominal design: (nominal, guaranteed), ohm or farad."""
        old, new = self.nominal.stage.values, self.stage.values
        return {name: (old[name], new[name]) for name in new if new[name] != old.get(name)}

    @property
    def capacitance_ratio(self) -> float:
        """Sum of all capacitances over that of the nominal design."""
        return _capacitance(self.stage) / _capacitance(self.nominal.stage)

    def failing_share(self, boards: int = 10_000, seed: int = 1) -> float:
        """Return the share of boards of the nominal design that miss gain, input impedance or low end.

        Parameters
        ----------
        boards : int
            How many are drawn, uniformly within tolerance.
        seed : int
            Where chance starts.
        """
        needed = self.requirements
        figures = ("midband_gain", "low_cutoff", "input_impedance")
        spread = monte_carlo(self.nominal.stage, boards, self.tolerance, seed=seed, figures=figures)
        wanted, band = abs(needed.gain), abs(needed.gain) * needed.gain_tolerance
        good = abs(spread.midband_gain - wanted) <= band
        good &= spread.input_impedance >= needed.input_impedance
        if needed.low_cutoff is not None:
            good &= spread.low_cutoff <= needed.low_cutoff
        if needed.rumble_floor is not None:
            good &= spread.low_cutoff >= needed.rumble_floor
        return float(1.0 - good.mean())

    @property
    def cost(self) -> str:
        """What the guarantee costs and what it buys, as plain text."""
        lines = ["what changes against the nominal design:"]
        for name, (old, new) in self.changes.items():
            unit = "ohm" if name.startswith("r_") else "F"
            lines.append(f"  {name:<9} {write_quantity(old, unit):>8} -> {write_quantity(new, unit)}")
        lines.append(f"  all capacitance: {self.capacitance_ratio:.2f} times as much")
        lines.append("what it buys, at the tolerance extremes:")
        before = {check.requirement: check for check in self.nominal_extremes}
        for check in self.extremes:
            old_check = before[check.requirement]
            lines.append(
                f"  {check.requirement:<18} {write_quantity(old_check.value, check.unit):>10} "
                f"({old_check.status}) -> {write_quantity(check.value, check.unit)} ({check.status}), "
                f"{check.limit_text}"
            )
        lines.append(f"  boards of the nominal design that miss one of them: {self.failing_share():.1%}")
        return "\n".join(lines)


_TRIED = "not proven: "


def _capacitance(stage: Stage) -> float:
    return sum(value for name, value in stage.values.items() if name.startswith("c_"))
