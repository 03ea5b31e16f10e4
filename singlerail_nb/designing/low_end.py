"""Size the capacitors: first those that stay out of the way, last the one that sets the cut-off."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from ..analysis.boards import evaluate_boards
from ..analysis.evaluation import compiled
from ..analysis.rational import horner
from ..analysis.stage import Stage
from ..errors import RequirementError
from ..quantities import write_quantity
from .draft import Draft, Rule
from .preferred_values import values_between
from .steps import COMMON_PRACTICE, FROM_CIRCUIT, Figure

Floats = NDArray[np.float64]

SIDE_CORNER_RATIO = 0.2
"""Corners that do not set the cut-off are put at a fifth of it (common practice)."""

FIRM_BIAS_RATIO = 0.1
"""Most that the bias capacitor may be at the cut-off, over the bias resistor (common practice)."""

_MOST_VALUES = 40

_SIDE = {
    "c_g": ("amplifier", "f_{a}", "the gain-leg corner"),
    "c_out": ("output", "f_{out}", "the output corner"),
}
_SETTING = {"noninverting": "input", "follower": "input", "inverting": "amplifier"}
_SETTING_NAME = {"input": "f_{in}", "amplifier": "f_{a}"}


def size_coupling(draft: Draft) -> None:
    """Choose the bias-filter, side and input capacitors.

    Parameters
    ----------
    draft : Draft
        The stage in the making, resistors chosen.

    Raises
    ------
    RequirementError
        If no preferred values put the cut-off between the floor and the requirement.
    """
    _size_bias_filter(draft)
    for part in _SIDE:
        if part in draft.circuit.part_names:
            _size_side(draft, part)
    _size_input_capacitor(draft)


def _size_bias_filter(draft: Draft) -> None:
    corner = draft.equation("bias", "f_b")
    target, reason = _bias_corner(draft)
    formula = draft.solve_for("c_bias", corner, "f_b")
    chosen, rounding = draft.rounded("c_bias", draft.number(formula, f_b=target), "up")
    draft.values["c_bias"] = chosen
    draft.record(
        "c_bias",
        formula,
        {"f_b": (target, "Hz")},
        chosen,
        rounding,
        Figure("bias-filter corner", draft.number(corner), "Hz"),
        Rule(
            "How much filtering does the bias need?",
            reason,
            "A smaller capacitor starts up faster but lets more ripple through.",
            COMMON_PRACTICE,
        ),
    )


def _bias_corner(draft: Draft) -> tuple[float, str]:
    """Return the highest corner of the bias filter, Hz, and which of two rules asks for it.

    Ripple must be filtered; and the bias resistor must end on something firm, or the input
    impedance and with it the cut-off depend on the divider.  At a frequency f far above its corner
    f_b the bias node has the impedance R_th f_b / f.
    """
    needed = draft.needed
    filtered = needed.bias_filter_ratio * needed.target_cutoff
    if "r_bias" in draft.values:
        behind = draft.number(draft.equation("bias", "R_{th}"))
        firm = FIRM_BIAS_RATIO * needed.target_cutoff * draft.values["r_bias"] / behind
        if firm < filtered:
            return firm, (
                f"At the cut-off the capacitor is {FIRM_BIAS_RATIO:g} of R_bias or less, so that R_bias ends "
                "on a firm node; that asks for more than the ripple does."
            )
    return filtered, (
        f"Its corner lies at {needed.bias_filter_ratio:g} of the cut-off, so ripple in the band is "
        "attenuated and the bias node looks like ground to the signal."
    )


def _size_side(draft: Draft, part: str, taken: float | None = None) -> None:
    """Choose a capacitor that does not set the cut-off; ``taken`` overrules the rule."""
    key, equation, words = _SIDE[part]
    corner = draft.equation(key, equation)
    target = SIDE_CORNER_RATIO * draft.needed.target_cutoff
    formula = draft.solve_for(part, corner, "f_side")
    chosen, rounding = draft.rounded(part, draft.number(formula, f_side=target), "up")
    if taken is not None and taken != chosen:
        chosen, rounding = taken, f"moved to keep the rumble floor, {draft.needed.capacitor_series}"
        draft.steps = [step for step in draft.steps if step.part != part]
    draft.values[part] = chosen
    draft.record(
        part,
        formula,
        {"f_side": (target, "Hz")},
        chosen,
        rounding,
        Figure(words.removeprefix("the "), draft.number(corner), "Hz"),
        Rule(
            f"Where may {words} lie?",
            f"At {SIDE_CORNER_RATIO:g} of the cut-off or lower, so that one stable part sets the low end.",
            "Equal corners: each part could be smaller, but all their tolerances then count.",
            COMMON_PRACTICE,
        ),
    )


def strain(stage: Stage, draft: Draft) -> float:
    """Return how hard the low-end requirements press: at most 1 when they are met.

    Parameters
    ----------
    stage : Stage
        The stage to judge.
    draft : Draft
        Carries the requirements.
    """
    needed = draft.needed
    whole = stage.transfer("signal", "output")
    pressed = []
    if needed.low_cutoff is not None:
        pressed.append(whole.low_cutoff() / needed.low_cutoff)
    if needed.droop is not None:
        drop = 20.0 * math.log10(whole.midband_gain() / abs(whole(needed.droop.frequency)))
        pressed.append(drop / needed.droop.db)
    return max(pressed)


def _size_input_capacitor(draft: Draft) -> None:
    """Solve the whole network for the input capacitor, then round it up."""
    key = _SETTING[draft.topology]
    corner = draft.equation(key, _SETTING_NAME[key])
    formula = draft.solve_for("c_in", corner, "f_in")
    alone = draft.number(formula, f_in=draft.needed.target_cutoff)
    exact = _exact_input(draft, alone)
    chosen, rounding = draft.rounded("c_in", exact, "up")
    draft.values["c_in"] = chosen
    floor = draft.needed.rumble_floor
    if floor is not None and draft.stage().transfer("signal", "output").low_cutoff() < floor:
        chosen, rounding = _search_above_floor(draft, floor, exact)
        exact = _exact_input(draft, alone)
    share = draft.number(corner, C_in=exact)
    whole = draft.stage().transfer("signal", "output")
    draft.record(
        "c_in",
        formula,
        {"f_in": (share, "Hz")},
        chosen,
        rounding,
        Figure("low-end cut-off of the whole network", whole.low_cutoff(), "Hz"),
        Rule(
            "Which input capacitor puts the whole stage exactly on its low-end requirement?",
            f"With its own corner at {write_quantity(share, 'Hz')} the whole network meets the requirement "
            "exactly; a larger capacitor is on the safe side.",
            f"A corner at {write_quantity(draft.needed.target_cutoff, 'Hz')} itself: the other corners "
            "would then push the stage above its requirement.",
            FROM_CIRCUIT,
        ),
    )


def _exact_input(draft: Draft, alone: float) -> float:
    """Return the input capacitor that puts the whole network exactly on its low-end requirement.

    ``alone`` is the capacitor for the target without any other corner.
    """

    def excess(log_capacitance: float) -> float:
        return strain(draft.stage(c_in=math.exp(log_capacitance)), draft) - 1.0

    low, high = math.log(alone / 3.0), math.log(alone * 30.0)
    if excess(high) > 0:
        raise RequirementError(
            "low_cutoff",
            write_quantity(draft.needed.target_cutoff, "Hz"),
            allowed="a low end that the other corners leave reachable",
            remedy="Allow a lower bias-filter ratio or a larger load resistance.",
        )
    return math.exp(brentq(excess, low, high, xtol=1e-12))


def _search_above_floor(draft: Draft, floor: float, exact: float) -> tuple[float, str]:
    """Return an input capacitor for a cut-off above the floor, changing side capacitors if need be."""
    name = draft.needed.capacitor_series
    parts = ["c_in", *(part for part in _SIDE if part in draft.values)]
    around = [(exact / 2.0, exact * 6.0)]
    around += [(draft.values[part] / 6.0, draft.values[part] * 3.0) for part in parts[1:]]
    grids = [_thinned(values_between(low, high, name)) for low, high in around]
    table = np.stack(np.meshgrid(*grids), axis=-1).reshape(-1, len(parts))
    cutoffs, strains = _low_ends(draft, {part: table[:, i] for i, part in enumerate(parts)})
    meeting = strains <= 1.0
    inside = np.flatnonzero(meeting & (cutoffs >= floor))
    if not inside.size:
        raise RequirementError(
            "rumble_floor",
            write_quantity(floor, "Hz"),
            allowed=f"up to {write_quantity(float(cutoffs[meeting].max()), 'Hz')} with capacitors of {name}",
            remedy="Allow a finer capacitor series, a lower floor or a higher cut-off.",
        )
    best = table[inside[np.argmin(table[inside].sum(axis=1))]]
    for part, value in zip(parts[1:], best[1:], strict=True):
        _size_side(draft, part, float(value))
    draft.values["c_in"] = float(best[0])
    return float(best[0]), f"chosen to keep the rumble floor, {name}"


def _thinned(values: tuple[float, ...]) -> tuple[float, ...]:
    """Return evenly spread values, few enough that all combinations of three capacitors can be tried."""
    return values[:: -(-len(values) // _MOST_VALUES)]


def _low_ends(draft: Draft, arrays: Mapping[str, Floats]) -> tuple[Floats, Floats]:
    """Return the cut-off, Hz, and the strain of many sets of capacitors."""
    needed, stage = draft.needed, draft.stage()
    figures = evaluate_boards(stage, arrays)
    pressed = []
    if needed.low_cutoff is not None:
        pressed.append(figures.low_cutoff / needed.low_cutoff)
    if needed.droop is not None:
        program = compiled(stage.transfer("signal", "output").function)
        top, bottom = program({**stage.parameters, **arrays})
        s = 2j * math.pi * needed.droop.frequency
        there = np.abs(horner(top, s) / horner(bottom, s))
        pressed.append(20.0 * np.log10(figures.midband_gain / there) / needed.droop.db)
    return figures.low_cutoff, np.max(pressed, axis=0)
