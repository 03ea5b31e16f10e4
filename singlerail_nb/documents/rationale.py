"""The design rationale: what an engineer brings to a review, derived from the design."""

from __future__ import annotations

from collections.abc import Iterator

from ..analysis.capacitors import capacitor_desk
from ..analysis.tolerance import Tolerances, tolerance_report
from ..cautions import DEFERRING, cautions_for
from ..circuit.symbols import symbol_name
from ..designing.parts_list import parts_list
from ..designing.synthesis import Design
from ..quantities import write_quantity
from . import rationale_sections as sections
from .document import Block, Caution, Heading, Items, PageBreak, Paragraph, Table
from .paper import Paper
from .record import record

BOARDS, SEED = 10_000, 1
"""Random boards of the worst-case section, and the seed that draws them again."""


def rationale(
    design: Design,
    *,
    title: str = "",
    identifier: str = "",
    revision: str = "A",
    date: str = "",
    tolerance: Tolerances = 0.05,
    supply_kind: str = "",
    headphones: bool = False,
) -> Paper:
    """Return the design rationale of a design.

    Parameters
    ----------
    design : Design
        The design.
    title, identifier, revision, date : str
        For the head; author, reviewer and signatures are left blank.
    tolerance : float, str, pair or mapping
        Of the parts, as in `worst_case`.
    supply_kind : str
        "battery", "usb", "vehicle", "aircraft", "mains" or "" if not known: brings its cautions.
    headphones : bool
        Whether the output leads to headphones or loudspeakers.

    Returns
    -------
    Paper
        ``.write("rationale.html")`` writes it; also .md and .ipynb.

    Raises
    ------
    UnknownNameError, QuantityError
        If a tolerance names no part or cannot be used.
    """
    stage = design.stage
    report = tolerance_report(stage, tolerance, boards=BOARDS, seed=SEED)
    desk = capacitor_desk(stage, supply_max=design.requirements.highest_supply)
    blocks: list[Block] = [*_purpose(design), *_cautions(design, supply_kind, headphones=headphones)]
    for section in (sections.interfaces, sections.requirement_table, sections.assumptions):
        blocks += section(design)
    blocks += [*sections.alternatives(design), PageBreak(), *sections.derivation(design), PageBreak()]
    blocks += [*sections.low_end(design), *sections.worst_case(report)]
    blocks += sections.stress(desk, parts_list(design, tolerance, desk=desk))
    blocks += [*sections.waking_up(design), *sections.noise_and_rejection(design)]
    blocks += [*sections.test_plan(design, report), *_deviations(design), *_record(design)]
    facts = (
        ("Identifier", identifier),
        ("Revision", revision),
        ("Date", date),
        ("Author", ""),
        ("Reviewer (independent)", ""),
        ("Status", "draft"),
    )
    return Paper(title or f"Design rationale: {stage.title.lower()}", tuple(blocks), facts)


def _purpose(design: Design) -> Iterator[Block]:
    needed = design.requirements
    verdict = "meets every requirement" if design.passed else "does not meet every requirement"
    yield Heading("Purpose and scope")
    yield Paragraph(
        f"A {design.stage.title.lower()} with a gain of {write_quantity(needed.gain, 'V/V')} on a single "
        f"rail of {write_quantity(needed.supply, 'V')}. The stage described here {verdict}. Out of scope: "
        "protection against transients, electromagnetic compatibility, layout and the supply itself."
    )


def _cautions(design: Design, supply_kind: str, *, headphones: bool) -> Iterator[Block]:
    found = cautions_for(
        capacitors=design.stage.values,
        highest_rail=design.requirements.highest_supply,
        supply=supply_kind,
        headphones=headphones,
    )
    for caution in found:
        yield Caution(caution.title, caution.text)
    if found:
        yield Paragraph(DEFERRING)


def _deviations(design: Design) -> Iterator[Block]:
    yield Heading("Deviations and open points")
    failed = [f"{row.id} {row.requirement}: {row.text}" for row in design.review.failed]
    yield Items(tuple(failed)) if failed else Paragraph("None known.")


def _record(design: Design) -> Iterator[Block]:
    kept = record(design)
    yield Heading("Reproducibility record")
    yield Paragraph(
        f"singlerail_nb {kept.version}, checksum {kept.checksum}; {BOARDS} random boards with seed {SEED}."
    )
    yield Table(("input", "value"), kept.inputs)
    yield Heading("Approval")
    blank = (("author", "", ""), ("independent reviewer", "", ""), ("approver", "", ""))
    yield Table(("role", "name and signature", "date"), blank)


def rationale_difference(old: Design, new: Design) -> Paper:
    """Return every number that moved between two designs or revisions.

    Parameters
    ----------
    old, new : Design
        Before and after.
    """
    before, after = dict(record(old).inputs), dict(record(new).inputs)
    inputs = tuple(
        (name, before.get(name, "-"), after.get(name, "-"))
        for name in dict.fromkeys([*before, *after])
        if before.get(name) != after.get(name)
    )
    figures = {(row.requirement, row.rule.kind): row for row in old.checks}
    moved = []
    for row in new.checks:
        was = figures.get((row.requirement, row.rule.kind))
        texts = ["-" if r is None else write_quantity(r.value, r.unit) for r in (was, row)]
        if texts[0] != texts[1] or (was is not None and was.status != row.status):
            moved.append((row.requirement, *texts, "-" if was is None else was.status, row.status))
    parts = tuple(
        (symbol_name(p.name), *(_value(design, p.name, p.unit) for design in (old, new)))
        for p in new.stage.parts
        if old.stage.values.get(p.name) != new.stage.values[p.name]
    )
    return Paper(
        "What changed",
        (
            Heading("Parts"),
            Table(("part", "before", "after"), parts, f"{len(parts)} parts moved."),
            Heading("Figures"),
            Table(("requirement", "before", "after", "verdict before", "verdict after"), tuple(moved)),
            Heading("Inputs"),
            Table(("input", "before", "after"), inputs),
        ),
        (("Checksum before", record(old).checksum), ("Checksum after", record(new).checksum)),
    )


def _value(design: Design, name: str, unit: str) -> str:
    value = design.stage.values.get(name)
    return "-" if value is None else write_quantity(value, unit)
