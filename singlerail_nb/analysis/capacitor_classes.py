"""Kinds of capacitor: what they lose, leak and stand; and the temperature codes of class 2 ceramics."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from os import PathLike
from pathlib import Path

from ..circuit.circuit import closest
from ..errors import QuantityError, UnknownNameError
from ..files import MEGABYTE, read_tables
from ..quantities import read_part, read_quantity
from .dc_errors import electrolytic_leakage
from .tolerance_inputs import Limits, PartTolerance

_SHIPPED = Path(__file__).parents[1] / "data" / "capacitor_classes.toml"
_REFERENCE_HOURS = 1000.0
"""Age to which a tolerance refers, hours (from memory)."""
RATINGS = (4.0, 6.3, 10.0, 16.0, 25.0, 35.0, 50.0, 63.0, 100.0, 160.0, 250.0, 400.0, 630.0)
"""Usual rated voltages, V (common practice, no published source)."""

# Source: EIA temperature characteristic code of class 2 and 3 ceramics as printed in Texas Instruments
# SLAA701B, Table 1-16, and in Holy Stone's general information, p. 53 (which prints 1.2 % for B).
_COLD = {"X": -55.0, "Y": -30.0, "Z": 10.0}
_HOT = {"2": 45.0, "4": 65.0, "5": 85.0, "6": 105.0, "7": 125.0, "8": 150.0, "9": 200.0}
_EVEN = {
    "A": 0.01,
    "B": 0.015,
    "C": 0.022,
    "D": 0.033,
    "E": 0.047,
    "F": 0.075,
    "P": 0.1,
    "R": 0.15,
    "S": 0.22,
}
_UNEVEN: dict[str, Limits] = {"T": (-0.33, 0.22), "U": (-0.56, 0.22), "V": (-0.82, 0.22)}
_CHANGE: dict[str, Limits] = {**{letter: (-c, c) for letter, c in _EVEN.items()}, **_UNEVEN}


@dataclass(frozen=True)
class TemperatureCode:
    """What a temperature code of a class 2 or 3 ceramic promises.

    Attributes
    ----------
    code : str
        Such as "X7R".
    lowest, highest : float
        Temperature range, degC.
    change : (float, float)
        Largest relative change of capacitance over that range, without DC bias: the code says
        nothing about the loss with voltage.
    """

    code: str
    lowest: float
    highest: float
    change: Limits


def temperature_code(code: str) -> TemperatureCode:
    """Return what an EIA temperature code such as "X7R" or "Y5V" promises.

    Parameters
    ----------
    code : str
        Letter, figure, letter.

    Raises
    ------
    UnknownNameError
        If it is no such code.
    """
    text = code.strip().upper()
    if len(text) != 3 or text[0] not in _COLD or text[1] not in _HOT or text[2] not in _CHANGE:
        raise UnknownNameError(
            "temperature code",
            code,
            allowed="X, Y or Z; 2 and 4 to 9; A to F, P, R to V",
            remedy='X7R is usual; "C0G" is a class 1 ceramic and has a code of its own.',
        )
    return TemperatureCode(text, _COLD[text[0]], _HOT[text[1]], _CHANGE[text[2]])


@dataclass(frozen=True)
class CapacitorClass:
    """Class figures of one kind of capacitor; relative changes are (lowest, highest).

    Attributes
    ----------
    name, title : str
        Key and words.
    tolerance, temperature, ageing_per_decade, bias_loss : (float, float)
        As delivered; over temperature; per decade of hours; with the rated voltage on it.
    insulation : float
        Insulation resistance times capacitance, s; 0 if the leakage rule holds.
    leakage_rule : bool
        Whether it leaks up to 0.01 C V or 3 uA.
    polarised : bool
        Whether reverse voltage harms it.
    microphonic : str
        "no", "slight" or "yes".
    stress : float
        Largest usual share of the rated voltage (common practice).
    smallest, largest : float
        Usual range, F.
    """

    name: str
    title: str
    tolerance: Limits
    temperature: Limits
    ageing_per_decade: Limits
    bias_loss: Limits
    insulation: float
    leakage_rule: bool
    polarised: bool
    microphonic: str
    stress: float
    smallest: float
    largest: float

    def leakage(self, capacitance: float, volts: float, rated: float) -> float:
        """Return the largest usual leakage, A.

        Parameters
        ----------
        capacitance : float
            F.
        volts, rated : float
            DC voltage on it and rated voltage, V.

        Raises
        ------
        QuantityError
            If a value is not positive.
        """
        if self.leakage_rule:
            return electrolytic_leakage(capacitance, rated)
        return abs(volts) * capacitance / self.insulation

    def rating_for(self, volts: float) -> float:
        """Return the smallest usual rated voltage that keeps the stress within common practice, V.

        Parameters
        ----------
        volts : float
            Largest voltage that can occur, V.
        """
        needed = abs(volts) / self.stress
        return next((rating for rating in RATINGS if rating >= needed * (1.0 - 1e-9)), math.inf)

    def spread(self, volts: float, rated: float, life_hours: float = 87_600.0) -> PartTolerance:
        """Return every cause that moves the capacitance at a DC voltage.

        The loss with voltage is taken as proportional to it: an invented simplification, since the
        code of a ceramic does not cover it.  Ageing counts from 1000 h.

        Parameters
        ----------
        volts, rated : float
            DC voltage on it and rated voltage, V.
        life_hours : float
            Age to design for; ten years unless given.
        """
        decades = max(0.0, math.log10(life_hours / _REFERENCE_HOURS))
        share = min(1.0, abs(volts) / rated)
        ageing = (self.ageing_per_decade[0] * decades, self.ageing_per_decade[1] * decades)
        bias = (self.bias_loss[0] * share, self.bias_loss[1] * share)
        return PartTolerance(self.tolerance, self.temperature, ageing, bias)


def capacitor_classes() -> tuple[str, ...]:
    """Return the names of the shipped classes, all of them invented for demonstration."""
    return tuple(_shipped())


def capacitor_class(name: str) -> CapacitorClass:
    """Return a shipped class; its figures are invented.

    Parameters
    ----------
    name : str
        A name from `capacitor_classes`.

    Raises
    ------
    UnknownNameError
        If there is no such class.
    """
    known = _shipped()
    if name not in known:
        raise UnknownNameError(
            "capacitor class", name, allowed="a shipped class, or your own", remedy=closest(name, known)
        )
    return known[name]


@cache
def _shipped() -> Mapping[str, CapacitorClass]:
    return load_capacitor_classes(_SHIPPED)


def load_capacitor_classes(path: str | PathLike[str]) -> dict[str, CapacitorClass]:
    """Return the classes of a TOML file, one table each.

    Parameters
    ----------
    path : path
        The file, UTF-8.

    Raises
    ------
    QuantityError
        If the file is no TOML, or a figure is missing or cannot be read.
    """
    tables = read_tables(path, "capacitor class file", largest=MEGABYTE)
    return {name: _read(name, table) for name, table in tables.items()}


_PAIRS = ("tolerance", "temperature", "ageing_per_decade", "bias_loss")
_KINDS: dict[str, type] = {"title": str, "leakage_rule": bool, "polarised": bool, "microphonic": str}
_WANTED = {str: "a text", bool: "true or false"}


def _read(name: str, table: object) -> CapacitorClass:
    what = f"capacitor class {name}"
    if not isinstance(table, Mapping):
        raise QuantityError(what, table, allowed="a table of fields", remedy=f"Begin it with [{name}].")
    missing = [field for field in CapacitorClass.__dataclass_fields__ if field not in {"name", *table}]
    unknown = [field for field in table if field not in CapacitorClass.__dataclass_fields__]
    if missing or unknown or "name" in table:
        raise QuantityError(
            what,
            ", ".join([*(f"no {field}" for field in missing), *unknown, *({"name"} & {*table})]),
            allowed="every field of a class, once",
            remedy="Compare with the shipped file.",
        )
    given = dict(table)
    for field, kind in _KINDS.items():
        if not isinstance(given[field], kind):
            raise QuantityError(f"{name}, {field}", given[field], allowed=_WANTED[kind], remedy="Write that.")
    for field in _PAIRS:
        given[field] = _pair(f"{name}, {field}", given[field])
    given["insulation"] = read_quantity(given["insulation"], "s", name=f"{name}, insulation", low=0.0)
    given["stress"] = read_quantity(given["stress"], "%", name=f"{name}, stress", low=0.01, high=1.0)
    given |= {field: read_part("c_", given[field]) for field in ("smallest", "largest")}
    return CapacitorClass(name=name, **given)


def _pair(what: str, given: object) -> Limits:
    """Read the lowest and the highest change."""
    if not isinstance(given, list) or len(given) != 2:
        raise QuantityError(
            what, given, allowed='[lowest, highest], such as ["-10 %", "10 %"]', remedy="Give both ends."
        )
    low, high = (read_quantity(value, "%", name=what) for value in given)
    if low > high:
        raise QuantityError(what, given, allowed="lowest before highest", remedy="Swap the two.")
    return low, high
