"""Write SI values for people: "4.7 kΩ", "15.92 Hz", "-3.01 dB", and as codes: "4k7", "2µ2".

The number is rounded once, as text, so that a rounding that crosses a power of a thousand moves
to the next prefix (999.96 Ω becomes 1 kΩ), and no digit is added by a division.
"""

from __future__ import annotations

import math
from decimal import Decimal
from typing import SupportsFloat

from ..errors import QuantityError, UnknownNameError
from .units import PREFIX_SYMBOLS, UNITS, Unit, unit_named

#: Smallest and largest value that a code is written for, in SI units.
CODE_LIMITS = (1e-18, 1e15)


def write_quantity(value: SupportsFloat, unit: str, digits: int = 4) -> str:
    """Write a value in engineering form.

    Parameters
    ----------
    value : float
        In SI units (percentages as ratios, slew rates in V/s).
    unit : str
        A name of the unit table: "ohm", "F", "Hz", "Vpp", "dB", "%" ...
    digits : int
        Significant digits, 1 to 17; trailing zeros are dropped.

    Returns
    -------
    str
        Such as "4.7 kΩ", "2.2 µF", "-3.01 dB"; "not a number", "infinity" or "minus infinity"
        where the value is no finite number.

    Raises
    ------
    UnknownNameError
        The table has no such unit.
    QuantityError
        `digits` is out of range.
    """
    known = unit_named(unit)
    if not 1 <= digits <= 17:
        raise QuantityError("digits", digits, allowed="1 to 17", remedy="Four digits suit most readouts.")
    number = float(value)
    if math.isnan(number):
        return "not a number"
    if math.isinf(number):
        return "infinity" if number > 0 else "minus infinity"
    gap = "" if known.symbol in ("", "°") else " "
    if number == 0:
        return f"0{gap}{known.symbol}"
    mantissa, exponent = f"{number:.{digits - 1}e}".split("e")
    return _engineering(mantissa, int(exponent) - known.display_power, known, gap)


def _engineering(mantissa: str, exponent: int, unit: Unit, gap: str) -> str:
    """Write a mantissa of one whole digit, times ten to the exponent, with the best prefix."""
    power = max((step for step in unit.written if step <= exponent), default=unit.written[0])
    if -4 <= exponent - power <= 5:
        return f"{_plain(mantissa, exponent - power)}{gap}{PREFIX_SYMBOLS[power]}{unit.symbol}"
    return f"{_plain(mantissa, 0)}e{exponent}{gap}{unit.symbol}"


def _plain(mantissa: str, exponent: int) -> str:
    """Write mantissa times ten to the exponent without an exponent and without trailing zeros."""
    text = format(Decimal(f"{mantissa}e{exponent}"), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def write_code(value: SupportsFloat, unit: str) -> str:
    """Write a resistance or capacitance as a code in the style of IEC 60062.

    The letter stands where the decimal point would. All digits are written: the code reads back
    as the same float.

    Parameters
    ----------
    value : float
        Ohms or farads: 0, or from 1e-18 to 1e15.
    unit : str
        "ohm" or "F".

    Returns
    -------
    str
        Such as "4k7", "220R", "R47", "2µ2", "100n".

    Raises
    ------
    UnknownNameError
        Codes exist for "ohm" and "F" only.
    QuantityError
        The value is negative, not finite or outside the limits.
    """
    with_codes = [name for name, known in UNITS.items() if known.codes]
    if unit not in with_codes:
        raise UnknownNameError(
            "unit", unit, allowed=" or ".join(with_codes), remedy="Use write_quantity for other units."
        )
    number = float(value)
    if number != 0 and not CODE_LIMITS[0] <= number <= CODE_LIMITS[1]:
        raise QuantityError(
            unit, number, allowed="0, or from 1e-18 to 1e15", remedy="Use write_quantity for other values."
        )
    return _code(Decimal(repr(abs(number))), UNITS[unit])


def _code(exact: Decimal, unit: Unit) -> str:
    """Put the letter of the best power in the place of the decimal point."""
    letters = {power: letter for letter, power in unit.codes.items() if letter not in "uKm"}
    power = max((step for step in letters if step <= exact.adjusted()), default=min(letters))
    digits = "".join(map(str, exact.as_tuple().digits))
    whole, _, part = _plain(digits, int(exact.as_tuple().exponent) - power).partition(".")
    return f"{whole.lstrip('0') if part else whole}{letters[power]}{part}"
