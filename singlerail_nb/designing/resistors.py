"""Size the resistors: divider, bias resistor, gain."""

from __future__ import annotations

import sympy

from ..circuit.bias_derivation import bias_alone
from ..circuit.derivation import with_ideal_bias
from ..circuit.network_functions import source_impedance_seen, transfer_function
from ..circuit.symbols import part_symbol
from ..errors import RequirementError
from .draft import Draft, Rule
from .practical import PRACTICAL, require_practical
from .preferred_values import preferred, values_between
from .steps import COMMON_PRACTICE, FROM_CIRCUIT, Figure

FEEDBACK_RANGE = (10e3, 100e3)
"""Feedback resistors of the non-inverting stage, ohm: a light load, yet quiet (common practice)."""

LARGEST_LEG = 10e3
"""Above it a gain-leg resistor brings noise and no smaller capacitor worth having, ohm (common practice)."""

WELL_WITHIN = 0.1
"""An error of the gain below this share of its tolerance is as good as none."""

_V_S, _I_DIV, _Z_IN = (sympy.Symbol(name, positive=True) for name in ("V_S", "I_div", "Z_in"))
_GAIN = sympy.Symbol("G", positive=True)


def size_divider(draft: Draft) -> None:
    """Choose two equal divider resistors that draw no more than the allowed current.

    Parameters
    ----------
    draft : Draft
        The stage in the making.
    """
    needed = draft.needed
    alone = bias_alone(draft.circuit)
    resistance = sympy.limit(source_impedance_seen(alone, "supply").expression, sympy.Symbol("s"), 0)
    equal = resistance.subs(part_symbol("r_bottom"), part_symbol("r_top"))
    formula = draft.solve_for("r_top", _V_S / equal, "I_div")
    given = {"V_S": (needed.supply, "V"), "I_div": (needed.divider_current, "A")}
    chosen, rounding = draft.rounded("r_top", needed.supply / (2 * needed.divider_current), "up")
    share = draft.equation("bias", "k")
    draft.values["r_bottom"] = chosen
    current = needed.supply / float(resistance.subs(dict.fromkeys(resistance.free_symbols, chosen)))
    draft.record(
        "r_top",
        formula,
        given,
        chosen,
        rounding,
        Figure("divider current", current, "A"),
        Rule(
            "How large may the divider be, and how large must it be?",
            "As small as the allowed current permits: a low bias impedance resists loading and leakage.",
            "Larger resistors save current, but leakage and input current then move the bias.",
            FROM_CIRCUIT,
        ),
    )
    draft.record(
        "r_bottom",
        draft.solve_for("r_bottom", share, "k"),
        {"k": (0.5, "ratio")},
        chosen,
        f"equal to R_A, {draft.needed.resistor_series}",
        Figure("bias at nominal rail", needed.supply * draft.number(share, R_A=chosen, R_B=chosen), "V"),
        Rule(
            "Where should the bias sit?",
            "Half the rail; the best point for a given output swing can be elsewhere.",
            "An unequal divider, until the swing of the op-amp is known.",
            COMMON_PRACTICE,
        ),
    )


def size_follower_input(draft: Draft) -> None:
    """Choose the bias resistor: the input impedance, or more where a follower would lose gain.

    Parameters
    ----------
    draft : Draft
        The stage in the making.
    """
    needed = draft.needed
    if draft.topology == "follower":
        ideal = with_ideal_bias(draft.circuit)
        ideal = ideal if needed.source_resistance else ideal.shorted("r_source")
        gain = transfer_function(ideal, "signal", ideal.path[-1]).at_infinity()
        if needed.source_resistance and gain.has(part_symbol("r_bias")):
            formula = draft.solve_for("r_bias", gain, "G")
            lossless = draft.number(formula, G=_lowest_gain(draft))
            if lossless > needed.input_impedance:
                _size_against_loss(draft, formula, gain)
                return
    _size_input(draft, "r_bias", "The bias resistor is what the source sees in mid-band.")


def _lowest_gain(draft: Draft) -> float:
    """Return the gain that the resistors must keep: the op-amp takes a part of the tolerance."""
    return draft.needed.gain * (1.0 - draft.needed.gain_tolerance + draft.needed.opamp_loss)


def _size_against_loss(draft: Draft, formula: sympy.Expr, gain: sympy.Expr) -> None:
    """Choose a bias resistor so large that the source resistance costs no more than is allowed."""
    lowest = _lowest_gain(draft)
    chosen, rounding = draft.rounded("r_bias", draft.number(formula, G=lowest), "up")
    draft.values["r_bias"] = chosen
    draft.record(
        "r_bias",
        formula,
        {"G": (lowest, "V/V")},
        chosen,
        rounding,
        Figure("mid-band gain", draft.number(gain), "V/V"),
        Rule(
            "How large must the bias resistor be for the gain to survive the source resistance?",
            "R_s and R_bias divide the signal; here that asks for more than the input impedance does.",
            "The required input impedance alone: the gain would be below its band.",
            FROM_CIRCUIT,
        ),
    )


def size_noninverting(draft: Draft) -> None:
    """Choose bias resistor, gain leg and feedback of the non-inverting stage.

    Parameters
    ----------
    draft : Draft
        The stage in the making.

    Raises
    ------
    RequirementError
        If no pair of preferred values gives the gain.
    """
    size_follower_input(draft)
    gain = _midband_gain(draft)
    formula = draft.solve_for("r_f", gain, "G")
    given = {"G": (abs(draft.needed.gain), "V/V")}
    leg, feedback = _best_pair(draft, gain, formula)
    draft.record(
        "r_g",
        draft.solve_for("r_g", gain.subs(part_symbol("r_f"), sympy.Symbol("R_f", positive=True)), "G"),
        {**given, "R_f": (feedback, "ohm")},
        leg,
        f"chosen with R_f, {draft.needed.resistor_series}",
        Figure("parallel of R_f and R_g", leg * feedback / (leg + feedback), "ohm"),
        Rule(
            "Which gain leg?",
            "Of the pairs that hit the gain well within its tolerance, the one with the largest R_g: its "
            "capacitor is smallest.",
            "A smaller R_g is quieter but wants a larger capacitor, which also takes longer to charge.",
            COMMON_PRACTICE,
        ),
    )
    draft.values["r_f"] = feedback
    draft.record(
        "r_f",
        formula,
        given,
        feedback,
        f"best pair with R_g, {draft.needed.resistor_series}",
        Figure("mid-band gain", draft.number(gain), "V/V"),
        Rule(
            "Which feedback resistor gives the gain, with what the source resistance takes away?",
            "The gain from the source to the output counts, so the loss at the input is made up here.",
            "1 + R_f/R_g alone: it forgets the divider that R_s and R_bias form.",
            FROM_CIRCUIT,
        ),
    )


def size_inverting(draft: Draft) -> None:
    """Choose input and feedback resistor of the inverting stage.

    Parameters
    ----------
    draft : Draft
        The stage in the making.

    Raises
    ------
    RequirementError
        If no practical pair of preferred values gives the gain.
    """
    gain = _midband_gain(draft)
    formula = draft.solve_for("r_f", gain, "G")
    smallest, _ = draft.rounded("r_in", draft.needed.input_impedance, "up")
    wanted = abs(draft.needed.gain)
    series = draft.needed.resistor_series

    def pair(resistor: float) -> tuple[float, float, float]:
        feedback = preferred(draft.number(formula, R_in=resistor, G=wanted), series)
        reached = draft.number(gain, R_in=resistor, R_f=feedback)
        return round(abs(reached / wanted - 1.0), 3), resistor, feedback

    _, resistor, feedback = min(pair(r) for r in values_between(smallest, 2.0 * smallest, series))
    require_practical("r_f", feedback, "ohm")
    _require_gain(draft, draft.number(gain, R_in=resistor, R_f=feedback))
    _size_input(draft, "r_in", "The summing node rests at the bias, so the source sees R_in.", resistor)
    draft.record(
        "r_f",
        formula,
        {"G": (wanted, "V/V")},
        feedback,
        f"nearest, {series}",
        Figure("mid-band gain", draft.number(gain, R_f=feedback), "V/V"),
        Rule(
            "Which feedback resistor gives the gain?",
            "The source resistance is in series with R_in and counts in the gain.",
            "R_f/R_in alone: it forgets the source resistance.",
            FROM_CIRCUIT,
        ),
    )


def _size_input(draft: Draft, part: str, reason: str, chosen: float | None = None) -> None:
    ideal = with_ideal_bias(draft.circuit).shorted("r_source")
    impedance = source_impedance_seen(ideal, "signal").at_infinity()
    exact = draft.needed.input_impedance
    value, rounding = draft.rounded(part, exact, "up")
    if chosen is not None and chosen != value:
        value, rounding = chosen, f"up with R_f for the best gain, {draft.needed.resistor_series}"
    draft.values[part] = value
    seen = draft.number(impedance)
    draft.record(
        part,
        draft.solve_for(part, impedance, "Z_in"),
        {"Z_in": (exact, "ohm")},
        value,
        rounding,
        Figure("input impedance", seen, "ohm"),
        Rule(
            "What does the source see?",
            reason,
            "A larger value: more noise and offset for nothing.",
            FROM_CIRCUIT,
        ),
    )


def _midband_gain(draft: Draft) -> sympy.Expr:
    """Return the mid-band gain as a positive expression: firm bias node, frequency to infinity."""
    ideal = with_ideal_bias(draft.circuit)
    if draft.needed.source_resistance == 0:
        ideal = ideal.shorted("r_source")
    gain = transfer_function(ideal, "signal", ideal.path[-1]).at_infinity()
    return -gain if gain.could_extract_minus_sign() else gain


def _best_pair(draft: Draft, gain: sympy.Expr, formula: sympy.Expr) -> tuple[float, float]:
    """Return (R_g, R_f): a gain well within its tolerance, or the best there is, then the largest R_g."""
    wanted, series = abs(draft.needed.gain), draft.needed.resistor_series
    ratio = draft.number(formula, R_g=1.0, G=wanted)
    found = []
    for feedback in values_between(*FEEDBACK_RANGE, series):
        leg = preferred(feedback / ratio, series)
        error = abs(draft.number(gain, R_g=leg, R_f=feedback) / wanted - 1.0)
        if leg >= PRACTICAL["ohm"][0]:
            missed = max(round(error, 3), WELL_WITHIN * draft.needed.gain_tolerance)
            found.append((missed, -min(leg, LARGEST_LEG), error, feedback, leg))
    if not found:
        require_practical("r_g", preferred(FEEDBACK_RANGE[1] / ratio, series), "ohm")
    *_, feedback, leg = min(found)
    _require_gain(draft, draft.number(gain, R_g=leg, R_f=feedback))
    return leg, feedback


def _require_gain(draft: Draft, reached: float) -> None:
    """Refuse resistors that miss the gain by more than the tolerance, less what the op-amp takes."""
    needed = draft.needed
    wanted, room = abs(needed.gain), needed.gain_tolerance - needed.opamp_loss
    if abs(reached / wanted - 1.0) > room:
        raise RequirementError(
            "gain",
            f"{wanted:g} within {100.0 * room:.3g} %",
            allowed=f"{reached:.4g}, the nearest that resistors of {needed.resistor_series} give",
            remedy="Allow a finer resistor series or a larger gain tolerance.",
        )
