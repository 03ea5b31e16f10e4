"""Read what a student typed: numbers and formulas as people write them, never run as code."""

from __future__ import annotations

import math
import re

from ..errors import SingleRailError
from ..quantities import read_quantity
from .asks import printed

# After a lone 0, or before any number of figures but three.
_DECIMAL_COMMA = re.compile(r"((?<![0-9.])0|[0-9](?=,(?:[0-9]{1,2}|[0-9]{4,})(?![0-9,]))),([0-9]+)(?![0-9,])")
_OPENING = re.compile(r"^.*[=≈~]|^\s*(?:ca\.?|about|approx\.?)\s")
_OTHER_UNITS: dict[str, tuple[tuple[str, float], ...]] = {
    "Vpp": (("Vp", 2.0), ("Vrms", 2.0 * math.sqrt(2.0)), ("V", 1.0)),
    "V/V": (("ratio", 1.0),),
}
_LARGEST_DB = 300.0
_NOTE = re.compile(r"\s*(?:\([^()0-9]*\)|[.!])$")
_PLUS_MINUS = r"\s*(?:±|\+/?-)\s*[0-9]+(?:\.[0-9]+)?"
_UNCERTAIN = re.compile(rf"(?:([^\W\d_]){_PLUS_MINUS}\s*[^\W\d_]*|{_PLUS_MINUS})\s*%?")
_TEN_TO = re.compile(r"(?<=[0-9])\s*[*·×x]\s*10\s*(?:\^|\*\*)\s*\(?([+-]?[0-9]{1,2})\)?(?![0-9.])")
_TIMES = re.compile(r"^[x×]\s*(?=[-+0-9.])|(?<=[0-9])\s*(?:x|×|times|:\s?1)$")
_PEAK_TO_PEAK = re.compile(r"V\s*[_(]?\s*(?:pk-?pk|pp|ss|peak[- ]to[- ]peak)\)?(?=\s|$)")


def read_answer(text: str, unit: str) -> tuple[float, str]:
    """Return a typed number in SI units, and what is missing from it.

    A decimal comma is taken as such where it cannot mean thousands.  A number without a unit is in the
    unit asked for, which the sheet prints.  Of "22.7 Hz ± 0.5 Hz" the first number counts, and a note
    in brackets behind it is left out, unless it holds a number.

    Parameters
    ----------
    text : str
        As typed.
    unit : str
        Unit asked for.

    Raises
    ------
    QuantityError
        If it is no number of that unit.
    """
    worked_out = _OPENING.sub("", text)  # "1/(2 pi R C) = 40 Hz" answers 40 Hz
    shown = _DECIMAL_COMMA.sub(r"\1.\2", worked_out).strip()
    shown = _without_printed_unit(shown, unit)
    try:
        return read_quantity(shown, unit, name="answer", bare=True), ""
    except SingleRailError:
        for candidate in dict.fromkeys((shown, _tidied(shown, unit))):
            found = _in_any_unit(candidate, unit)
            if found is not None:
                return found
        raise


def _in_any_unit(shown: str, unit: str) -> tuple[float, str] | None:
    """Return a number in the unit asked for or one that means the same; None if it is none."""
    for other, factor in ((unit, 1.0), *_OTHER_UNITS.get(unit, ())):
        value = _tried(shown, other)
        if value is not None:
            return factor * value, "state Vpp, Vp or Vrms" if unit == "Vpp" and other == "V" else ""
    value = _tried(shown, "dB") if unit == "V/V" else None
    if value is not None and abs(value) < _LARGEST_DB:
        return 10.0 ** (value / 20.0), ""
    value = _tried(f"{shown} {unit}", unit)
    return None if value is None else (value, "")


def _tidied(text: str, unit: str) -> str:
    """Return a number as `read_quantity` takes it, where people write it otherwise and mean one thing."""
    found = text.replace("(" + printed(unit) + ")", unit)
    if unit == "Vpp":
        found = _PEAK_TO_PEAK.sub("Vpp", found)
    found = _TEN_TO.sub(r"e\1", _UNCERTAIN.sub(r"\1", _NOTE.sub("", found), count=1))
    if unit == "V/V":
        found = _TIMES.sub("", found)
    ending = found[-len(unit) :]
    return found[: -len(unit)] + unit if ending.casefold() == unit.casefold() else found


def _without_printed_unit(text: str, unit: str) -> str:
    """Return the answer without the unit that the blank already carries, if it was written once more."""
    written = text.removesuffix(f" {printed(unit)}").strip()
    return written if written != text and _tried(written, unit) is not None else text


def _tried(text: str, unit: str) -> float | None:
    try:
        return read_quantity(text, unit, name="answer", low=-math.inf)
    except SingleRailError:
        return None


def plain_formula(text: str) -> str:
    """Return a typed formula in plain signs: of "f = formula = 40 Hz" the formula, and TeX without its signs.

    Parameters
    ----------
    text : str
        As typed.
    """
    parts = [part for part in _without_tex(text).split("=") if part.strip()]
    return next((part for part in parts if set(part) & _OPERATORS), parts[-1] if parts else text)


_OPERATORS = set("*/^()[]·×÷")
_FRACTION = re.compile(r"\\[dt]?frac\s*\{([^{}]*)\}\s*\{([^{}]*)\}")
_SUBSCRIPT = re.compile(r"_\{\s*(?:\\(?:mathrm|text)\s*\{(\w+)\}|(\w+))\s*\}")
_SPACING = re.compile(r"\\(?:left|right|cdot|times|,|;|!| )|\$")
_MOST_FRACTIONS = 8


def _without_tex(text: str) -> str:
    found = _SUBSCRIPT.sub(r"_\1\2", text).replace("\\pi", " pi ")
    found = _SPACING.sub(lambda sign: " * " if sign[0] in ("\\cdot", "\\times") else " ", found)
    for _ in range(_MOST_FRACTIONS):
        found, changed = _FRACTION.subn(r"((\1)/(\2))", found)
        if not changed:
            break
    return found
