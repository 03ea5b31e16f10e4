"""The grammar of quantity text: one number and what follows it.

Three forms exist: a number with a unit ("4.7 uF", "-3 dB"), a number with the letter of an
IEC 60062 code behind it ("10k", "220n"), and the code whose letter stands for the decimal point
("4k7", "R47"). The digits and the power of ten are put together before they become a float, so
"4k7" is exactly 4700.0 and "4u7" is exactly 4.7e-6.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from .units import Unit

#: Longest text that is looked at, in characters.
LONGEST_TEXT = 64

NUMBER = re.compile(r"([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))(?:[eE]([+-]?[0-9]{1,3}))?")
_CODE = re.compile(r"([+-]?)([0-9]*)([A-Za-zµ])([0-9]+) ?(Ω|F|)")
_OHMS = re.compile(r"ohms?", re.IGNORECASE)
_SAME_SIGNS = str.maketrans(
    {
        "\N{MINUS SIGN}": "-",
        "\N{OHM SIGN}": "Ω",
        "\N{GREEK SMALL LETTER MU}": "µ",
        "\N{DEGREE CELSIUS}": "°C",
        "\N{NO-BREAK SPACE}": " ",
        "\N{NARROW NO-BREAK SPACE}": " ",
        "\N{THIN SPACE}": " ",
    }
)


class Reading(NamedTuple):
    """A value and how it was written.

    Attributes
    ----------
    value : float
        In SI units.
    prefix : str
        The prefix letter it was written with; "" if none.
    """

    value: float
    prefix: str


def tidy(text: str) -> str:
    """Bring the signs that look alike to one form: minus, omega, micro, degree and spaces.

    Parameters
    ----------
    text : str
        As typed.
    """
    return _OHMS.sub("Ω", text.translate(_SAME_SIGNS)).strip(" \t\n")


def split_number(tidied: str) -> tuple[str, int, str] | None:
    """Split a text into digits, power of ten and the rest without spaces.

    Parameters
    ----------
    tidied : str
        As `tidy` returns it.

    Returns
    -------
    (str, int, str) or None
        None if the text does not start with a number.
    """
    match = NUMBER.match(tidied)
    if match is None:
        return None
    return match[1], int(match[2] or 0), tidied[match.end() :].replace(" ", "")


def parse_code(tidied: str, unit: Unit) -> Reading | None:
    """Read a code whose letter is the decimal point, such as "4k7"; None if it is not one.

    Parameters
    ----------
    tidied : str
        As `tidy` returns it.
    unit : Unit
        The unit whose code letters are looked for.
    """
    match = _CODE.fullmatch(tidied)
    if match is None or match[3] not in unit.codes or match[5] not in ("", unit.symbol):
        return None
    sign, whole, letter, part, _ = match.groups()
    prefix, power = unit.suffixes[letter]
    return Reading(float(f"{sign}{whole or '0'}.{part}e{power}"), prefix)


def parse(text: str, unit: Unit) -> Reading | None:
    """Read a text as a value of `unit`; None if it is anything else.

    Parameters
    ----------
    text : str
        As typed.
    unit : Unit
        The unit that the text must carry (for resistances and capacitances the letter is enough).
    """
    tidied = tidy(text)
    split = split_number(tidied)
    if split is not None and split[2] in unit.suffixes:
        digits, exponent, suffix = split
        prefix, power = unit.suffixes[suffix]
        return Reading(float(f"{digits}e{exponent + power}"), prefix)
    return parse_code(tidied, unit)
