"""Op-amp records from TOML text: the shipped demonstration classes and the user's own.

Every figure is a text with its unit (``gbw = "0.9 MHz"``), or a table with limits
(``offset_voltage = {typ = "2 mV", max = "6 mV", condition = "25 degC"}``).
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from os import PathLike
from pathlib import Path
from typing import Any

from ..errors import QuantityError, UnknownNameError
from ..files import MEGABYTE, read_tables
from ..quantities import read_gain, read_quantity
from .circuit import closest
from .opamp import OpAmp
from .opamp_figures import FIGURES, Limits, SwingPoint

_SHIPPED = Path(__file__).parents[1] / "data" / "opamps.toml"
LARGEST_FILE = MEGABYTE
"""Bytes; a record of an op-amp has about a thousand."""
_TEXTS = ("title", "source", "reversal")
_REQUIRED = ("gbw", "supply_min", "supply_max")
_COLUMNS = {"min", "typ", "max", "condition"}


def opamps() -> tuple[str, ...]:
    """Return the names of the shipped classes, all of them invented for demonstration."""
    return tuple(_shipped())


def opamp(name: str) -> OpAmp:
    """Return a shipped op-amp class; its figures are invented.

    Parameters
    ----------
    name : str
        A name from `opamps`.

    Raises
    ------
    UnknownNameError
        If there is no such class.
    """
    known = _shipped()
    if name not in known:
        raise UnknownNameError(
            "op-amp", name, allowed="a shipped class, or your own record", remedy=closest(name, known)
        )
    return known[name]


@cache
def _shipped() -> Mapping[str, OpAmp]:
    return load_opamps(_SHIPPED)


def load_opamps(path: str | PathLike[str]) -> dict[str, OpAmp]:
    """Return the op-amps of a TOML file, one table each.

    Parameters
    ----------
    path : path
        The file, UTF-8.

    Returns
    -------
    dict of str to OpAmp
        In the order of the file.

    Raises
    ------
    QuantityError
        If the file cannot be read or is no TOML, or a figure is missing, has no unit or makes no sense.
    UnknownNameError
        If a field is not one of the record.
    """
    tables = read_tables(path, "op-amp file", largest=LARGEST_FILE)
    return {name: read_opamp(name, table) for name, table in tables.items()}


def read_opamp(name: str, table: Mapping[str, Any]) -> OpAmp:
    """Return an op-amp from its table of texts.

    Parameters
    ----------
    name : str
        Its name.
    table : mapping
        Field -> text with unit, or table with ``min``, ``typ``, ``max``, ``condition``; ``swing``
        is a list of tables with ``load``, ``low``, ``high``; ``notes`` a list of texts.

    Raises
    ------
    QuantityError
        If a required field is missing, a figure has no unit or makes no sense.
    UnknownNameError
        If a field is not one of the record.
    """
    if not isinstance(table, Mapping):
        raise QuantityError(
            f"op-amp {name}", table, allowed="a table of figures", remedy=f"Begin it with [{name}]."
        )
    for field in _REQUIRED:
        if field not in table:
            raise QuantityError(
                f"op-amp {name}, {field}",
                "no value",
                allowed=f"the {FIGURES[field].label}",
                remedy=f'Add a line such as {field} = "{_EXAMPLES[field]}".',
            )
    given: dict[str, Any] = {}
    limits: list[Limits] = []
    for field, value in table.items():
        if field in FIGURES:
            given[field] = _figure(name, field, value, limits)
        elif field == "swing":
            given[field] = tuple(_swing_point(name, point) for point in _list(name, field, value))
        elif field == "notes":
            given[field] = tuple(_text(name, field, note) for note in _list(name, field, value))
        elif field in _TEXTS:
            given[field] = _text(name, field, value)
        else:
            known = [*FIGURES, *_TEXTS, "swing", "notes"]
            raise UnknownNameError(
                f"op-amp {name}", field, allowed="a field of the record", remedy=closest(field, known)
            )
    return OpAmp(name, limits=tuple(limits), **given)


_EXAMPLES = {"gbw": "1 MHz", "supply_min": "3 V", "supply_max": "32 V"}


def _figure(owner: str, field: str, value: Any, limits: list[Limits]) -> float:
    """Return the typical value; a table with limits adds them to the list."""
    if not isinstance(value, Mapping):
        return _quantity(owner, field, value, FIGURES[field].unit)
    unknown = set(value) - _COLUMNS
    if unknown or "typ" not in value:
        raise QuantityError(
            f"op-amp {owner}, {field}",
            f"columns {', '.join(value)}",
            allowed="typ, with min, max and condition where given",
            remedy="Without a typical figure, enter the guaranteed one as typ.",
        )
    unit = FIGURES[field].unit
    ends = [_quantity(owner, field, value[key], unit) if key in value else None for key in ("min", "max")]
    limits.append(Limits(field, ends[0], ends[1], _text(owner, field, value.get("condition", ""))))
    return _quantity(owner, field, value["typ"], unit)


def _swing_point(owner: str, point: Any) -> SwingPoint:
    if not isinstance(point, Mapping) or set(point) != {"load", "low", "high"}:
        raise QuantityError(
            f"op-amp {owner}, swing",
            point,
            allowed='points such as {load = "10k", low = "0.1 V", high = "1.5 V"}',
            remedy="Give load, low and high of each point; low and high are distances from the rails.",
        )
    return SwingPoint(
        _quantity(owner, "swing load", point["load"], "ohm"),
        _quantity(owner, "swing low", point["low"], "V"),
        _quantity(owner, "swing high", point["high"], "V"),
    )


def _quantity(owner: str, field: str, value: Any, unit: str) -> float:
    name = f"op-amp {owner}, {field}"
    if not isinstance(value, str):
        raise QuantityError(
            name, value, allowed="a text with its unit", remedy='Put it in quotes, with the unit: "2 mV".'
        )
    if field == "dc_gain":
        return read_gain(value, name=name)
    return read_quantity(value, unit, name=name)


def _list(owner: str, field: str, value: Any) -> list[Any]:
    if not isinstance(value, list):
        raise QuantityError(
            f"op-amp {owner}, {field}", value, allowed="a list", remedy=f"Write {field} = [ ... ]."
        )
    return value


def _text(owner: str, field: str, value: Any) -> str:
    if not isinstance(value, str):
        raise QuantityError(f"op-amp {owner}, {field}", value, allowed="a text", remedy="Put it in quotes.")
    return value
