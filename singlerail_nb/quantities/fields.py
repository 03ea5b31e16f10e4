"""Numbers of data classes and temperatures as people give them: text with its unit is read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from numbers import Real
from typing import Any

from .reading import QuantityLike, read_quantity

_ZERO_CELSIUS = 273.15


def read_fields(record: Any, units: Mapping[str, str]) -> None:
    """Read texts among the fields of a frozen data class in place; plain numbers stay as they are.

    Parameters
    ----------
    record : data class
        While it is being made; None stays where it is the default.
    units : mapping of str to str
        Field -> name of its unit in the unit table.

    Raises
    ------
    QuantityError
        If a field is neither a number nor the text of such a quantity.
    """
    optional = {field.name for field in fields(record) if field.default is None}
    for name, unit in units.items():
        given = getattr(record, name)
        if not isinstance(given, Real) and not (given is None and name in optional):
            object.__setattr__(record, name, read_quantity(given, unit, name=name))


def read_temperature(given: QuantityLike, *, name: str = "temperature") -> float:
    """Return a temperature in K.

    Parameters
    ----------
    given : float or str
        A number is in K; a text is in degrees Celsius, such as "27 degC".
    name : str
        What it is, for the error message.

    Raises
    ------
    QuantityError
        If it is neither.
    """
    if isinstance(given, Real):
        return float(given)
    return read_quantity(given, "degC", name=name, low=-_ZERO_CELSIUS) + _ZERO_CELSIUS
