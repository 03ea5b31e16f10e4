"""The capacitor desk: volts and sign in every phase, what is left of the value, leakage, rating, advice."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ..circuit.circuit import closest
from ..circuit.elements import Part
from ..errors import QuantityError, UnknownNameError
from ..quantities import read_quantity
from ..quantities.tables import markdown_table, text_table, unbroken
from .capacitor_classes import CapacitorClass, capacitor_class
from .capacitor_rows import CapacitorRow
from .capacitor_volts import PhaseVoltage, capacitor_voltages
from .network import require_stage
from .operating_point import operating_point
from .sensitivity import sensitivities
from .stage import Stage
from .startup_blame import resistance_seen
from .tolerance_catalogue import standard_figures
from .tolerance_inputs import PartTolerance

RATING_NOTE = (
    "Effective: tolerance, temperature, ageing and DC voltage all at their ends. Rating: the smallest usual "
    "one that keeps the worst voltage within the share that each type is used to (common practice, no "
    "published source)."
)
_SMALL = 1e-6
"""Below this value film is proposed, from it on an aluminium electrolytic, F (common practice)."""


@dataclass(frozen=True)
class CapacitorDesk:
    """Every capacitor of a stage.

    Attributes
    ----------
    stage : Stage
        The stage.
    rows : tuple of CapacitorRow
        In drawing order.
    """

    stage: Stage
    rows: tuple[CapacitorRow, ...]

    header = (
        "part", "value", "type", "running", "worst", "polarity", "effective", "leakage", "output shift",
        "rating",
    )  # fmt: skip

    def __getitem__(self, name: str) -> CapacitorRow:
        """Return one capacitor."""
        known = {row.name: row for row in self.rows}
        if name not in known:
            raise UnknownNameError("capacitor", name, allowed=", ".join(known), remedy=closest(name, known))
        return known[name]

    @property
    def tolerances(self) -> dict[str, PartTolerance]:
        """Every cause that moves each capacitor, for `worst_case` and `monte_carlo`."""
        return {row.name: row.spread for row in self.rows}

    @property
    def text(self) -> str:
        """The table, advice and cautions as plain text."""
        lines = [text_table(self.header, (row.cells for row in self.rows))]
        lines += ["", RATING_NOTE, *(f"{row.name}: {advice}" for row in self.rows for advice in row.advice)]
        lines += ["", *(f"CAUTION {caution}" for row in self.rows for caution in row.cautions)]
        return "\n".join(lines)

    def __repr__(self) -> str:
        return self.text

    def _repr_markdown_(self) -> str:
        table = markdown_table(self.header, (unbroken(row.cells) for row in self.rows))
        advice = [f"- `{row.name}`: {words}" for row in self.rows for words in row.advice]
        cautions = [f"> ⚠ {words}" for row in self.rows for words in row.cautions]
        return "\n\n".join([table, RATING_NOTE, "\n".join(advice), *cautions])


def capacitor_desk(
    stage: Stage,
    *,
    kinds: Mapping[str, str | CapacitorClass] | None = None,
    rated: Mapping[str, float | str] | None = None,
    supply_max: float | str | None = None,
    ramp_time: float = 0.0,
    life_hours: float = 87_600.0,
) -> CapacitorDesk:
    """Return what every capacitor has to stand and what is left of it.

    Parameters
    ----------
    stage : Stage
        The stage.
    kinds : mapping of str to str or CapacitorClass, optional
        Type of each capacitor; film below 1 uF and aluminium from there on unless given.
    rated : mapping of str to float or str, optional
        Rated voltages, V; the smallest usual one that common practice allows unless given.
    supply_max : float or str, optional
        Highest rail, V; the nominal supply unless given.
    ramp_time : float
        Rise time of the rail, s.
    life_hours : float
        Age to design for.

    Raises
    ------
    UnknownNameError
        If a capacitor or a class does not exist.
    QuantityError
        If a voltage cannot be read, or ``stage`` is no stage.
    """
    require_stage(stage)
    age: Any = life_hours
    if not (isinstance(age, (int, float)) and age > 0):
        raise QuantityError("life_hours", age, allowed="hours", remedy="Ten years are 87600.")
    names = [part.name for part in stage.circuit.capacitors]
    for given in (*(kinds or {}), *(rated or {})):
        if given not in names:
            raise UnknownNameError("capacitor", given, allowed=", ".join(names), remedy=closest(given, names))
    top = None if supply_max is None else read_quantity(supply_max, "V", name="supply_max", low=0.0)
    volts = capacitor_voltages(stage, supply_max=top, ramp_time=ramp_time)
    cutoff = standard_figures(stage).get("low_cutoff")
    shares = sensitivities(stage, cutoff).shares if cutoff is not None else {}
    rows = []
    for part in stage.circuit.capacitors:
        kind = _kind((kinds or {}).get(part.name), stage.values[part.name])
        worst = max((abs(phase.largest) for phase in volts[part.name]), default=0.0)
        marked = (rated or {}).get(part.name)
        rating = kind.rating_for(worst) if marked is None else _rating(part.name, marked)
        rows.append(_row(stage, part, kind, volts[part.name], rating, life_hours, shares.get(part.name, 0.0)))
    return CapacitorDesk(stage, tuple(rows))


def _rating(name: str, given: Any) -> float:
    return read_quantity(given, "V", name=f"rated voltage of {name}", low=0.1, high=2000.0)


def _kind(given: str | CapacitorClass | None, value: float) -> CapacitorClass:
    if isinstance(given, CapacitorClass):
        return given
    return capacitor_class(given or ("film" if value < _SMALL else "aluminium"))


def _row(
    stage: Stage,
    part: Part,
    kind: CapacitorClass,
    phases: tuple[PhaseVoltage, ...],
    rating: float,
    life_hours: float,
    share: float,
) -> CapacitorRow:
    value = stage.values[part.name]
    running = next((phase.largest for phase in phases if phase.phase == "running"), 0.0)
    spread = kind.spread(running, rating, life_hours)
    low, high = spread.factors
    leakage = kind.leakage(value, running, rating) if running else 0.0
    return CapacitorRow(
        part, value, kind, phases, rating, (low * value, high * value), leakage,
        resistance_seen(stage, part.name), _shift(stage, part.name, leakage), spread, share,
    )  # fmt: skip


def _shift(stage: Stage, name: str, leakage: float) -> float:
    """Return how far the leakage of a capacitor moves the op-amp output, V."""
    if stage.findings or not leakage:
        return 0.0
    errors = operating_point(stage, leakage={name: leakage}).errors("amp_out")
    return sum(volts for cause, volts in errors.items() if cause == f"leakage of {name}")
