"""The fields of a design file: records as plain data, and plain data checked and read back."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import MISSING, Field, fields, is_dataclass
from typing import Any

from ..circuit.opamp import OpAmp
from ..circuit.opamp_figures import FIGURES, Limits, SwingPoint
from ..errors import QuantityError
from .demands import Demands
from .requirements import Droop, Requirements

INFINITE = "infinite"
"""How a number without end is written: JSON has none."""
_IN_WORDS = {float: "a number", str: "a text", dict: "an object", list: "a list", int: "a whole number"}
_REMEDY = "Write the file again with save_design, or mend the field by hand."


def wrong(name: str, value: str, allowed: str, remedy: str = _REMEDY) -> QuantityError:
    """Return the error for a design file that cannot be read.

    Parameters
    ----------
    name : str
        Which file and field.
    value : str
        What was found.
    allowed : str
        What would have been accepted.
    remedy : str
        What to do.
    """
    return QuantityError(name, value[:200], allowed=allowed, remedy=remedy)


def read_fields(
    name: str, given: Mapping[str, Any], kinds: Mapping[str, type], optional: set[str]
) -> dict[str, Any]:
    """Return the fields of an object, each of the right kind.

    Parameters
    ----------
    name : str
        What errors call the object.
    given : mapping of str to object
        The object.
    kinds : mapping of str to type
        Every field that may occur; float takes whole numbers and `INFINITE` too.
    optional : set of str
        Fields that may be missing.

    Raises
    ------
    QuantityError
        If a field is missing, unknown or of the wrong kind.
    """
    for field in given:
        if field not in kinds:
            raise wrong(name, f"{field}", f"fields {', '.join(kinds)}")
    for field in kinds:
        if field not in given and field not in optional:
            raise wrong(name, f"no {field}", f"the field {field}")
    return {field: _read(f"{name}, {field}", value, kinds[field]) for field, value in given.items()}


def _read(name: str, value: object, kind: type) -> Any:
    if kind is float and value in (INFINITE, f"-{INFINITE}"):
        return math.inf if value == INFINITE else -math.inf
    if kind is float and isinstance(value, int | float) and not isinstance(value, bool):
        number = float(value) if abs(value) < 1e300 else math.nan
        if math.isfinite(number):
            return number
    elif isinstance(value, kind) and not isinstance(value, bool):
        return value
    raise wrong(
        name, f"{value!r}", {float: "a number", str: "a text", dict: "an object"}.get(kind, kind.__name__)
    )


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


def read_opamp_fields(name: str, given: Mapping[str, Any]) -> OpAmp:
    """Return an op-amp record from plain data.

    Parameters
    ----------
    name : str
        What errors call it.
    given : mapping of str to object
        As from `opamp_fields`.

    Raises
    ------
    QuantityError
        If a field is unknown or of the wrong kind, or the figures make no sense.
    """
    lists: dict[str, type] = {"swing": list, "notes": list, "limits": list}
    texts: dict[str, type] = dict.fromkeys(("name", "source", "title", "reversal"), str)
    kinds: dict[str, type] = {**texts, **dict.fromkeys(FIGURES, float), **lists}
    read = read_fields(name, given, kinds, set(kinds) - _required(OpAmp))
    read["swing"] = tuple(_record(f"{name}, swing", SwingPoint, point) for point in read.get("swing", ()))
    read["limits"] = tuple(_record(f"{name}, limits", Limits, limit) for limit in read.get("limits", ()))
    read["notes"] = tuple(_read(f"{name}, notes", note, str) for note in read.get("notes", ()))
    return OpAmp(**read)


_TEXT_FIELDS = {"quantity", "condition", "resistor_series", "capacitor_series"}


def _record(name: str, record: type, given: object) -> Any:
    """Return a record whose fields are numbers, or texts where listed."""
    if not isinstance(given, Mapping):
        raise wrong(name, f"{given!r}", "an object")
    kinds = {field.name: str if field.name in _TEXT_FIELDS else float for field in fields(record)}
    return record(**read_fields(name, given, kinds, set(kinds) - _required(record)))


def _required(record: Any) -> set[str]:
    return {field.name for field in fields(record) if _default(field) is MISSING}


def requirement_fields(requirements: Requirements) -> dict[str, Any]:
    """Return requirements as plain data, what is not asked left out.

    Parameters
    ----------
    requirements : Requirements
        What was asked.
    """
    return _changed(requirements)


def read_requirements(name: str, given: Mapping[str, Any]) -> Requirements:
    """Return requirements from plain data.

    Parameters
    ----------
    name : str
        What errors call them.
    given : mapping of str to object
        As from `requirement_fields`.

    Raises
    ------
    QuantityError
        If a field is unknown or of the wrong kind, or a value makes no sense.
    RequirementError
        If they contradict each other.
    """
    nested: dict[str, type] = {"droop": dict, "opamp": dict, "demands": dict}
    kinds: dict[str, type] = {
        field.name: str if field.name in _TEXT_FIELDS else float for field in fields(Requirements)
    }
    read = read_fields(name, given, {**kinds, **nested}, set(kinds) - {"supply", "gain", "input_impedance"})
    if "droop" in read:
        read["droop"] = _record(f"{name}, droop", Droop, read["droop"])
    if "demands" in read:
        read["demands"] = _record(f"{name}, demands", Demands, read["demands"])
    if "opamp" in read:
        read["opamp"] = read_opamp_fields(f"{name}, opamp", read["opamp"])
    return Requirements(**read)
