"""Values that a board can carry, and what to ask for when a design would leave them."""

from __future__ import annotations

from ..errors import RequirementError
from ..quantities import write_quantity

PRACTICAL: dict[str, tuple[float, float]] = {"ohm": (100.0, 10e6), "F": (10e-12, 1000e-6)}
"""Smallest and largest resistor, ohm, and capacitor, F (common practice, no published source).

Below 100 ohm an op-amp is loaded; above 10 Mohm leakage and stray capacitance decide.  Below 10 pF
a board has as much by itself; above 1000 uF leakage, size and charging time are the design.
"""

_REMEDIES = {
    "r_top": ("Allow less divider current.", "Allow more divider current."),
    "r_bias": (
        "Ask for more input impedance.",
        "Ask for less input impedance, or allow a larger gain tolerance for this source.",
    ),
    "r_in": (
        "Ask for more input impedance.",
        'Use topology="noninverting", or ask for less input impedance.',
    ),
    "r_g": ("Split the gain over two stages.", 'Use topology="follower", or ask for more gain.'),
    "r_f": (
        "Ask for more input impedance or more gain.",
        'Use topology="noninverting", or ask for less gain or input impedance.',
    ),
    "c_in": (
        "Ask for less input impedance or a lower low-end cut-off.",
        "Ask for more input impedance or a higher low-end cut-off, or couple without a capacitor.",
    ),
    "c_bias": (
        "Allow more divider current or a lower bias-filter ratio.",
        "Allow less divider current or a larger bias-filter ratio, or ask for more input impedance.",
    ),
    "c_g": (
        "Ask for more gain or a lower low-end cut-off.",
        "Ask for less gain in this stage or a higher low-end cut-off.",
    ),
    "c_out": (
        "Ask for a lower low-end cut-off or a smaller load resistance.",
        "Ask for a higher low-end cut-off or a larger load resistance.",
    ),
}
_SAME_REMEDY = {"r_bottom": "r_top"}


def require_practical(part: str, value: float, unit: str) -> None:
    """Refuse a value that no board carries well.

    Parameters
    ----------
    part : str
        Name of the part.
    value : float
        The value chosen for it, ohm or farad.
    unit : "ohm" or "F"
        Its unit.

    Raises
    ------
    RequirementError
        If the value is outside `PRACTICAL`.
    """
    low, high = PRACTICAL[unit]
    if low <= value <= high:
        return
    too_small, too_large = _REMEDIES[_SAME_REMEDY.get(part, part)]
    raise RequirementError(
        part,
        write_quantity(value, unit),
        allowed=f"{write_quantity(low, unit)} to {write_quantity(high, unit)} (common practice)",
        remedy=too_small if value < low else too_large,
    )
