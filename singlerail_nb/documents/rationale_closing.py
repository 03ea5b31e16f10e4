"""Last sections of a design rationale: deviations, reproducibility record, approval."""

from __future__ import annotations

from collections.abc import Iterator

from ..designing.synthesis import Design
from .document import Block, Heading, Items, Paragraph, Table
from .extremes import Judged
from .record import Record
from .wording import typeset


def deviations(made: Design, judged: tuple[Judged, ...]) -> Iterator[Block]:
    """Yield what is not met, and what has to be closed before release.

    Parameters
    ----------
    made : Design
        The design.
    judged : tuple of Judged
        Requirements at the ends of the tolerances.
    """
    found = [f"{row.id} {row.requirement}: {row.text}" for row in made.review.failed]
    found += [
        f"{j.row.id} {j.row.requirement} is not guaranteed: {j.range_text} at the extremes, "
        f"{j.row.worst.limit_text}. Closer parts, or a design from `guarantee`, would close it."
        for j in judged
        if j.verdict == "misses" and j.row.status != "fail"
    ]
    found += [f"{row.id} {row.requirement}: {caution}" for row in made.checks for caution in row.cautions]
    done = {j.row.id for j in judged}
    left = [f"{row.id} {row.requirement}" for row in made.checks if row.id not in done]
    if left:
        found.append(f"Not analysed at the extremes: {', '.join(left)}.")
    found.append("The assumptions have no owner yet; the measured column of the test plan is empty.")
    yield Heading("Deviations and open points")
    if made.passed and all(j.verdict == "holds" for j in judged):
        yield Paragraph("No requirement is missed, neither with nominal parts nor at the extremes.")
    yield Items(tuple(typeset(text) for text in found))


def reproducibility(kept: Record, boards: int, seed: int) -> Iterator[Block]:
    """Yield what it takes to find every number again.

    Parameters
    ----------
    kept : Record
        From `record`.
    boards, seed : int
        Of the random boards.
    """
    yield Heading("Reproducibility record")
    yield Paragraph(
        f"singlerail_nb {kept.version}, checksum of all inputs {kept.checksum}; {boards} random boards with "
        f"seed {seed}. A design file holds these inputs; it gives the same document again, number by number."
    )
    inputs = zip(kept.inputs, kept.units, strict=True)
    rows = tuple((name, value, unit or "-") for (name, value), unit in inputs)
    yield Table(("input", "exact value", "unit"), rows, "Inputs as the program takes them.")


def approval() -> Iterator[Block]:
    """Yield room for signatures."""
    yield Heading("Approval")
    roles = ("author", "independent reviewer", "approver")
    yield Table(("role", "name and signature", "date"), tuple((role, "", "") for role in roles))
