"""Size a bias source: values, the reasons, and what cannot work.

Every function takes the range of the rail and returns a `BiasChoice`: the name of the bias source
with the values of its parts, ready for ``stage.with_bias(choice.bias, **choice.values)``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ..analysis.bias_follower import follower_margins
from ..circuit.opamp import OpAmp
from ..errors import RequirementError
from ..quantities import QuantityLike, read_fields, read_quantity, write_quantity
from .preferred_values import preferred
from .steps import COMMON_PRACTICE

FILTER_FRACTION = 0.1
"""Bias-filter corner over the low-end cut-off.  AN-581 and AN-937 (Analog Devices) take one tenth."""
LEAST_MARGIN = 45.0
"""Phase margin of a follower that drives a capacitor, degrees (common practice, no published source)."""


@dataclass(frozen=True)
class BiasChoice:
    """A bias source with values.

    Attributes
    ----------
    bias : str
        Name of the bias source.
    values : mapping of str to float
        Parts (ohm, farad) and levels (V), as ``stage.with_bias`` takes them.
    reasons : tuple of str
        One sentence per value.
    """

    bias: str
    values: Mapping[str, float]
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class RailRange:
    """The lowest, usual and highest voltage of a rail.

    Attributes
    ----------
    lowest, nominal, highest : float
        V; text with its unit is read.

    Raises
    ------
    QuantityError
        If a text is no voltage.
    RequirementError
        If they do not ascend from above 0 V.
    """

    lowest: float
    nominal: float
    highest: float

    def __post_init__(self) -> None:
        read_fields(self, dict.fromkeys(("lowest", "nominal", "highest"), "V"))
        if not 0 < self.lowest <= self.nominal <= self.highest < math.inf:
            raise RequirementError(
                "rail",
                f"{self.lowest:g} V, {self.nominal:g} V, {self.highest:g} V",
                allowed="0 V < lowest <= nominal <= highest",
                remedy="Give the rail at end of life, usual and fresh.",
            )


def divider_choice(rail: RailRange, current: QuantityLike = 50e-6, *, series: str = "E24") -> BiasChoice:
    """Return a plain divider of two equal resistors.

    Parameters
    ----------
    rail : RailRange
        The rail.
    current : float or str
        What it may draw at the nominal rail, A.
    series : str
        Preferred values of the resistors.

    Raises
    ------
    QuantityError
        If the current is not positive.
    """
    amperes = read_quantity(current, "A", name="current", low=1e-9)
    each = preferred(rail.nominal / (2.0 * amperes), series, "up")
    reason = (
        f"Two equal resistors of {write_quantity(each, 'ohm')} draw "
        f"{write_quantity(rail.nominal / (2 * each), 'A')} at {write_quantity(rail.nominal, 'V')}."
    )
    return BiasChoice("divider", {"r_top": each, "r_bottom": each}, (reason,))


def filter_capacitor(resistance: float, cutoff: float, *, series: str = "E6") -> tuple[float, str]:
    """Return a bias-filter capacitor and the reason for it.

    Parameters
    ----------
    resistance : float
        What it sees, ohm.
    cutoff : float
        Low-end cut-off of the stage, Hz; the filter's corner becomes a tenth of it or less.
    series : str
        Preferred values.

    Raises
    ------
    QuantityError
        If a value is not positive and finite.
    """
    corner = FILTER_FRACTION * read_quantity(cutoff, "Hz", name="cutoff", low=1e-3)
    value = preferred(1.0 / (2.0 * math.pi * resistance * corner), series, "up")
    real = 1.0 / (2.0 * math.pi * resistance * value)
    return value, (
        f"{write_quantity(value, 'F')} with {write_quantity(resistance, 'ohm')} puts the filter at "
        f"{write_quantity(real, 'Hz', 3)}: at most a tenth of the cut-off, {write_quantity(cutoff, 'Hz', 3)}."
    )


def filtered_divider_choice(
    rail: RailRange, cutoff: float, current: QuantityLike = 50e-6, *, series: str = "E24"
) -> BiasChoice:
    """Return a divider with its filter capacitor.

    Parameters
    ----------
    rail : RailRange
        The rail.
    cutoff : float
        Low-end cut-off of the stage, Hz.
    current : float or str
        What the divider may draw at the nominal rail, A.
    series : str
        Preferred values of the resistors.

    Raises
    ------
    QuantityError
        If a value makes no sense.
    """
    plain = divider_choice(rail, current, series=series)
    c_bias, reason = filter_capacitor(plain.values["r_top"] / 2.0, cutoff)
    return BiasChoice("filtered_divider", {**plain.values, "c_bias": c_bias}, (*plain.reasons, reason))


def buffered_divider_choice(
    rail: RailRange,
    cutoff: float,
    opamp: OpAmp,
    current: QuantityLike = 10e-6,
    *,
    c_buffer: QuantityLike | None = None,
    series: str = "E24",
) -> BiasChoice:
    """Return a divider with a follower, its output resistance and, with a capacitor, its isolation.

    Parameters
    ----------
    rail : RailRange
        The rail.
    cutoff : float
        Low-end cut-off of the stage, Hz.
    opamp : OpAmp
        The follower.
    current : float or str
        What the divider may draw at the nominal rail, A.
    c_buffer : float or str, optional
        Capacitor at the buffered node, F.
    series : str
        Preferred values of the resistors.

    Raises
    ------
    RequirementError
        If the follower cannot reach mid-rail somewhere in the range of the rail.
    QuantityError
        If a value makes no sense.
    """
    require_reaches_mid_rail(rail, opamp)
    filtered = filtered_divider_choice(rail, cutoff, current, series=series)
    values, reasons = dict(filtered.values), list(filtered.reasons)
    if opamp.output_resistance > 0:
        values["r_buffer"] = opamp.output_resistance
    if c_buffer is not None:
        farads = read_quantity(c_buffer, "F", name="c_buffer", low=1e-12)
        values["c_buffer"] = farads
        isolation, reason = isolation_resistor(opamp, farads, series=series)
        reasons.append(reason)
        if isolation:
            values["r_isolation"] = isolation
    return BiasChoice("buffered_divider", values, tuple(reasons))


def require_reaches_mid_rail(rail: RailRange, opamp: OpAmp) -> None:
    """Raise unless a follower reaches mid-rail with input and output at every rail voltage.

    Parameters
    ----------
    rail : RailRange
        The rail.
    opamp : OpAmp
        The follower.

    Raises
    ------
    RequirementError
        If it does not.
    """
    for volts in (rail.lowest, rail.highest):
        middle = volts / 2.0
        out, into = opamp.output_range(volts, math.inf), opamp.input_range(volts)
        low, high = max(out[0], into[0]), min(out[1], into[1])
        if not low <= middle <= high or not opamp.supply_min <= volts <= opamp.supply_max:
            raise RequirementError(
                f"follower {opamp.name}",
                f"mid-rail of {middle:g} V on a rail of {volts:g} V",
                allowed=(
                    f"{low:.3g} V to {high:.3g} V on this rail, rails of {opamp.supply_min:g} V to "
                    f"{opamp.supply_max:g} V"
                ),
                remedy="Take an op-amp whose input and output reach the middle, or a higher rail.",
            )


def isolation_resistor(opamp: OpAmp, capacitance: float, *, series: str = "E12") -> tuple[float, str]:
    """Return the smallest isolation resistor that keeps a follower stable, 0 if none is needed.

    Parameters
    ----------
    opamp : OpAmp
        The follower.
    capacitance : float
        What it drives, F.
    series : str
        Preferred values.

    Returns
    -------
    tuple of (float, str)
        Ohm, and the reason.

    Raises
    ------
    RequirementError
        If no resistor up to 1 kohm is enough.
    """
    drives = write_quantity(capacitance, "F")
    for ohms in (0.0, *np.unique([preferred(r, series) for r in np.geomspace(4.7, 1000.0, 60)])):
        margin = float(follower_margins(opamp, [capacitance], isolation=float(ohms)).phase_margin[0])
        if margin >= LEAST_MARGIN:
            what = f"{write_quantity(ohms, 'ohm')} between follower and" if ohms else "Even directly at"
            return float(ohms), (
                f"{what} {drives} leaves a phase margin of {margin:.0f} degrees ({COMMON_PRACTICE}: "
                f"{LEAST_MARGIN:.0f})."
            )
    raise RequirementError(
        f"follower {opamp.name}",
        f"a capacitor of {drives}",
        allowed=f"a phase margin of {LEAST_MARGIN:.0f} degrees with at most 1 kohm in series",
        remedy="Take a faster op-amp, or leave the capacitor away and filter in front of the follower.",
    )
