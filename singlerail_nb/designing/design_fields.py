"""The records of a design file: as plain data, and back from plain data of the published form."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import MISSING, Field, fields, is_dataclass
from typing import Any

from ..circuit.opamp import OpAmp
from ..circuit.opamp_figures import Limits, SwingPoint
from .demands import Demands
from .design_schema import INFINITE
from .requirements import Droop, Requirements


def _plain(value: object) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        return _changed(value)
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    if isinstance(value, float) and math.isinf(value):
        return INFINITE if value > 0 else f"-{INFINITE}"
    return value


def _changed(record: Any) -> dict[str, Any]:
    """Return the fields of a record that differ from their defaults."""
    pairs = {field.name: (getattr(record, field.name), _default(field)) for field in fields(record)}
    return {name: _plain(value) for name, (value, default) in pairs.items() if value != default}


def _default(field: Field[Any]) -> object:
    return field.default if field.default_factory is MISSING else field.default_factory()


def opamp_fields(opamp: OpAmp) -> dict[str, Any]:
    """Return an op-amp record as plain data, ideal figures left out.

    Parameters
    ----------
    opamp : OpAmp
        The record.
    """
    return _changed(opamp)


def read_opamp(given: Mapping[str, Any]) -> OpAmp:
    """Return an op-amp record from checked plain data.

    Parameters
    ----------
    given : mapping of str to object
        As from `design_schema.checked`.

    Raises
    ------
    QuantityError
        If the figures make no sense.
    """
    swing = tuple(SwingPoint(**point) for point in given.get("swing", ()))
    limits = tuple(Limits(**limit) for limit in given.get("limits", ()))
    return OpAmp(**{**given, "swing": swing, "limits": limits, "notes": tuple(given.get("notes", ()))})


def requirement_fields(requirements: Requirements) -> dict[str, Any]:
    """Return requirements as plain data, what is not asked left out.

    Parameters
    ----------
    requirements : Requirements
        What was asked.
    """
    return _changed(requirements)


_RECORDS = {
    "droop": lambda given: Droop(**given),
    "demands": lambda given: Demands(**given),
    "opamp": read_opamp,
}


def read_requirements(given: Mapping[str, Any]) -> Requirements:
    """Return requirements from checked plain data.

    Parameters
    ----------
    given : mapping of str to object
        As from `design_schema.checked`.

    Raises
    ------
    QuantityError
        If a value makes no sense.
    RequirementError
        If they contradict each other.
    """
    records = {name: made(given[name]) for name, made in _RECORDS.items() if name in given}
    return Requirements(**{**given, **records})
