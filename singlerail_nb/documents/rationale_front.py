"""First sections of a design rationale: purpose, interfaces, requirements, assumptions."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ..cautions import DEFERRING, cautions_for
from ..designing.requirements import Requirements
from ..designing.review import ReviewRow
from ..designing.synthesis import Design
from ..plots.circuit_picture import schematic
from ..quantities import write_quantity
from .document import Block, Caution, Drawing, Heading, Items, Paragraph, Table
from .key_figures import key_figures
from .wording import typeset


def purpose(made: Design, extremes: tuple[str, ...]) -> Iterator[Block]:
    """Yield what the stage is for, the verdict, and its main figures.

    Parameters
    ----------
    made : Design
        The design.
    extremes : tuple of str
        Requirements that parts at the ends of their tolerance miss.
    """
    needed, rows = made.requirements, made.checks
    met = sum(row.status != "fail" for row in rows)
    verdict = "meets every requirement" if made.passed else "does not meet every requirement"
    least = min(rows, key=lambda row: row.margin)
    title = made.stage.title.lower()
    article = "An" if title[0] in "aeiou" else "A"
    margin = f"{round(100.0 * least.margin) + 0} %" if math.isfinite(least.margin) else "unbounded below zero"
    yield Heading("Purpose and scope")
    yield Paragraph(
        f"{article} {title} with a gain of {write_quantity(needed.gain, 'V/V')} on a single "
        f"rail of {write_quantity(needed.supply, 'V')}. The stage described here {verdict} with nominal "
        f"parts: {met} of {len(rows)}. The least margin is {margin}, "
        f"{least.id} {least.requirement}."
    )
    if extremes:
        missed = ", ".join(extremes)
        yield Paragraph(f"With parts at the ends of their tolerance it misses {missed}: see worst case.")
    figures = tuple((figure.name, figure.text) for figure in key_figures(made))
    yield Table(("figure", "value"), figures, "The stage in figures, nominal parts and rail.")
    yield Paragraph(
        "Out of scope: protection against transients, electromagnetic compatibility, layout and the supply "
        f"itself. {_nothing(needed)}"
    )


def _nothing(needed: Requirements) -> str:
    if needed.load is None:
        return "Doing nothing leaves the signal as it is, at a gain of 1."
    share = needed.load / (needed.load + needed.source_resistance)
    return f"Doing nothing, the source straight on the load, gives a gain of {share:.3g}."


def cautions(made: Design, supply_kind: str, *, headphones: bool) -> Iterator[Block]:
    """Yield the cautions that parts, rail and load bring.

    Parameters
    ----------
    made : Design
        The design.
    supply_kind : str
        As in `cautions_for`.
    headphones : bool
        Whether the output leads to headphones or loudspeakers.
    """
    found = cautions_for(
        capacitors=made.stage.values,
        highest_rail=made.requirements.highest_supply,
        supply=supply_kind,
        headphones=headphones,
    )
    for caution in found:
        yield Caution(caution.title, caution.text)
    if found:
        yield Paragraph(DEFERRING)


def interfaces(made: Design) -> Iterator[Block]:
    """Yield source, load, rail and the schematic.

    Parameters
    ----------
    made : Design
        The design.
    """
    needed = made.requirements
    load = "none" if needed.load is None else f"{write_quantity(needed.load, 'ohm')} to ground"
    rails = (write_quantity(v, "V") for v in (needed.lowest_supply, needed.highest_supply, needed.supply))
    low, high, nominal = rails
    rows = (
        ("source", f"{write_quantity(needed.source_resistance, 'ohm')}, resting at 0 V"),
        ("load", load),
        ("rail", f"{low} to {high}, nominal {nominal}, to ground; no negative rail"),
        ("ground", "common to source, load and rail"),
        ("op-amp", "ideal" if needed.opamp is None else f"{needed.opamp.name}: {needed.opamp.source}"),
    )
    picture = schematic(made.stage, voltages=True)
    yield Heading("Interfaces")
    yield Table(("interface", "value"), rows, "What the stage is connected to.")
    yield Drawing(picture.svg, "Schematic with resting voltages.", picture.text)


def requirement_table(made: Design) -> Iterator[Block]:
    """Yield the requirements with their origin, then the figures, margins and verdicts.

    Parameters
    ----------
    made : Design
        The design.
    """
    asked = tuple(
        (row.id, row.requirement, row.worst.limit_text, _origin(row, made.requirements), row.method)
        for row in made.checks
    )
    rails = [f"at {write_quantity(rail, 'V')}" for rail in made.review.rails]
    results = tuple((*row.cells[:-2], row.cells[-1]) for row in made.checks)
    yield Heading("Requirements and margins")
    yield Table(
        ("id", "requirement", "limit", "origin", "verified by analysis"), asked,
        "What is asked. The figures are those of the whole network, source and load connected.",
    )  # fmt: skip
    yield Table(
        ("id", "requirement", *rails, "limit", "margin", "verdict"), results,
        "What the stage does with nominal parts, rail by rail; the margin is the least of them.",
    )  # fmt: skip
    notes = [f"{row.id}: {caution}" for row in made.checks for caution in row.cautions]
    notes += [f"{row.id} would pass with {made.review.mend_text(row.id)}" for row in made.review.failed]
    if notes:
        yield Items(tuple(typeset(note) for note in notes))


def _origin(row: ReviewRow, needed: Requirements) -> str:
    """Return where a requirement comes from: asked, taken as the default, data sheet or circuit."""
    fixed = {
        "rail for the op-amp": "data sheet of the op-amp",
        "DC gain for the bias": "the bias must not be amplified",
    }
    defaults = {"divider current": "divider_current", "bias-filter corner": "bias_filter_ratio"}
    if row.requirement in fixed:
        return fixed[row.requirement]
    name = defaults.get(row.requirement)
    if name is not None and getattr(needed, name) == type(needed).__dataclass_fields__[name].default:
        return "default; common practice, no published source"
    return "stated requirement"


def assumptions(made: Design, supply_kind: str) -> Iterator[Block]:
    """Yield what was taken for granted, why, and the risk if it is false.

    Parameters
    ----------
    made : Design
        The design.
    supply_kind : str
        As in `cautions_for`.
    """
    found = [
        ("the source rests at 0 V and its resistance does not change", "stated as one number",
         "cut-off and gain move; a source with DC turns the polarity of the input capacitor"),
        ("the source is not fed from this rail", "a source is one voltage and one resistance here",
         "a capsule or sensor that the rail feeds brings its ripple in with the signal"),
        ("the load is a resistor", "stated as one number", "a capacitive load costs phase margin"),
        ("parts are linear and at 25 °C unless the worst case says otherwise", "the model is linear",
         "see worst case and stress"),
        ("no stray capacitance and no layout effects", "the layout is not known yet", "the top end moves"),
    ]  # fmt: skip
    if made.requirements.opamp is None:
        risk = "no statement about top end, swing, noise and offset"
        found.append(("the op-amp is ideal", "none is chosen yet", risk))
    else:
        why = "one pole describes a compensated op-amp up to its crossover"
        found.append(("the op-amp has one dominant pole", why, "stability margins are those of the model"))
    if supply_kind in _HARSH:
        needed = made.requirements
        ends = (write_quantity(volts, "V") for volts in (needed.lowest_supply, needed.highest_supply))
        kept = f"protection in front keeps the rail within {' to '.join(ends)}"
        risk = "they destroy the op-amp, and capacitors rated for the highest rail"
        found.append((kept, "transients are outside the model", risk))
    rows = tuple((f"A{i}", *each, "", "") for i, each in enumerate(found, 1))
    header = ("id", "assumption", "why", "risk if false", "owner", "closed on")
    yield Heading("Assumptions")
    yield Table(header, rows, "To be owned and closed before release.")


_HARSH = ("vehicle", "aircraft")
