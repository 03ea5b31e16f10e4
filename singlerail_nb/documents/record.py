"""The reproducibility record of a design: its inputs, the version, and a checksum of both."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, fields
from typing import Any

from ..circuit.opamp import OpAmp
from ..designing.synthesis import Design
from ..version import __version__


@dataclass(frozen=True)
class Record:
    """What it takes to find every number of a document again.

    Attributes
    ----------
    version : str
        Version of the package.
    inputs : tuple of (str, str)
        Every requirement and every part value, as exact text.
    checksum : str
        First 16 hexadecimal digits of the SHA-256 of version and inputs.
    """

    version: str
    inputs: tuple[tuple[str, str], ...]
    checksum: str


def record(design: Design) -> Record:
    """Return the record of a design.

    Parameters
    ----------
    design : Design
        The design.
    """
    needed = design.requirements
    inputs = [("topology", design.topology)]
    inputs += [(field.name, _written(getattr(needed, field.name))) for field in fields(needed)]
    inputs += [(f"part {name}", repr(value)) for name, value in design.stage.values.items()]
    text = json.dumps([__version__, inputs], ensure_ascii=False)
    return Record(__version__, tuple(inputs), hashlib.sha256(text.encode()).hexdigest()[:16])


def _written(value: Any) -> str:
    if isinstance(value, OpAmp):
        return f"{value.name} ({value.source})"
    if hasattr(value, "__dataclass_fields__"):
        given = [(f.name, getattr(value, f.name)) for f in fields(value)]
        return ", ".join(f"{name} {number!r}" for name, number in given if number is not None)
    return repr(value)
