"""The design file: a stage, or a design with its requirements, as versioned JSON.

Numbers are written with every digit, quantities in SI units.  Reading checks every field before
anything is built from it; nothing in a file is ever executed.  What is ideal in an op-amp record
and what is not asked in the requirements is left out.
"""

from __future__ import annotations

import json
import os
import secrets
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from ..analysis.stage import Stage, stage
from ..errors import QuantityError, RequirementError
from .design_document import SCHEMA, design_document
from .design_fields import read_fields, read_opamp_fields, read_requirements, wrong
from .requirements import Requirements
from .synthesis import Design, design

LARGEST_FILE = 1_000_000
"""Bytes; a design file has a few thousand."""
_FIELDS = {
    "schema": int, "package_version": str, "stage": str, "supply": float, "bias": str, "values": dict,
    "levels": dict, "opamp": dict, "requirements": dict,
}  # fmt: skip
_OPTIONAL = {"opamp", "requirements"}


def save_design(path: str | Path, design: Design | Stage) -> Path:
    """Write a design, or a bare stage, to a file in one step: it is there complete, or not at all.

    Parameters
    ----------
    path : str or Path
        Where; the folder must exist.  An old file of that name is replaced.
    design : Design or Stage
        What.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    QuantityError
        If it is neither.
    """
    if isinstance(design, Design):
        document = design_document(design.stage, design.requirements)
    elif isinstance(design, Stage):
        document = design_document(design)
    else:
        raise QuantityError(
            "design",
            type(design).__name__,
            allowed="a Design or a Stage",
            remedy="Give design or design.stage.",
        )
    target = Path(path)
    _write_at_once(target, json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False) + "\n")
    return target


def _write_at_once(target: Path, text: str) -> None:
    beside = target.with_name(f".{target.name}.{secrets.token_hex(4)}.new")
    try:
        with beside.open("x", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(target)
    finally:
        beside.unlink(missing_ok=True)


def load_design(path: str | Path) -> Design | Stage:
    """Return what `save_design` wrote.

    Parameters
    ----------
    path : str or Path
        The file.

    Returns
    -------
    Design or Stage
        A design if the file holds requirements.  Its steps are there if the synthesis still makes
        the same stage of them; for a stage that was changed by hand there are none.

    Raises
    ------
    QuantityError
        If the file is no design file, of another schema, or a value makes no sense.
    UnknownNameError
        If the stage, its bias source or a part does not exist.
    CircuitError
        If a part is missing.
    RequirementError
        If the requirements contradict each other.
    """
    name = Path(path).name
    raw = Path(path).read_bytes()
    if len(raw) > LARGEST_FILE:
        raise wrong(name, f"{len(raw)} bytes", f"at most {LARGEST_FILE} bytes")
    try:
        document = json.loads(raw.decode("utf-8"))
    except (UnicodeDecodeError, json.JSONDecodeError, RecursionError) as error:
        raise wrong(name, f"{error}", "JSON text as written by save_design") from None
    return read_document(document, name)


def read_document(document: object, name: str = "design file") -> Design | Stage:
    """Return the stage or design of a document.

    Parameters
    ----------
    document : object
        As from `design_document`.
    name : str
        What errors call it.

    Raises
    ------
    QuantityError
        If a field is missing, unknown or of the wrong kind, or the schema is another.
    """
    if not isinstance(document, Mapping):
        raise wrong(name, type(document).__name__, "an object with the fields of a design file")
    if document.get("schema") != SCHEMA or isinstance(document.get("schema"), bool):
        found = document.get("schema", "no schema")
        raise wrong(
            f"{name}, schema", f"{found}", f"schema {SCHEMA}", "Read it with the version that wrote it."
        )
    fields = read_fields(name, document, _FIELDS, _OPTIONAL)
    opamp = read_opamp_fields(f"{name}, opamp", fields["opamp"]) if "opamp" in fields else None
    parts = {**_numbers(f"{name}, values", fields["values"]), **_numbers(f"{name}, levels", fields["levels"])}
    bias = None if fields["bias"] == "none" else fields["bias"]
    for reserved in ("name", "supply", "opamp", "bias"):
        if reserved in parts:
            raise wrong(f"{name}, values", reserved, "names of parts")
    made = stage(fields["stage"], supply=fields["supply"], opamp=opamp, bias=bias, **parts)
    if "requirements" not in fields:
        return made
    needed = read_requirements(f"{name}, requirements", fields["requirements"])
    return Design(needed, made.name, made, _steps(needed, made))


def _numbers(name: str, given: Mapping[str, Any]) -> dict[str, float]:
    return {
        part: read_fields(name, {part: value}, {part: float}, set())[part] for part, value in given.items()
    }


def _steps(needed: Requirements, made: Stage) -> tuple[Any, ...]:
    """Return the decisions behind a stage, if the synthesis makes this very stage."""
    try:
        again = design(needed, made.name)
    except (RequirementError, QuantityError, KeyError):  # not a stage that the synthesis can make
        return ()
    return again.steps if again.stage == made else ()
