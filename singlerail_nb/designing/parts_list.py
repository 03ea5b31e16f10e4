"""The parts list: value, code, tolerance, rating, polarity, purpose, and the requirement served."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Mapping
from dataclasses import dataclass, fields
from pathlib import Path

from ..analysis.capacitors import CapacitorDesk, capacitor_desk
from ..analysis.stage import Stage
from ..analysis.tolerance import Tolerances
from ..analysis.tolerance_inputs import PartTolerance, tolerance_set
from ..circuit.elements import Part
from ..errors import require_result
from ..files import write_at_once
from ..quantities import write_code, write_quantity
from ..quantities.tables import markdown_table, text_table, unbroken
from .requirements import Requirements
from .synthesis import Design
from .verification import Check, verify

NOT_BOUGHT = ("r_source", "r_load")
"""Parts that belong to the source and the load."""
_STEP = 1e-3
_FELT = 0.02


@dataclass(frozen=True)
class PartLine:
    """One line of the parts list, as text.

    Attributes
    ----------
    part : str
        Name of the part.
    value, code : str
        Value with unit, and its IEC 60062 code.
    tolerance : str
        As delivered.
    kind : str
        Type.
    rating : str
        Rated voltage of a capacitor, least power of a resistor, rail of an op-amp.
    polarity : str
        Where + goes.
    purpose : str
        What it is for.
    serves : str
        The requirements that it moves, the strongest first.
    """

    part: str
    value: str
    code: str
    tolerance: str
    kind: str
    rating: str
    polarity: str
    purpose: str
    serves: str

    @property
    def cells(self) -> tuple[str, ...]:
        """The line as cells."""
        return tuple(getattr(self, field.name) for field in fields(self))


@dataclass(frozen=True)
class PartsList:
    """Everything to buy.

    Attributes
    ----------
    lines : tuple of PartLine
        In drawing order, then the op-amps.
    cautions : tuple of str
        Safety cautions of the parts.
    """

    lines: tuple[PartLine, ...]
    cautions: tuple[str, ...]

    @property
    def header(self) -> tuple[str, ...]:
        """Column titles."""
        return tuple(field.name for field in fields(PartLine))

    def csv(self) -> str:
        """Return the list as CSV text with a header line."""
        text = io.StringIO()
        writer = csv.writer(text, lineterminator="\n")
        writer.writerow(self.header)
        writer.writerows(line.cells for line in self.lines)
        return text.getvalue()

    def write(self, path: str | Path) -> None:
        """Write the list to a CSV file.

        Parameters
        ----------
        path : path
            The file, UTF-8.
        """
        write_at_once(path, self.csv())

    def __repr__(self) -> str:
        table = text_table(self.header, (line.cells for line in self.lines))
        return "\n".join([table, *(f"CAUTION {caution}" for caution in self.cautions)])

    def _repr_markdown_(self) -> str:
        table = markdown_table(self.header, (unbroken(line.cells) for line in self.lines))
        return "\n\n".join([table, *(f"**Caution** {caution}" for caution in self.cautions)])


def parts_list(
    design: Design, tolerance: Tolerances = 0.05, *, desk: CapacitorDesk | None = None
) -> PartsList:
    """Return the parts list of a design.

    Parameters
    ----------
    design : Design
        The design; also one from `guarantee` or ``select(...).design``.
    tolerance : float, str, pair or mapping
        As delivered, as in `analysis.tolerance.worst_case`.
    desk : CapacitorDesk, optional
        Types and ratings of the capacitors; the usual ones at the highest rail unless given.

    Raises
    ------
    UnknownNameError
        If a tolerance names no part.
    QuantityError
        If it is no design, or a tolerance cannot be used.
    """
    require_result(design, Design, "parts_list(sr.design(requirements))")
    stage, needed = design.stage, design.requirements
    at_desk = desk or capacitor_desk(stage, supply_max=needed.highest_supply)
    tolerances = tolerance_set(stage, tolerance).parts
    served = requirements_served(stage, needed)
    lines = [
        _line(stage, part, tolerances, at_desk, served.get(part.name, ()), needed)
        for part in stage.circuit.parts
        if part.name not in NOT_BOUGHT
    ]
    lines += _opamps(stage)
    return PartsList(tuple(lines), tuple(c for row in at_desk.rows for c in row.cautions))


def _line(
    stage: Stage,
    part: Part,
    tolerances: Mapping[str, PartTolerance],
    desk: CapacitorDesk,
    served: tuple[Check, ...],
    needed: Requirements,
) -> PartLine:
    value = stage.values[part.name]
    kind, rating, polarity = "resistor", _power(stage, part, needed), ""
    if part.kind == "capacitor":
        row = desk[part.name]
        kind = row.kind.title
        rating = write_quantity(row.rated, "V")
        polarity = f"+ at {row.plus_node}" if row.kind.polarised else ""
    tolerance = _tolerance_text(tolerances.get(part.name))
    ids = ", ".join(f"{check.id} {check.requirement}" for check in served)
    return PartLine(
        part.name, write_quantity(value, part.unit), write_code(value, part.unit), tolerance, kind, rating,
        polarity, part.label, ids,
    )  # fmt: skip


def _opamps(stage: Stage) -> list[PartLine]:
    """Return a line for every op-amp, if one is chosen; its decoupling is a matter of the layout."""
    record = stage.opamp
    if record is None:
        return []
    ends = [write_quantity(volts, "V") for volts in (record.supply_min, record.supply_max)]
    rail = f"rail {ends[0]} to {ends[1]}" if math.isfinite(record.supply_max) else f"rail from {ends[0]}"
    return [
        PartLine(pins.name, record.name, "", "", "op-amp", rail, "", record.title, "")
        for pins in stage.circuit.opamps
    ]


def _tolerance_text(tolerance: PartTolerance | None) -> str:
    if tolerance is None:
        return ""
    low, high = (100.0 * v for v in tolerance.initial)
    return f"± {high:g} %" if low == -high else f"{low:+g} % to {high:+g} %"


def _power(stage: Stage, part: Part, needed: Requirements) -> str:
    """Return the largest power that the rail can put into a resistor, W: no fault exceeds it."""
    return f"at least {write_quantity(needed.highest_supply**2 / stage.values[part.name], 'W', 2)}"


def requirements_served(stage: Stage, needed: Requirements) -> dict[str, tuple[Check, ...]]:
    """Return for every part the requirements whose figure it moves, the most moved first.

    A part serves a requirement if the figure moves by more than 0.02 % per % of the part.

    Parameters
    ----------
    stage : Stage
        The stage.
    needed : Requirements
        What it must do.
    """
    checks = verify(stage, needed)
    served: dict[str, tuple[Check, ...]] = {}
    for part in stage.circuit.parts:
        if part.name in NOT_BOUGHT:
            continue
        moved = verify(stage.with_parts(**{part.name: stage.values[part.name] * (1.0 + _STEP)}), needed)
        shares = {c: _share(c, m) for c, m in zip(checks, moved, strict=True)}
        felt = sorted((c for c in checks if shares[c] > _FELT), key=lambda c: -shares[c])
        served[part.name] = tuple(felt)
    return served


def _share(check: Check, moved: Check) -> float:
    change = moved.value - check.value
    return abs(change / check.value) / _STEP if check.value and abs(check.value) < _LARGEST else 0.0


_LARGEST = 1e30
