"""The records of a level shift: how each resistor was found."""

from __future__ import annotations

from collections.abc import Mapping

import sympy

from ..circuit.printed_names import symbol_name
from .shift_forms import Line, Plan, Solved, formula_for
from .shift_parts import Found, dc_line
from .steps import FROM_CIRCUIT, DesignStep, Figure

_START = "R_0"
_FREE_SOURCE = "free choice; the size is common practice, no published source"
_REJECTED = {
    "slope": "The value that fits exact neighbours: this one mends their rounding as well.",
    "share": "The formula without source and divider resistance: it misses by their share.",
    "ratio": "Resistors of any other ratio: slope or intercept would be off, whatever the gain.",
    "leg": "A bare ratio to the reference: the gain leg ends on this tap and sees its resistance.",
}


def shift_steps(
    plan: Plan, line: Line, found: Found, source_resistance: float, series: str
) -> tuple[DesignStep, ...]:
    """Return how each part was found, in order.

    Parameters
    ----------
    plan : Plan
        The circuit and the order of its parts.
    line : Line
        What is wanted.
    found : Found
        The parts.
    source_resistance : float
        Ohm.
    series : str
        IEC 60063 series of the resistors.
    """
    known = _known(line, found, source_resistance)
    values = dict(found.chosen) | ({"r_source": source_resistance} if source_resistance else {})
    slope, intercept = (float(x[0]) for x in dc_line(found.circuit, values, line.reference))
    gives = {"slope": Figure("slope", slope, "V/V"), "share": Figure("intercept", intercept, "V")}
    gives |= {"ratio": gives["share"], "leg": gives["share"]}
    free = [_free_step(name, start, found, series, gives["slope"]) for name, start in plan.free]
    solved = [_solved_step(step, found, known, series, gives[step.equation]) for step in plan.solved]
    return (*free, *solved)


def _known(line: Line, found: Found, source_resistance: float) -> dict[str, tuple[float, str]]:
    known = {"m": (line.slope, "V/V"), "b": (line.intercept, "V"), "V_ref": (line.reference, "V")}
    known |= {symbol_name(name): (value, "ohm") for name, value in found.chosen.items()}
    return known | {symbol_name("r_source"): (source_resistance, "ohm")}


def _free_step(part: str, start: float, found: Found, series: str, gives: Figure) -> DesignStep:
    chosen = found.chosen[part]
    return DesignStep(
        part=part,
        question="How large are the resistors?",
        formula=sympy.Symbol(_START, positive=True),
        known={_START: (start, "ohm")},
        exact=start,
        chosen=chosen,
        unit="ohm",
        rounding=f"best of the decade, {series}",
        recomputed=gives,
        reason="The line fixes ratios only; of all values of the decade this one leaves the smallest error "
        "at the end points after rounding.",
        rejected="Smaller resistors load the source and the reference; larger ones add noise and offset.",
        source=_FREE_SOURCE,
    )


def _solved_step(
    step: Solved, found: Found, known: Mapping[str, tuple[float, str]], series: str, gives: Figure
) -> DesignStep:
    exact, chosen = found.sequence[step.part], found.chosen[step.part]
    formula = formula_for(found.circuit, step.part, step.equation)
    names = {symbol.name for symbol in formula.free_symbols}
    return DesignStep(
        part=step.part,
        question=step.question,
        formula=formula,
        known={name: known[name] for name in names},
        exact=exact,
        chosen=chosen,
        unit="ohm",
        rounding=f"{'up' if chosen >= exact else 'down'}, {series}",
        recomputed=gives,
        reason=step.reason,
        rejected=_REJECTED[step.equation],
        source=FROM_CIRCUIT,
    )
