"""The design rationale: what an engineer brings to a review, derived from the design."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ..analysis.capacitors import capacitor_desk
from ..analysis.tolerance import Tolerances, tolerance_report
from ..designing.guarantee_result import GuaranteedDesign
from ..designing.parts_list import parts_list
from ..designing.synthesis import Design
from ..errors import RequirementError
from . import rationale_analysis as analysed
from . import rationale_behaviour as behaviour
from . import rationale_closing as closing
from . import rationale_derivation as derived
from . import rationale_front as front
from .bench_plan import bench_plan
from .document import Block, Heading, Paragraph, Table
from .extremes import judged_at_extremes
from .glossary import words_section
from .paper import Paper
from .rationale_alternatives import alternatives
from .record import record, require_design
from .reissue import rationale_difference
from .slugs import slug

__all__ = ["rationale", "rationale_difference"]

BOARDS, SEED = 10_000, 1
"""Random boards of the worst-case section, and the seed that draws them again."""
_DEFAULT_TOLERANCE = 0.05


def rationale(
    design: Design,
    *,
    title: str = "",
    identifier: str = "",
    revision: str = "A",
    date: str = "",
    history: Iterable[tuple[str, str, str]] = (),
    tolerance: Tolerances | None = None,
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
    history : iterable of (str, str, str)
        Earlier revisions: letter, date, what changed.
    tolerance : float, str, pair or mapping, optional
        Of the parts, as in `worst_case`; that of a guaranteed design, or 5 %, unless given.
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
    RequirementError
        If it is no design, or a line of the history has not three texts.
    UnknownNameError, QuantityError
        If a tolerance names no part or cannot be used, or the kind of supply is unknown.
    """
    require_design(design)
    earlier = tuple(_checked(line) for line in history)
    if tolerance is None:
        tolerance = design.tolerance if isinstance(design, GuaranteedDesign) else None
    body = tuple(_sections(design, tolerance, supply_kind, headphones=headphones))
    blocks = _numbered((*body, *words_section(body), *closing.approval()))
    revisions = Table(("revision", "date", "change"), (*earlier, (revision, date, "")), "Revision history.")
    facts = (
        ("Identifier", identifier),
        ("Revision", revision),
        ("Date", date),
        ("Author", ""),
        ("Reviewer (independent)", ""),
        ("Status", "draft"),
        ("Checksum of the inputs", record(design).checksum),
    )
    name = title or f"Design rationale: {design.stage.title.lower()}"
    return Paper(name, (revisions, _contents(blocks), *blocks), facts)


def _checked(line: tuple[str, str, str]) -> tuple[str, str, str]:
    """Return a line of the history; a bare text would become a row of letters."""
    if isinstance(line, str) or len(line) != len(("revision", "date", "change")):
        raise RequirementError(
            "history",
            line,
            allowed="lines of three texts: revision, date, what changed",
            remedy='Write history=[("A", "1 May", "first issue")].',
        )
    return line


def _sections(
    design: Design, stated: Tolerances | None, supply_kind: str, *, headphones: bool
) -> Iterator[Block]:
    tolerance = _DEFAULT_TOLERANCE if stated is None else stated
    report = tolerance_report(design.stage, tolerance, boards=BOARDS, seed=SEED)
    desk = capacitor_desk(design.stage, supply_max=design.requirements.highest_supply)
    judged = judged_at_extremes(design, report)
    missed = tuple(f"{j.row.id} {j.row.requirement}" for j in judged if j.verdict == "misses")
    yield from front.purpose(design, missed)
    yield from front.cautions(design, supply_kind, headphones=headphones)
    yield from front.interfaces(design)
    yield from front.requirement_table(design)
    yield from front.assumptions(design, supply_kind)
    yield from alternatives(design)
    yield from derived.derivation(design)
    yield from derived.choices(design)
    yield from analysed.low_end(design)
    yield from analysed.worst_case(design.stage, report, judged)
    yield from analysed.stress(design.stage, desk, parts_list(design, tolerance, desk=desk))
    yield from behaviour.waking_up(design)
    yield from behaviour.noise_and_rejection(design)
    yield from bench_plan(design, report, judged)
    unstated = closing.not_stated(supply_kind, stated, _DEFAULT_TOLERANCE)
    yield from closing.deviations(design, judged, desk, unstated)
    guaranteed = isinstance(design, GuaranteedDesign)
    yield from closing.reproducibility(record(design), BOARDS, SEED, guaranteed=guaranteed)


def _numbered(blocks: Iterable[Block]) -> tuple[Block, ...]:
    """Return the blocks with a number in front of every section heading."""
    found: list[Block] = []
    number = 0
    for block in blocks:
        if isinstance(block, Heading) and block.level == 2:
            number += 1
            found.append(Heading(f"{number} {block.text}", 2))
        else:
            found.append(block)
    return tuple(found)


def _contents(blocks: tuple[Block, ...]) -> Paragraph:
    headings = [block.text for block in blocks if isinstance(block, Heading) and block.level == 2]
    return Paragraph("**Contents:** " + " · ".join(f"[{text}](#{slug(text)})" for text in headings))
