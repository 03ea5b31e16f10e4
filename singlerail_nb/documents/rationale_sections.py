"""The sections of a design rationale, each from the design and nothing else."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ..analysis.capacitors import CapacitorDesk
from ..analysis.noise import noise
from ..analysis.startup import startup
from ..analysis.startup_reports import reverse_voltages, thump
from ..analysis.supply_rejection import supply_rejection
from ..analysis.textbook import textbook
from ..analysis.tolerance import ToleranceReport
from ..circuit.symbols import symbol_name
from ..circuit.typeset import sentence
from ..designing.parts_list import PartsList
from ..designing.synthesis import TOPOLOGIES, Design, design
from ..errors import SingleRailError
from ..plots.circuit_picture import schematic
from ..plots.picture import Picture
from ..plots.response import bias_filter_picture, response_picture
from ..plots.startup import startup_picture
from ..quantities import write_quantity
from .document import Block, Drawing, Formula, Heading, Items, Paragraph, Table
from .faults import fault_table

RIPPLE_LINES = (50.0, 60.0, 100.0, 120.0)


def drawing(picture: Picture, caption: str) -> Drawing:
    """Return a picture as a block.

    Parameters
    ----------
    picture : Picture
        The picture.
    caption : str
        What it shows.
    """
    return Drawing(picture.png(), caption, picture.text)


def interfaces(made: Design) -> Iterator[Block]:
    """Yield source, load, rail and the schematic.

    Parameters
    ----------
    made : Design
        The design.
    """
    needed = made.requirements
    load = "none" if needed.load is None else write_quantity(needed.load, "ohm")
    rails = f"{needed.lowest_supply:g} V to {needed.highest_supply:g} V, nominal {needed.supply:g} V"
    rows = (
        ("source", f"{write_quantity(needed.source_resistance, 'ohm')}, resting at 0 V"),
        ("load", load),
        ("rail", rails),
        ("op-amp", "ideal" if needed.opamp is None else f"{needed.opamp.name}: {needed.opamp.source}"),
    )
    picture = schematic(made.stage, voltages=True)
    yield Heading("Interfaces")
    yield Table(("interface", "value"), rows)
    yield Drawing(picture.svg, "Schematic with resting voltages.", picture.text)


def requirement_table(made: Design) -> Iterator[Block]:
    """Yield the requirements with figures, limits, margins and verdicts.

    Parameters
    ----------
    made : Design
        The design.
    """
    rails = [f"at {write_quantity(rail, 'V')}" for rail in made.review.rails]
    yield Heading("Requirements and margins")
    yield Table(
        ("id", "requirement", *rails, "limit", "margin", "method", "verdict"),
        tuple(row.cells for row in made.checks),
        "Every requirement on the whole network, source and load connected.",
    )
    notes = [f"{row.id}: {caution}" for row in made.checks for caution in row.cautions]
    notes += [f"{row.id} would pass with {made.review.mend_text(row.id)}" for row in made.review.failed]
    if notes:
        yield Items(tuple(notes))


def assumptions(made: Design) -> Iterator[Block]:
    """Yield what was taken for granted, with the risk if it is false.

    Parameters
    ----------
    made : Design
        The design.
    """
    needed = made.requirements
    found = [
        ("the source rests at 0 V and its resistance does not change", "the cut-off and the gain move"),
        ("parts are linear and at 25 °C unless the worst case says otherwise", "see the worst case"),
        ("no stray capacitance and no layout effects", "the top end moves"),
    ]
    if needed.opamp is None:
        found.append(("the op-amp is ideal", "no statement about top end, swing, noise and offset"))
    else:
        found.append(("the op-amp has one dominant pole", "stability margins are those of the model"))
    rows = [(f"A{i}", what, risk, "", "") for i, (what, risk) in enumerate(found, 1)]
    yield Heading("Assumptions")
    yield Table(("id", "assumption", "risk if false", "owner", "closed on"), tuple(rows))


def alternatives(made: Design) -> Iterator[Block]:
    """Yield the other topologies with their figures, or the reason why they cannot do it.

    Parameters
    ----------
    made : Design
        The design.
    """
    rows = []
    for topology in TOPOLOGIES:
        try:
            other = made if topology == made.topology else design(made.requirements, topology)
        except SingleRailError as error:
            rows.append((topology, "-", "-", "-", f"rejected: {error}"))
            continue
        ripple = other.stage.transfer("supply", "output").magnitude_db(100.0)
        impedance = other.stage.input_impedance().midband_gain()
        verdict = "chosen" if topology == made.topology else "possible, not chosen"
        rows.append(
            (
                topology,
                write_quantity(impedance, "ohm"),
                write_quantity(ripple, "dB"),
                write_quantity(sum(v for n, v in other.stage.values.items() if n.startswith("c_")), "F"),
                verdict,
            )
        )
    yield Heading("Alternatives")
    header = ("topology", "input impedance", "rail to output, 100 Hz", "sum of capacitance", "verdict")
    yield Table(header, tuple(rows))


def derivation(made: Design) -> Iterator[Block]:
    """Yield the algebra of the stage, then every decision with its numbers.

    Parameters
    ----------
    made : Design
        The design.
    """
    yield Heading("Derivation")
    for step in made.stage.derivation():
        yield Heading(step.title, 3)
        yield Paragraph(sentence(step.question))
        for equation in step.equations:
            yield Formula(equation.latex, equation.text)
        yield Paragraph(sentence(step.remark))
    yield Heading("Choices")
    for choice in made.steps:
        yield Heading(sentence(f"{choice.symbol}: {choice.question}"), 3)
        yield Formula(choice.substituted_latex, choice.text)
        taken = write_quantity(choice.chosen, choice.unit)
        gives = sentence(f"({choice.rounding}), which gives {choice.recomputed}. {choice.reason}")
        yield Paragraph(f"Taken: **{taken}** {gives}")
        yield Paragraph(f"*Rejected:* {sentence(choice.rejected)} *Source:* {choice.source}.")


def low_end(made: Design) -> Iterator[Block]:
    """Yield the response and the textbook's corners beside the whole network.

    Parameters
    ----------
    made : Design
        The design.
    """
    compared = textbook(made.stage)
    rows = [(corner.place, write_quantity(corner.frequency, "Hz"), "") for corner in compared.corners]
    highest, product = compared.errors
    rows += [
        ("highest corner alone", write_quantity(compared.highest, "Hz"), f"{highest:+.1%}"),
        ("product of the pieces", write_quantity(compared.product, "Hz"), f"{product:+.1%}"),
        ("whole network", write_quantity(compared.whole, "Hz"), ""),
    ]
    yield Heading("Frequency response")
    yield drawing(response_picture(made.stage), "Gain and phase from the signal to the output.")
    yield Table(("low end", "frequency", "error"), tuple(rows), "Textbook corners and the whole network.")


def worst_case(report: ToleranceReport) -> Iterator[Block]:
    """Yield the tolerance analysis, three ways beside each other.

    Parameters
    ----------
    report : ToleranceReport
        From `tolerance_report`.
    """
    yield Heading("Worst case")
    yield Table(report.header, tuple(row.cells for row in report.rows))
    yield Items(tuple(f"{row.label}: {row.verdict}" for row in report.rows))


def stress(desk: CapacitorDesk, parts: PartsList) -> Iterator[Block]:
    """Yield what the capacitors stand, and the parts list.

    Parameters
    ----------
    desk : CapacitorDesk
        From `capacitor_desk`.
    parts : PartsList
        From `parts_list`.
    """
    yield Heading("Stress")
    yield Table(desk.header, tuple(row.cells for row in desk.rows), "Capacitors in every phase.")
    advice = tuple(dict.fromkeys(f"{row.name}: {text}" for row in desk.rows for text in row.advice))
    if advice:
        yield Items(advice)
    yield Heading("Parts list")
    yield Table(parts.header, tuple(line.cells for line in parts.lines))


def waking_up(made: Design) -> Iterator[Block]:
    """Yield start-up and the symptoms of failed parts.

    Parameters
    ----------
    made : Design
        The design.
    """
    stage = made.stage
    low, high = (0.0, 0.0)
    if stage.opamp is not None and stage.opamp.swing:
        load = made.requirements.load or math.inf
        reach = stage.opamp.output_range(stage.supply, load)
        low, high = reach[0], stage.supply - reach[1]
    run = startup(stage, low=low, high=high)
    bang = thump(run)
    yield Heading("Start-up and faults")
    yield drawing(startup_picture(run), "Node voltages after the rail steps up.")
    yield Paragraph(
        f"The largest voltage at the output while waking up is {write_quantity(bang.peak.volts, 'Vp')}, "
        f"{write_quantity(bang.peak.time, 's')} after power comes on."
    )
    wrong = reverse_voltages(run)
    words = [f"{symbol_name(n)} {write_quantity(-e.volts, 'V')}" for n, e in wrong.items()]
    yield Paragraph(f"Reverse voltage while waking up: {', '.join(words) if words else 'on no capacitor'}.")
    rows = tuple((symbol_name(f.part), f.state, f.symptom) for f in fault_table(stage))
    yield Table(("part", "fails", "symptom"), rows, "One part failed at a time, rail nominal.")


def noise_and_rejection(made: Design) -> Iterator[Block]:
    """Yield noise and supply rejection with the limits of the model.

    Parameters
    ----------
    made : Design
        The design.
    """
    demands = made.requirements.demands
    band = (demands.number("noise_low"), demands.number("noise_high"))
    noisy = noise(made.stage)
    by_source = noisy.rms_by_source(*band)
    total = noisy.rms(*band)
    ordered = sorted(by_source, key=lambda name: -by_source[name])[:6]
    shares = {name: (by_source[name] / total) ** 2 for name in ordered}
    rows = tuple((n, write_quantity(by_source[n], "Vrms"), f"{100 * shares[n]:.3g} %") for n in ordered)
    where = f"{write_quantity(band[0], 'Hz')} to {write_quantity(band[1], 'Hz')}"
    yield Heading("Noise and supply rejection")
    yield Table(
        ("contributor", "at the output", "share of the square"),
        rows,
        f"Noise at the output, {where}: {write_quantity(total, 'Vrms')} in all.",
    )
    yield drawing(bias_filter_picture(made.stage), "Ripple of the rail at the bias node and at the output.")
    rejection = {state: supply_rejection(made.stage, source=state) for state in ("connected", "open")}
    lines = tuple(
        (write_quantity(f, "Hz"), *(_decibels(abs(found.total(f))) for found in rejection.values()))
        for f in RIPPLE_LINES
    )
    yield Table(("ripple line", "source connected", "source open"), lines, "Rail to output, volts per volt.")
    yield Paragraph(
        "The model is linear with one pole per op-amp and hard limits; it knows no slew rate, layout, "
        "self-heating or device spread beyond the tolerances given."
    )


def _decibels(ratio: float) -> str:
    return write_quantity(20.0 * math.log10(ratio) if ratio > 0 else -math.inf, "dB")


def test_plan(made: Design, report: ToleranceReport) -> Iterator[Block]:
    """Yield one row per requirement with the expected band and room for what the bench says.

    Parameters
    ----------
    made : Design
        The design.
    report : ToleranceReport
        Gives the bands.
    """
    bands = {row.label: row.cells[2] for row in report.rows}
    rows = tuple(
        (row.id, row.requirement, row.worst.limit_text, bands.get(row.requirement, row.cells[2]), "", "", "")
        for row in made.checks
    )
    yield Heading("Test plan")
    header = ("id", "requirement", "limit", "expected", "measured", "pass", "instrument")
    yield Table(header, rows)
