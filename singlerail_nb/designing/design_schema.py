"""The published form of a design file, and the reader that holds a file against it.

The form stands in ``data/design_file.schema.json``, a JSON schema (draft 2020-12) that other programs may use
as well.  Of that language it uses what is read here: types, properties, items, required and further fields,
patterns of names, and references.  Any other keyword in it is an error of the package, not of the file.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from ..errors import QuantityError

INFINITE = "infinite"
"""How a number without end is written: JSON has none."""
_FILE = Path(__file__).parents[1] / "data" / "design_file.schema.json"
_NUMBER = "#/$defs/number"
_KINDS: Mapping[str, tuple[type, str]] = {
    "string": (str, "a text"),
    "object": (Mapping, "an object"),
    "array": (list, "a list"),
}
_REMEDY = "Write the file again with save_design, or mend the field by hand."


@cache
def schema() -> Mapping[str, Any]:
    """Return the JSON schema of design files."""
    found: Mapping[str, Any] = json.loads(_FILE.read_text(encoding="utf-8"))
    return found


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


def checked(name: str, document: object) -> dict[str, Any]:
    """Return a document of the published form, its numbers as floats.

    Parameters
    ----------
    name : str
        What errors call it.
    document : object
        As JSON gives it.

    Raises
    ------
    QuantityError
        If a field is missing, unknown or of the wrong kind.
    """
    found: dict[str, Any] = _read(name, document, schema())
    return found


def _read(name: str, value: object, rule: Mapping[str, Any]) -> Any:
    """Return a value that obeys a rule of the schema."""
    if rule.get("$ref") == _NUMBER:
        return _number(name, value)
    if "$ref" in rule:
        return _read(name, value, schema()["$defs"][rule["$ref"].rpartition("/")[2]])
    if "const" in rule:
        if value != rule["const"] or isinstance(value, bool):
            raise wrong(name, f"{value!r}", f"{rule['const']}")
        return value
    kind, in_words = _KINDS[rule["type"]]
    if not isinstance(value, kind):
        raise wrong(name, f"{value!r}", in_words)
    if isinstance(value, list):
        return [_read(name, item, rule["items"]) for item in value]
    return dict(_fields(name, value, rule)) if isinstance(value, Mapping) else value


def _fields(name: str, record: Mapping[str, Any], rule: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    known, others = rule.get("properties", {}), rule["additionalProperties"]
    for field in rule.get("required", ()):
        if field not in record:
            raise wrong(name, f"no {field}", f"the field {field}")
    for field, value in record.items():
        if field not in known and not others:
            raise wrong(name, field, f"fields {', '.join(known)}")
        names = rule.get("propertyNames")
        if names and not re.search(names["pattern"], field):
            raise wrong(name, field, names["description"])
        yield field, _read(f"{name}, {field}", value, known.get(field, others))


def _number(name: str, value: object) -> float:
    allowed, words = schema()["$defs"]["number"]["anyOf"]
    if value in words["enum"]:
        return math.inf if value == INFINITE else -math.inf
    number = value if isinstance(value, int | float) and not isinstance(value, bool) else math.nan
    if allowed["exclusiveMinimum"] < number < allowed["exclusiveMaximum"]:
        return float(number)
    raise wrong(name, f"{value!r}", f'{schema()["$defs"]["number"]["title"]} or "{INFINITE}"')
