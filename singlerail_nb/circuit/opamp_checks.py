"""Contradictions in an op-amp data sheet, named before they reach a calculation."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from numbers import Real

from ..errors import QuantityError
from ..quantities import QuantityLike, read_gain, read_quantity
from .opamp_figures import FIGURES, Limits, SwingPoint


def read_figure(owner: str, name: str, given: QuantityLike) -> float:
    """Return a figure in SI units; a text with its unit is read.

    Parameters
    ----------
    owner : str
        Name of the op-amp, for the message.
    name : str
        A name of `FIGURES`.
    given : float or str
        The figure.

    Raises
    ------
    QuantityError
        If it is neither a number nor the text of such a quantity.
    """
    if isinstance(given, Real):
        return float(given)
    what = f"op-amp {owner}, {name}"
    return (
        read_gain(given, name=what)
        if name == "dc_gain"
        else read_quantity(given, FIGURES[name].unit, name=what)
    )


def check_figure(owner: str, name: str, value: float) -> None:
    """Refuse a figure that no op-amp has.

    Parameters
    ----------
    owner : str
        Name of the op-amp, for the message.
    name : str
        A name of `FIGURES`.
    value : float
        SI units.

    Raises
    ------
    QuantityError
        If it is below its range, or not finite without being the ideal value.
    """
    kind = FIGURES[name]
    if value == kind.ideal:
        return
    must_exceed = kind.ideal is None or math.isinf(kind.ideal)
    fits = math.isfinite(value) and (value > kind.low if must_exceed else value >= kind.low)
    if not fits:
        raise QuantityError(
            f"op-amp {owner}, {name}",
            value,
            allowed="finite" + (f" and {'>' if must_exceed else '>='} 0" if kind.low == 0 else ""),
            remedy=f"Give the {kind.label} from the data sheet, in SI units.",
        )


def check_limits(owner: str, limits: Iterable[Limits], typical: Mapping[str, float]) -> None:
    """Refuse limits of an unknown figure, given twice, or that do not enclose the typical value.

    Parameters
    ----------
    owner : str
        Name of the op-amp, for the message.
    limits : iterable of Limits
        The spreads.
    typical : mapping of str to float
        The typical figures.

    Raises
    ------
    QuantityError
        If a spread does not fit.
    """
    seen: set[str] = set()
    for spread in limits:
        where = f"op-amp {owner}, limits of {spread.quantity}"
        if spread.quantity not in FIGURES or spread.quantity in seen:
            raise QuantityError(
                where,
                spread.quantity,
                allowed="each figure of the record once",
                remedy=f"Choose from: {', '.join(FIGURES)}.",
            )
        seen.add(spread.quantity)
        value = typical[spread.quantity]
        low = value if spread.lowest is None else spread.lowest
        high = value if spread.highest is None else spread.highest
        if not low <= value <= high:
            raise QuantityError(
                where,
                f"min {low:g}, typ {value:g}, max {high:g}",
                allowed="min <= typ <= max",
                remedy="Check the columns; of a negative bias current, min is the large one.",
            )


def check_consistency(owner: str, figures: Mapping[str, float], swing: Iterable[SwingPoint]) -> None:
    """Refuse figures that contradict each other.

    Parameters
    ----------
    owner : str
        Name of the op-amp, for the message.
    figures : mapping of str to float
        All figures of the record.
    swing : iterable of SwingPoint
        Its output swing.

    Raises
    ------
    QuantityError
        If a range is empty, a swing lies beyond a rail, or one thing is said twice.
    """
    for quantity, value, allowed in _contradictions(figures, swing):
        raise QuantityError(
            f"op-amp {owner}, {quantity}",
            value,
            allowed=allowed,
            remedy="Compare with the data sheet; distances are measured from the rail inwards.",
        )


def _contradictions(
    figures: Mapping[str, float], swing: Iterable[SwingPoint]
) -> Iterable[tuple[str, str, str]]:
    """Yield what contradicts itself: quantity, values, what would be allowed."""
    lowest, highest = figures["supply_min"], figures["supply_max"]
    if not lowest < highest:
        yield "supply range", f"{lowest:g} V to {highest:g} V", "supply_min < supply_max"
    low, high = figures["common_mode_low"], figures["common_mode_high"]
    if not low + high < highest:
        text = f"{low:g} V and {high:g} V inside the rails"
        yield "common-mode range", text, "a range that is open at the highest supply"
    far, near = figures["handover_far"], figures["handover_near"]
    if not near <= far:
        yield "handover zone", f"{far:g} V to {near:g} V below the rail", "handover_near <= handover_far"
    if figures["phase_margin"] != FIGURES["phase_margin"].ideal and math.isfinite(figures["second_pole"]):
        text = f"{figures['phase_margin']:g} deg and {figures['second_pole']:g} Hz"
        yield "second pole", text, "the phase margin or the second pole, not both"
    for point in swing:
        if not (point.load > 0 and min(point.low, point.high) >= 0 and point.low + point.high < highest):
            text = f"{point.low:g} V and {point.high:g} V from the rails at {point.load:g} ohm"
            yield "output swing", text, "inside the rails: distances of 0 V or more"
