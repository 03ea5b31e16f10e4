"""Read numbers and text as SI values, or refuse them with one error."""

from __future__ import annotations

import math
import reprlib
from decimal import Decimal
from numbers import Real
from typing import NoReturn, SupportsFloat, TypeAlias

from ..errors import QuantityError
from .grammar import LONGEST_TEXT, Reading, parse, tidy
from .remedies import remedy_for
from .units import UNITS, Unit, unit_named
from .writing import write_quantity

#: What may be given where a quantity is wanted: a number in SI units or a text with its unit.
QuantityLike: TypeAlias = str | SupportsFloat

_GAIN_ALLOWED = 'a gain other than zero, such as 11, "11 V/V", "-11" or "20 dB"'
_WIDEST_DECIBELS = 300.0


def read_quantity(
    text_or_number: QuantityLike,
    unit: str,
    *,
    name: str,
    low: float | None = None,
    high: float | None = None,
    bare: bool = False,
) -> float:
    """Read a quantity as a float in SI units.

    Parameters
    ----------
    text_or_number : str or float
        A number (int, float, NumPy scalar) in SI units, or a text with its unit: "4k7", "4.7 uF",
        "47 kohm", "-3 dB", "5%". Percentages become ratios, slew rates V/s; decibels, degrees and
        Celsius temperatures keep their number.
    unit : str
        A name of the unit table: "ohm", "F", "V", "Vpp", "Hz", "dB", "%" ...
    name : str
        What the value is, in the user's words, for the error message.
    low, high : float, optional
        Smallest and largest value accepted, in SI units. Without `low`, quantities that cannot be
        negative (resistance, frequency, peak-to-peak voltage ...) start at zero.
    bare : bool
        Read a whole number without unit ("220") as ohms, as drawings print it. Other units are
        not affected, and "4.7" is still refused.

    Returns
    -------
    float
        The value in SI units.

    Raises
    ------
    QuantityError
        The text is not such a quantity, or the value is not finite or out of range.
    UnknownNameError
        The table has no such unit.
    """
    known = unit_named(unit)
    low = 0.0 if low is None and not known.signed else low
    allowed = in_words(known, low, high)
    value = read(text_or_number, known, name=name, allowed=allowed, bare=bare).value
    if (low is not None and value < low) or (high is not None and value > high):
        note = "" if isinstance(text_or_number, str) else f" A plain number is {_as_number(known)}."
        refuse(name, text_or_number, allowed, f"Give a value in that range.{note}")
    return value


def _as_number(unit: Unit) -> str:
    """Say what a number without text means: a percentage is a ratio then."""
    return "a ratio: 0.05 is 5 %" if unit.name == "%" else f"in SI units ({unit.name})"


def read_gain(value: QuantityLike, *, name: str) -> float:
    """Read a voltage gain as a ratio; the sign is kept, for inverting stages.

    Parameters
    ----------
    value : str or float
        A ratio (11, "11", "-11", "11 V/V") or decibels ("20 dB", which is the ratio 10).
    name : str
        What the gain is, for the error message.

    Returns
    -------
    float
        Volts per volt, not zero.

    Raises
    ------
    QuantityError
        The gain cannot be read, is zero or not finite, or is beyond 300 dB.
    """
    decibels = parse(value, UNITS["dB"]) if isinstance(value, str) and len(value) <= LONGEST_TEXT else None
    if decibels is not None:
        if not abs(decibels.value) <= _WIDEST_DECIBELS:
            refuse(name, value, f"-{_WIDEST_DECIBELS:g} dB to {_WIDEST_DECIBELS:g} dB", "Check the number.")
        return float(10.0 ** (decibels.value / 20.0))
    ratio = read(value, UNITS["ratio"], name=name, allowed=_GAIN_ALLOWED).value
    if ratio == 0:
        refuse(name, value, _GAIN_ALLOWED, "A stage of gain zero passes nothing: give the gain it must have.")
    return ratio


def read(value: QuantityLike, unit: Unit, *, name: str, allowed: str, bare: bool = False) -> Reading:
    """Read a number or text as a finite value of `unit`, with the prefix it was written with.

    Parameters
    ----------
    value : str or float
        As the user gave it.
    unit : Unit
        The unit wanted.
    name : str
        What the value is, for the error message.
    allowed : str
        Which values are allowed, in words, for the error message.
    bare : bool
        Read a whole number without unit as ohms.

    Raises
    ------
    QuantityError
        It is not one; the range is the caller's affair.
    """
    if isinstance(value, str):
        reading = _read_text(value, unit, name, allowed, bare=bare)
    else:
        reading = _read_number(value, unit, name, allowed)
    if not math.isfinite(reading.value):
        refuse(name, value, allowed, "Give a finite value.")
    return reading


def _read_text(text: str, unit: Unit, name: str, allowed: str, *, bare: bool) -> Reading:
    if len(text) > LONGEST_TEXT:
        refuse(name, text, allowed, f"Write it in at most {LONGEST_TEXT} characters.")
    tidied = tidy(text)
    if not tidied:
        refuse(name, text, allowed, f'The text is empty: write for example "{unit.example}".')
    whole = tidied.lstrip("+-")
    if bare and unit.name == "ohm" and whole.isascii() and whole.isdigit() and len(tidied) - len(whole) <= 1:
        tidied += "Ω"
    reading = parse(tidied, unit)
    if reading is None:
        refuse(name, text, allowed, remedy_for(tidied, unit))
    return reading


def _read_number(value: object, unit: Unit, name: str, allowed: str) -> Reading:
    if isinstance(value, bool) or not isinstance(value, Real | Decimal):
        refuse(name, value, allowed, f'Give a number in SI units or a text such as "{unit.example}".')
    try:
        return Reading(float(value), "")
    except (OverflowError, ValueError):  # an int of 400 digits; a signalling NaN
        return Reading(math.nan, "")


def in_words(unit: Unit, low: float | None, high: float | None) -> str:
    """Say which values are allowed: 'a resistance from 0.1 Ω to 1 GΩ, such as "4k7"'.

    Parameters
    ----------
    unit : Unit
        The unit wanted.
    low, high : float or None
        The range in SI units; None where it is open.
    """
    lowest = None if low is None else write_quantity(low, unit.name)
    highest = None if high is None else write_quantity(high, unit.name)
    if lowest and highest:
        span = f" from {lowest} to {highest}"
    else:
        span = f" of at least {lowest}" if lowest else f" of at most {highest}" if highest else ""
    return f'{unit.quantity}{span}, such as "{unit.example}"'


def refuse(name: str, value: object, allowed: str, remedy: str) -> NoReturn:
    """Raise the one error of this package for `value`, shown short enough to be read.

    Parameters
    ----------
    name : str
        What the value is, in the user's words.
    value : object
        As the user gave it.
    allowed : str
        Which values are allowed, in words.
    remedy : str
        What to do next.

    Raises
    ------
    QuantityError
        Always.
    """
    readable = isinstance(value, str) and value.strip() and value.isprintable() and len(value) <= LONGEST_TEXT
    raise QuantityError(name, value if readable else reprlib.repr(value), allowed=allowed, remedy=remedy)
