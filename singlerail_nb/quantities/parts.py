"""Read the value of a resistor or capacitor, and doubt values that no such part has.

The limits are those of parts that an op-amp stage is built from (common practice, no published
source). They are wide; what they catch is a wrong prefix.
"""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple

from ..errors import UnknownNameError
from .reading import QuantityLike, in_words, read, refuse
from .remedies import offer
from .units import UNITS, Unit


class _Kind(NamedTuple):
    """A kind of part: its unit, its range, and the power from milli to what was meant."""

    unit: Unit
    low: float
    high: float
    milli_shift: int


PART_LIMITS = {"r_": (0.1, 1e9), "c_": (1e-12, 10e-3)}
"""Lowest and highest plausible value by the beginning of a part's name, ohm or farad."""

_KINDS = {
    "r_": _Kind(UNITS["ohm"], *PART_LIMITS["r_"], milli_shift=9),  # 47 mohm: 47 Mohm was meant
    "c_": _Kind(UNITS["F"], *PART_LIMITS["c_"], milli_shift=-3),  # 4.7 mF: 4.7 µF was meant
}
_MAY_BE_ZERO = "r_source"  # and r_source_2 ...


def read_part(name: str, value: QuantityLike, *, zero: bool | None = None) -> float:
    """Read the value of a part; what kind of part it is follows from its name.

    Parameters
    ----------
    name : str
        Starts with "r_" for a resistor or "c_" for a capacitor, such as "r_bias", "c_in".
    value : str or float
        A number in ohms or farads, or a text: "47k", "220" (ohms), "4u7", "220 nF". The prefix
        milli is refused: on these parts it is a slip for mega or micro.
    zero : bool, optional
        Whether 0 is accepted. By default only for "r_source" (and "r_source_2" ...).

    Returns
    -------
    float
        Ohms from 0.1 to 1e9, or farads from 1e-12 to 1e-2.

    Raises
    ------
    QuantityError
        The value cannot be read or is not plausible for the part.
    UnknownNameError
        The name starts with neither "r_" nor "c_".
    """
    kind = _KINDS.get(name[:2])
    if kind is None:
        raise UnknownNameError(
            "part name", name, allowed='names that start with "r_" or "c_"', remedy="Rename the part."
        )
    may_be_zero = name.startswith(_MAY_BE_ZERO) if zero is None else zero
    allowed = ("0 or " if may_be_zero else "") + in_words(kind.unit, kind.low, kind.high)
    reading = read(value, kind.unit, name=name, allowed=allowed, bare=True)
    if reading.prefix == "m":
        refuse(name, value, allowed, _milli_remedy(reading.value, kind))
    if reading.value == 0 and may_be_zero:
        return 0.0
    if not kind.low <= reading.value <= kind.high:
        refuse(name, value, allowed, _prefix_remedy(reading.value, kind))
    return reading.value


def _milli_remedy(value: float, kind: _Kind) -> str:
    """Offer the prefix that was probably meant, and the way to write the value without milli."""
    meant = _shift(value, kind.milli_shift)
    plausible = [offer(v, kind.unit) for v in (meant, value) if kind.low <= v <= kind.high]
    asked = f": did you mean {' or '.join(plausible)}?" if plausible else "."
    return f"The small m is milli, which is rare on this part and easily a slip{asked}"


def _prefix_remedy(value: float, kind: _Kind) -> str:
    """Offer the value with the nearest prefix that makes it plausible."""
    if value <= 0:
        return "Give a positive value."
    step = 3 if value < kind.low else -3
    for steps in range(1, 6):
        neighbour = _shift(value, steps * step)
        if kind.low <= neighbour <= kind.high:
            return f"No such part is used here; check the prefix: did you mean {offer(neighbour, kind.unit)}?"
    return "No such part is used here; check the exponent."


def _shift(value: float, power: int) -> float:
    """Multiply by a power of ten without a rounding of its own."""
    return float(f"{Decimal(repr(value)):f}e{power}")
