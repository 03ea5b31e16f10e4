"""Last sections of a design rationale: deviations, reproducibility record, approval."""

from __future__ import annotations

from collections.abc import Iterator

from ..analysis.capacitors import CapacitorDesk
from ..analysis.stability import loop_gain
from ..analysis.tolerance import Tolerances
from ..designing.bias_sizing import LEAST_MARGIN
from ..designing.synthesis import Design
from ..quantities import write_quantity
from .document import Block, Heading, Items, Paragraph, Table
from .extremes import Judged
from .rationale_derivation import unexplained
from .record import Record
from .wording import typeset


def deviations(
    made: Design, judged: tuple[Judged, ...], desk: CapacitorDesk, unstated: tuple[str, ...]
) -> Iterator[Block]:
    """Yield what is not met, and what has to be closed before release.

    Parameters
    ----------
    made : Design
        The design.
    judged : tuple of Judged
        Requirements at the ends of the tolerances.
    desk : CapacitorDesk
        Its capacitors at the highest rail.
    unstated : tuple of str
        From `not_stated`.
    """
    found = [row.text for row in made.review.failed]
    found += [
        f"{j.row.id} {j.row.requirement} is not guaranteed: {j.range_text} at the extremes, "
        f"{j.row.worst.limit_text}. Closer parts, or a design from `guarantee`, would close it."
        for j in judged
        if j.verdict == "misses" and j.row.status != "fail"
    ]
    found += [f"{row.id} {row.requirement}: {caution}" for row in made.checks for caution in row.cautions]
    found += [*_leakage(made, desk), *_unasked_stability(made), *_ideal_level(made)]
    done = {j.row.id for j in judged}
    left = [f"{row.id} {row.requirement}" for row in made.checks if row.id not in done]
    if left:
        found.append(f"Not analysed at the extremes: {', '.join(left)}.")
    found += unstated
    if unexplained(made):
        found.append(f"No reason is recorded for {', '.join(unexplained(made))}: see choices.")
    found.append("The assumptions have no owner yet; the measured column of the test plan is empty.")
    yield Heading("Deviations and open points")
    if made.passed and all(j.verdict == "holds" for j in judged):
        yield Paragraph("No requirement is missed, neither with nominal parts nor at the extremes.")
    yield Items(tuple(typeset(text) for text in found))


def not_stated(supply_kind: str, tolerance: Tolerances | None, usual: float) -> tuple[str, ...]:
    """Return what the document had to do without, one sentence each.

    Parameters
    ----------
    supply_kind : str
        As in `cautions_for`; empty if it was not stated.
    tolerance : float, str, pair, mapping or None
        As it was given; None if the design had none either.
    usual : float
        What was taken then, a ratio.
    """
    found = () if supply_kind else (_NO_KIND,)
    return found if tolerance is not None else (*found, _NO_TOLERANCE.format(f"{100.0 * usual:g} %"))


_NO_TOLERANCE = (
    "No tolerances were stated: {} was taken for every part. Electrolytic capacitors usually have 20 % "
    "(common practice, no published source)."
)
_NO_KIND = (
    "It was not stated what the rail comes from: if it is a vehicle, an aircraft or the mains, the cautions "
    "of that rail are missing here. State `supply_kind`."
)


def _leakage(made: Design, desk: CapacitorDesk) -> Iterator[str]:
    """Yield that the leakage of capacitors, which the DC error does not count, takes it over its limit."""
    for row in made.checks:
        if row.requirement == "DC error at the output" and row.status != "fail":
            shifts = {found.name: found.shift for found in desk.rows if abs(found.shift) > _LEAST * row.limit}
            if row.value + sum(abs(shift) for shift in shifts.values()) > row.limit:
                parts = ", ".join(f"{name} {write_quantity(volts, 'V', 3)}" for name, volts in shifts.items())
                yield (
                    f"{row.id} {row.requirement} counts the op-amp only. The usual leakage limit of the "
                    f"proposed capacitors moves the output as well ({parts}), and with it the limit of "
                    f"{write_quantity(row.limit, row.unit)} is not kept: take film or parts of low leakage "
                    "there, or smaller resistances."
                )


_LEAST = 0.01


def _unasked_stability(made: Design) -> Iterator[str]:
    """Yield that a usual cable takes the phase margin below the usual one, if none was asked for."""
    if made.stage.opamp is None or made.requirements.demands.phase_margin is not None:
        return
    for pins in made.stage.circuit.opamps:
        margin = loop_gain(made.stage, pins.name, load_capacitance=_CABLE).phase_margin
        if margin < LEAST_MARGIN:
            yield (
                f"No phase margin was asked for. With {write_quantity(_CABLE, 'F')} at the amplifier output, "
                f"a metre of cable, {pins.name} has {margin:.3g}° (common practice: {LEAST_MARGIN:g}°, no "
                "published source): part cable and output by a resistor, or state `phase_margin`."
            )


_CABLE = 100e-12


def _ideal_level(made: Design) -> Iterator[str]:
    """Yield that a Zener or reference is taken as quiet, exact and free of ripple."""
    if made.stage.levels:
        yield (
            f"The {' and '.join(made.stage.levels)} of the bias is ideal here: its noise, error and ripple "
            "count in the table of bias sources only, with class figures. Add them to noise, DC error and "
            "supply rejection from its data sheet."
        )


def reproducibility(kept: Record, boards: int, seed: int, *, guaranteed: bool) -> Iterator[Block]:
    """Yield what it takes to find every number again.

    Parameters
    ----------
    kept : Record
        From `record`.
    boards, seed : int
        Of the random boards.
    guaranteed : bool
        Whether `guarantee` made the design.
    """
    reasons = " Its reasons come with `guarantee`: run it again with these tolerances." if guaranteed else ""
    yield Heading("Reproducibility record")
    yield Paragraph(
        f"singlerail_nb {kept.version}, checksum of all inputs {kept.checksum}; {boards} random boards with "
        f"seed {seed}. A design file holds these inputs; with the tolerances of the worst case and the same "
        f"kind of supply it gives the same figures again, number by number.{reasons}"
    )
    inputs = zip(kept.inputs, kept.units, strict=True)
    rows = tuple((name, value, unit or "-") for (name, value), unit in inputs)
    yield Table(("input", "exact value", "unit"), rows, "Inputs as the program takes them.")


def approval() -> Iterator[Block]:
    """Yield room for signatures."""
    yield Heading("Approval")
    roles = ("author", "independent reviewer", "approver")
    yield Table(("role", "name and signature", "date"), tuple((role, "", "") for role in roles))
