"""What to say about a text that could not be read: find the slip and name the way out.

Each private function looks for one kind of slip in a tidied text and returns a sentence, or None.
`remedy_for` asks them in turn.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from .grammar import NUMBER, parse, split_number
from .units import UNITS, Unit
from .writing import CODE_LIMITS, write_code, write_quantity

_TOLERANCE_LETTERS = "BCDFGJKMQSTZ"
_OFFERED_DIGITS = 12
"""Significant digits of an offer: more than anyone types, fewer than a float's last ones."""
_DID_YOU_MEAN_POWERS = {"ohm": (0, 3), "F": (-6, -9)}


def offer(value: float, unit: Unit) -> str:
    """Name a resistance or capacitance and its code: '4.7 kΩ = "4k7"'.

    Parameters
    ----------
    value : float
        Ohms or farads.
    unit : Unit
        One that has codes.
    """
    rounded = float(f"{value:.{_OFFERED_DIGITS}g}")
    return f'{write_quantity(rounded, unit.name, _OFFERED_DIGITS)} = "{write_code(rounded, unit.name)}"'


def _has_code(value: float, unit: Unit) -> bool:
    return bool(unit.codes) and CODE_LIMITS[0] <= value <= CODE_LIMITS[1]


def _either(candidates: Iterable[str]) -> str:
    return " or ".join(f'"{text}"' for text in candidates)


def _kind(unit: Unit) -> str:
    return f"{unit.quantity} ({unit.symbol})" if unit.symbol else unit.quantity


def _decimal_comma(tidied: str, unit: Unit) -> str | None:
    if "," not in tidied:
        return None
    candidates = [tidied.replace(",", ".")]
    reading = parse(candidates[0], unit)
    if re.search(r"[0-9],[0-9]{3}(?![0-9])", tidied):
        candidates.append(tidied.replace(",", ""))
    elif reading is not None and _has_code(reading.value, unit):
        candidates.append(write_code(reading.value, unit.name))
    readable = [text for text in candidates if parse(text, unit) is not None]
    write = f"Write {_either(readable)}." if readable else remedy_for(candidates[0], unit)
    return f"A comma may mean a decimal or a thousand, so it is not read: use a decimal point. {write}"


def _space_inside(tidied: str, unit: Unit) -> str | None:
    joined = re.sub(r"(?<=[0-9]) (?=[0-9])", "", tidied)
    if joined == tidied:
        return None
    write = f": {_either([joined])}" if parse(joined, unit) is not None else ""
    return f"Write the number without spaces inside{write}."


def _no_unit(tidied: str, unit: Unit) -> str | None:
    if NUMBER.fullmatch(tidied) is None:
        return None
    powers = _DID_YOU_MEAN_POWERS.get(unit.name, ()) if "e" not in tidied.lower() else ()
    values = [float(f"{tidied}e{power}") for power in powers]
    offers = [offer(value, unit) for value in values if _has_code(value, unit)]
    if offers:
        return f"The unit is missing: did you mean {' or '.join(offers)}?"
    return f"The unit is missing: write it behind the number, as in {_either([_with_unit(tidied, unit)])}."


def _with_unit(number: str, unit: Unit) -> str:
    """Return a number with the unit that it lacks, or an example where that would not be read."""
    completed = number + ("" if unit.name == "%" else " ") + next(iter(unit.spellings), "")
    return completed if parse(completed, unit) is not None else unit.example


def _tolerance_letter(tidied: str, unit: Unit) -> str | None:
    value = tidied[:-1]
    if not unit.codes or tidied[-1:] not in _TOLERANCE_LETTERS or parse(value, unit) is None:
        return None
    return f"A tolerance letter is no part of the value: write {_either([value])}."


def _prefix_alone(tidied: str, unit: Unit) -> str | None:
    split = split_number(tidied)
    if split is None or len(split[2]) != 1 or split[2] not in unit.prefixes:
        return None
    completed = f"{tidied[:-1].strip()} {split[2]}{next(iter(unit.spellings))}"
    return f"The unit is missing behind the prefix: write {_either([completed])}."


def _other_unit(tidied: str, unit: Unit) -> str | None:
    for other in UNITS.values():
        if other is not unit and parse(tidied, other) is not None:
            return f"That is {_kind(other)}; {_kind(unit)} is wanted."
    return None


def _capitals(tidied: str, unit: Unit) -> str | None:
    number = NUMBER.match(tidied)
    if number is None:
        return None
    typed = tidied[number.end() :].replace(" ", "").lower()
    # Milli is a rare prefix on parts: no good guess.
    likely = (suffix for suffix, (prefix, _) in unit.suffixes.items() if not (unit.codes and prefix == "m"))
    suffixes = [suffix for suffix in likely if suffix.lower() == typed]
    candidates = [number[0] + (suffix if suffix in unit.codes else f" {suffix}") for suffix in suffixes]
    if not candidates:
        return None
    return f"Capital and small letters differ: did you mean {_either(candidates)}?"


_SLIPS: tuple[Callable[[str, Unit], str | None], ...] = (
    _decimal_comma,
    _space_inside,
    _no_unit,
    _tolerance_letter,
    _prefix_alone,
    _other_unit,
    _capitals,
)


def remedy_for(tidied: str, unit: Unit) -> str:
    """Say what to write instead of a text that is no value of `unit`.

    Parameters
    ----------
    tidied : str
        As `grammar.tidy` returns it.
    unit : Unit
        The unit wanted.
    """
    for look in _SLIPS:
        sentence = look(tidied, unit)
        if sentence is not None:
            return sentence
    return f'Write a number and its unit, for example "{unit.example}".'
