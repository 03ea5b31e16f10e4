"""Sections of a design rationale on the low end, the worst case, sensitivities, stress and parts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ..analysis.capacitors import CapacitorDesk
from ..analysis.sensitivity import sensitivities
from ..analysis.stage import Stage
from ..analysis.textbook import textbook
from ..analysis.tolerance import QUESTIONS, ToleranceReport
from ..analysis.tolerance_catalogue import standard_figures
from ..analysis.tolerance_inputs import Limits, PartTolerance
from ..designing.parts_list import NOT_BOUGHT, PartLine, PartsList
from ..designing.synthesis import Design
from ..plots.response import response_picture
from ..plots.sensitivity import felt
from ..quantities import write_quantity
from .document import Block, Heading, Items, Paragraph, Table
from .extremes import Judged
from .pictures import drawing
from .wording import symbol, typeset

_FELT_FIGURES = ("midband_gain", "low_cutoff", "high_cutoff", "input_impedance")
_MOST_FELT = 3


def low_end(made: Design) -> Iterator[Block]:
    """Yield the response and the textbook's corners beside the whole network.

    Parameters
    ----------
    made : Design
        The design.
    """
    compared = textbook(made.stage)
    rows = [(corner.place, write_quantity(corner.frequency, "Hz"), "-") for corner in compared.corners]
    highest, product = compared.errors
    rows += [
        ("highest corner alone", write_quantity(compared.highest, "Hz"), f"{highest:+.1%}"),
        ("product of the pieces", write_quantity(compared.product, "Hz"), f"{product:+.1%}"),
        ("whole network", write_quantity(compared.whole, "Hz"), "0 %"),
    ]
    yield Heading("Frequency response")
    yield drawing(response_picture(made.stage), "Gain and phase from the signal to the output.")
    yield Table(
        ("low end", "frequency", "error against the whole network"), tuple(rows),
        "Textbook corners and the whole network.",
    )  # fmt: skip


def worst_case(stage: Stage, report: ToleranceReport, judged: tuple[Judged, ...]) -> Iterator[Block]:
    """Yield tolerances, the verdict at their ends, the spread three ways, and what drives it.

    Parameters
    ----------
    stage : Stage
        The stage.
    report : ToleranceReport
        From `tolerance_report`.
    judged : tuple of Judged
        From `judged_at_extremes`.
    """
    yield Heading("Worst case")
    yield Paragraph(
        "Extreme value decides: it answers yes or no, whatever the distribution. The other two say how "
        "likely the ends are. The rail is the nominal one unless a row says otherwise."
    )
    yield _tolerances(report.spread.tolerances.parts)
    rows = tuple(
        (j.row.id, j.row.requirement, j.range_text, j.row.worst.limit_text, j.verdict) for j in judged
    )
    yield Table(
        ("id", "requirement", "extreme values", "limit", "at the extremes"), rows,
        "Requirements with all parts at the worst ends of their tolerances.",
    )  # fmt: skip
    ways = ("figure", "nominal", "extreme value", "root sum square", "random boards, 1 % to 99 %")
    yield Table(ways, tuple(row.cells for row in report.rows), "The spread three ways.")
    yield from (Paragraph(remark) for remark in report.remarks)
    yield Items(tuple(f"*{way}:* {question}" for way, question in QUESTIONS.items()))
    verdicts: dict[str, list[str]] = {}
    for row in report.rows:
        verdicts.setdefault(row.verdict, []).append(row.label)
    yield Paragraph("How sure the extreme values are:")
    yield Items(tuple(f"{', '.join(labels)}: {typeset(text)}" for text, labels in verdicts.items()))
    yield _sensitivities(stage)


def _tolerances(parts: Mapping[str, PartTolerance]) -> Table:
    groups: dict[PartTolerance, list[str]] = {}
    for name, tolerance in parts.items():
        groups.setdefault(tolerance, []).append(name)
    causes = ("initial", "temperature", "ageing", "bias_loss")
    used = [c for c in causes if c == "initial" or any(t.causes[c] != (0.0, 0.0) for t in groups)]
    rows = tuple(
        (", ".join(symbol(n) for n in names), *(_limits(tolerance.causes[c]) for c in used))
        for tolerance, names in groups.items()
    )
    left = [c.replace("bias_loss", "loss by DC voltage") for c in causes if c not in used]
    without = f" Not given, so taken as none: {', '.join(left)}." if left else ""
    header = ("parts", *(c.replace("_", " ") for c in used))
    return Table(header, rows, f"Tolerances of the analysis. Parts that are not named are exact.{without}")


def _limits(limits: Limits) -> str:
    low, high = (100.0 * end for end in limits)
    return f"± {high:g} %" if low == -high else f"{low:+g} % to {high:+g} %"


def _sensitivities(stage: Stage) -> Table:
    rows = []
    known = standard_figures(stage)
    for name in _FELT_FIGURES:
        if name in known:
            found = sensitivities(stage, known[name])
            parts = [(n, s) for n, s in felt(found) if n in stage.values]
            words = ", ".join(f"{symbol(n)} {share:+.2f}" for n, share in parts[:_MOST_FELT])
            rows.append((known[name].label, words or "no part that is bought", found.method))
    return Table(
        ("figure", "% per % of the part, strongest first", "how found"), tuple(rows),
        "Which part moves what: +1 means that 1 % more of the part gives 1 % more of the figure.",
    )  # fmt: skip


def stress(stage: Stage, desk: CapacitorDesk, parts: PartsList) -> Iterator[Block]:
    """Yield what the capacitors stand, the parts list, and notes for the layout.

    Parameters
    ----------
    stage : Stage
        The stage.
    desk : CapacitorDesk
        From `capacitor_desk`.
    parts : PartsList
        From `parts_list`.
    """
    yield Heading("Stress")
    rows = tuple((symbol(row.name), *(typeset(cell) for cell in row.cells[1:])) for row in desk.rows)
    yield Table(desk.header, rows, "Capacitors in every phase, at the highest rail.")
    advice = tuple(dict.fromkeys(f"{symbol(row.name)}: {text}" for row in desk.rows for text in row.advice))
    if advice:
        yield Items(advice)
    yield Paragraph("The power of a resistor in the parts list is the most that the rail can put into it.")
    yield Heading("Parts list")
    header = tuple(title for title in parts.header if title != "serves")
    lines = tuple((_name(line), *(cell or "-" for cell in line.cells[1:-1])) for line in parts.lines)
    yield Table(header, lines, "Parts to buy. Types are proposals; second sources are the buyer's.")
    served = tuple(
        (_name(line), line.serves or "none of the analysed ones") for line in parts.lines if line.code
    )
    yield Table(("part", "requirements it moves, strongest first"), served, "Why each part is there.")
    yield Heading("Layout notes", 3)
    yield Paragraph("Common practice, no published source.")
    yield Items(_layout(stage))


def _name(line: PartLine) -> str:
    return symbol(line.part) if line.code else typeset(line.part)


def _layout(stage: Stage) -> tuple[str, ...]:
    values = stage.values
    notes = ["A ceramic capacitor of 100 nF from rail to ground at the supply pin of the op-amp."]
    if "c_bias" in values:
        notes.append(f"{symbol('c_bias')} next to the bias node, its ground where the output is referred to.")
    resistors = [n for n in values if n.startswith("r_") and n not in NOT_BOUGHT]
    quiet = max(resistors, key=values.__getitem__)
    notes.append(f"Short leads at the nodes of {symbol(quiet)}, the highest resistance: they pick up most.")
    notes.append("Source, load and rail meet at one ground point.")
    return tuple(notes)
