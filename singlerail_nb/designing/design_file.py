"""The design file: a stage, or a design with its requirements, as versioned JSON.

Numbers are written with every digit, quantities in SI units.  Reading holds every field against the
published schema before anything is built from it; nothing in a file is ever executed.  What is ideal
in an op-amp record and what is not asked in the requirements is left out.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from ..analysis.stage import Stage, stage
from ..errors import QuantityError, RequirementError
from ..files import MEGABYTE, read_text, write_at_once
from ..version import __version__
from .design_document import SCHEMA, design_document
from .design_fields import read_opamp, read_requirements
from .design_schema import checked, wrong
from .requirements import Requirements
from .synthesis import Design, design

LARGEST_FILE = MEGABYTE
"""Bytes; a design file has a few thousand."""


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
            remedy='Write save_design("name.json", design): first the path, then design or design.stage.',
        )
    return write_at_once(path, json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False) + "\n")


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
    text = read_text(path, "design file", largest=LARGEST_FILE)
    name = Path(path).name
    try:
        document = json.loads(text)
    except (ValueError, RecursionError) as error:  # ValueError: no JSON, or a number of thousands of digits
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
    _check_version(name, document)
    known = checked(name, document)
    opamp = read_opamp(known["opamp"]) if "opamp" in known else None
    bias = None if known["bias"] == "none" else known["bias"]
    parts = {**known["values"], **known["levels"]}
    made = stage(known["stage"], supply=known["supply"], opamp=opamp, bias=bias, **parts)
    if "requirements" not in known:
        return made
    needed = read_requirements(known["requirements"])
    return Design(needed, made.name, made, _steps(needed, made))


_KNOWN = f"schema {SCHEMA}"


def _check_version(name: str, document: Mapping[str, Any]) -> None:
    """Refuse a schema that this version does not know, with one sentence that says which version does."""
    found = document.get("schema", "no schema")
    if found == SCHEMA and not isinstance(found, bool):
        return
    if isinstance(found, int) and found > SCHEMA:
        writer = f"{found}, written by singlerail_nb {document.get('package_version', 'of unknown version')}"
        remedy = f"The file is newer than this singlerail_nb {__version__}: update it to read the file."
        raise wrong(f"{name}, schema", writer, _KNOWN, remedy)
    raise wrong(f"{name}, schema", f"{found}", _KNOWN)


def _steps(needed: Requirements, made: Stage) -> tuple[Any, ...]:
    """Return the decisions behind a stage, if the synthesis makes this very stage."""
    try:
        again = design(needed, made.name)
    except (RequirementError, QuantityError, KeyError):  # not a stage that the synthesis can make
        return ()
    return again.steps if again.stage == made else ()
