"""What moved between two designs or two revisions of one."""

from __future__ import annotations

from collections.abc import Iterable

from ..designing.synthesis import Design
from ..quantities import write_quantity
from .document import Heading, Paragraph, Table
from .key_figures import key_figures
from .paper import Paper
from .record import record, require_design
from .wording import symbol

Row = tuple[str, ...]


def rationale_difference(old: Design, new: Design, *, title: str = "What changed") -> Paper:
    """Return every number that moved between two designs or revisions.

    Parameters
    ----------
    old, new : Design
        Before and after.
    title : str
        Title of the document.

    Raises
    ------
    RequirementError
        If one of the two is no design.
    """
    require_design(old)
    require_design(new)
    inputs, parts = _inputs(old, new), _parts(old, new)
    figures, verdicts = _figures(old, new), _verdicts(old, new)
    before, after = record(old), record(new)
    lost = [row[0] for row in verdicts if row[-1] == "fail" and row[-2] != "fail"]
    summary = (
        f"Moved: inputs {len(inputs)}, parts {len(parts)}, figures {len(figures) + len(verdicts)}. "
        + (f"Now fails: {', '.join(lost)}." if lost else "No requirement that held fails now.")
    )  # fmt: skip
    return Paper(
        title,
        (
            Paragraph(summary),
            Heading("Inputs"),
            _table(("input", "before", "after"), inputs, "What was asked or taken, exact values, SI units."),
            Heading("Parts"),
            _table(("part", "before", "after", "change"), parts, f"Parts that moved: {len(parts)}."),
            Heading("Requirements"),
            _table(
                ("requirement", "before", "after", "limit before", "limit after", "verdict before",
                 "verdict after"),
                verdicts, "Figures at the rail where they are worst, and their limits.",
            ),
            Heading("Other figures"),
            _table(("figure", "before", "after"), figures, "Nominal parts and rail."),
        ),
        (("Version and checksum before", f"{before.version}, {before.checksum}"),
         ("Version and checksum after", f"{after.version}, {after.checksum}")),
    )  # fmt: skip


def _table(header: Row, rows: tuple[Row, ...], caption: str) -> Table | Paragraph:
    return Table(header, rows, caption) if rows else Paragraph("None moved.")


def _moved(old: Iterable[tuple[str, str]], new: Iterable[tuple[str, str]]) -> tuple[Row, ...]:
    """Return name, before and after of everything that differs; what is missing is a dash."""
    before, after = dict(old), dict(new)
    both = ((name, before.get(name, "-"), after.get(name, "-")) for name in dict.fromkeys([*before, *after]))
    return tuple(row for row in both if row[1] != row[2])


def _inputs(old: Design, new: Design) -> tuple[Row, ...]:
    def asked(made: Design) -> list[tuple[str, str]]:
        return [pair for pair in record(made).inputs if not pair[0].startswith("part ")]

    return _moved(asked(old), asked(new))


def _parts(old: Design, new: Design) -> tuple[Row, ...]:
    rows = []
    units = {part.name: part.unit for made in (old, new) for part in made.stage.parts}
    for name, unit in units.items():
        ends = [made.stage.values.get(name) for made in (old, new)]
        if ends[0] != ends[1]:
            texts = ("-" if end is None else write_quantity(end, unit) for end in ends)
            change = f"{ends[1] / ends[0] - 1.0:+.0%}" if ends[0] and ends[1] else "-"
            rows.append((symbol(name), *texts, change))
    return tuple(rows)


def _figures(old: Design, new: Design) -> tuple[Row, ...]:
    asked = {row.requirement for made in (old, new) for row in made.checks}
    rows = _moved(*([(f.name, f.text) for f in key_figures(made)] for made in (old, new)))
    return tuple(row for row in rows if row[0] not in asked)


def _verdicts(old: Design, new: Design) -> tuple[Row, ...]:
    pairs = [{(r.requirement, r.rule.kind): r for r in made.checks} for made in (old, new)]
    rows = []
    for key in dict.fromkeys([*pairs[0], *pairs[1]]):
        both = [side.get(key) for side in pairs]
        values = ["-" if r is None else write_quantity(r.value, r.unit) for r in both]
        limits = ["-" if r is None else r.worst.limit_text for r in both]
        verdicts = ["-" if r is None else r.status for r in both]
        if any(two[0] != two[1] for two in (values, limits, verdicts)):
            rows.append((key[0], *values, *limits, *verdicts))
    return tuple(rows)
