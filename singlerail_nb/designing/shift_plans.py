"""Which circuit draws a line Vout = m Vin + b: one plan for each pair of signs."""

from __future__ import annotations

from ..errors import RequirementError
from ..quantities import write_quantity
from .shift_forms import Line, Plan, Solved

UNITY = 1e-3
"""A gain this near to 1 is built as a follower; the parts of E24 are no closer."""
FULLEST_TAP = 0.98
"""Largest share of the reference that a divider is asked for."""
_PRACTICAL = (1e3, 1e6)
"""Where the other resistors are best, ohm (common practice, no published source)."""
_TAP = 0.8
"""Share that it is asked for when the input is divided as well, and any would do."""


_R_REF = Solved(
    "r_ref",
    "ratio",
    "How strongly does the reference pull on the + input?",
    "It shares the + input with the signal in the ratio of intercept to slope.",
)
_R_F = Solved(
    "r_f", "slope", "What makes the slope right?", "The gain after the + input makes up for what it divides."
)
_R_F_INVERTING = Solved(
    "r_f", "slope", "What makes the slope right?", "The source resistance counts with the input resistor."
)
_R_PULL = Solved(
    "r_pull",
    "slope",
    "How much must the input be divided?",
    "A resistor to ground takes what is too much; gain could not.",
)
_R_TOP = Solved(
    "r_ref_top",
    "leg",
    "Which share of the reference does the gain leg end on?",
    "Slope and intercept fix the share; the size of the resistors stays free.",
)
_R_G = Solved(
    "r_g",
    "slope",
    "What is left for the gain-leg resistor?",
    "The divider's own resistance is part of the gain leg, so the resistor is smaller by it.",
)
_R_G_SHARE = Solved(
    "r_g",
    "share",
    "What is left for the gain-leg resistor?",
    "The divider's own resistance is part of the gain leg, so the resistor is smaller by it.",
)
_R_TOP_PLUS = Solved(
    "r_ref_top",
    "share",
    "Which share of the reference rests at the + input?",
    "It is amplified by one more than the slope.",
)
_R_REF_MINUS = Solved(
    "r_ref",
    "share",
    "Which current does the reference send into the summing node?",
    "The summing node rests at ground, so slope and intercept do not meet.",
)


def plan_for(line: Line, resistance: float) -> Plan:
    """Return the circuit for a line.

    Parameters
    ----------
    line : Line
        What is wanted.
    resistance : float
        Start of the decade in which the free resistors are looked for, ohm.

    Raises
    ------
    RequirementError
        If the reference is too low for the line.
    """
    if line.slope > 0:
        return _down(line, resistance) if line.intercept < 0 else _up(line, resistance)
    return _inverting_up(line, resistance) if line.intercept > 0 else _inverting_down(line, resistance)


def _up(line: Line, resistance: float) -> Plan:
    needed = line.slope + line.intercept / line.reference
    with_reference = (_R_REF,) if line.intercept else ()
    ratios = (line.slope * line.reference / line.intercept,) if line.intercept else ()
    into = ("r_in", _start(resistance, *ratios))
    if abs(needed - 1.0) < UNITY:
        return Plan("shift_up", (into,), with_reference)
    if needed < 1.0:
        return Plan("shift_up", (into,), (*with_reference, _R_PULL))
    return Plan("shift_up", (into, ("r_g", _start(resistance, needed - 1.0))), (*with_reference, _R_F))


def _start(resistance: float, *ratios: float) -> float:
    """Return where the decade starts, so that resistors of these ratios to it stay practical."""
    lowest = max((_PRACTICAL[0] / ratio for ratio in ratios), default=resistance)
    highest = min((_PRACTICAL[1] / ratio for ratio in ratios), default=resistance)
    return min(max(resistance, lowest), highest)


def _down(line: Line, resistance: float) -> Plan:
    rise = line.slope - 1.0
    tap = -line.intercept / (line.reference * rise) if rise > 0 else float("inf")
    if tap <= FULLEST_TAP:
        leg = _start(resistance, rise) / 2.0
        free = (("r_f", leg * rise), ("r_ref_bottom", leg / 10.0))
        return Plan("shift_down", free, (_R_TOP, _R_G))
    gain = -line.intercept / (line.reference * _TAP)
    bottom = resistance / 2.0
    divided = (
        ("r_in", resistance),
        ("r_f", resistance * max(1.0, gain)),
        ("r_ref_bottom", bottom),
        ("r_ref_top", bottom * (1.0 / _TAP - 1.0)),
    )
    return Plan("shift_down", divided, (_R_G_SHARE, _R_PULL))


def _inverting_up(line: Line, resistance: float) -> Plan:
    noise_gain = 1.0 - line.slope
    if line.intercept >= line.reference * noise_gain * FULLEST_TAP:
        highest = line.reference * noise_gain * FULLEST_TAP
        least = line.intercept / (noise_gain * FULLEST_TAP)
        raise RequirementError(
            "reference",
            write_quantity(line.reference, "V"),
            allowed=f"at least {write_quantity(least, 'V')} for a slope of {line.slope:.4g} and an intercept "
            f"of {write_quantity(line.intercept, 'V')}",
            remedy=f"Take a higher reference, such as the rail itself; with this one the intercept reaches "
            f"{write_quantity(highest, 'V')}.",
        )
    tap = line.intercept / (line.reference * noise_gain)
    free = (
        ("r_in", _start(resistance, -line.slope)),
        ("r_ref_bottom", _start(resistance, 1.0 / tap - 1.0)),
    )
    return Plan("inverting_shift_up", free, (_R_F_INVERTING, _R_TOP_PLUS))


def _inverting_down(line: Line, resistance: float) -> Plan:
    with_reference = (_R_REF_MINUS,) if line.intercept else ()
    ratios = (line.slope * line.reference / line.intercept,) if line.intercept else ()
    free = (("r_in", _start(resistance, -line.slope, *ratios)),)
    return Plan("inverting_shift_down", free, (_R_F_INVERTING, *with_reference))
