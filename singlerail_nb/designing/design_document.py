"""What a design file holds, as plain data."""

from __future__ import annotations

from typing import Any

from ..analysis.stage import Stage
from ..version import __version__
from .design_fields import opamp_fields, requirement_fields
from .requirements import Requirements

SCHEMA = 1
"""Number of the form that is written, and the only one that is read."""


def design_document(stage: Stage, requirements: Requirements | None = None) -> dict[str, Any]:
    """Return the content of a design file as plain data.

    Parameters
    ----------
    stage : Stage
        The stage.
    requirements : Requirements, optional
        What it was designed for.
    """
    document: dict[str, Any] = {
        "schema": SCHEMA, "package_version": __version__, "stage": stage.name, "supply": stage.supply,
        "bias": stage.bias, "values": dict(stage.values), "levels": dict(stage.levels),
    }  # fmt: skip
    if stage.opamp is not None:
        document["opamp"] = opamp_fields(stage.opamp)
    if requirements is not None:
        document["requirements"] = requirement_fields(requirements)
    return document
