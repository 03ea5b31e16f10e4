"""Op-amp stages that run from one supply rail: design them, understand them, teach them.

A stage is described once, as a circuit; formulas, numbers, designs, pictures and documents are
derived from that description.  Names load on first use, so importing the package is cheap.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .analysis.operating_point import OperatingPoint, operating_point
    from .analysis.stage import Stage, stage
    from .analysis.transfer import Transfer
    from .circuit.opamp import OpAmp
    from .circuit.stages import stages
    from .designing.requirements import Requirements
    from .designing.synthesis import Design, design

_HOMES = {
    "Design": "designing.synthesis",
    "OpAmp": "circuit.opamp",
    "OperatingPoint": "analysis.operating_point",
    "Requirements": "designing.requirements",
    "Stage": "analysis.stage",
    "Transfer": "analysis.transfer",
    "design": "designing.synthesis",
    "operating_point": "analysis.operating_point",
    "stage": "analysis.stage",
    "stages": "circuit.stages",
}

__all__ = [
    "Design",
    "OpAmp",
    "OperatingPoint",
    "Requirements",
    "Stage",
    "Transfer",
    "design",
    "operating_point",
    "stage",
    "stages",
]

__version__ = "0.1.0"


def __getattr__(name: str) -> Any:
    """Load a public name on first use."""
    if name not in _HOMES:
        message = f"module {__name__!r} has no attribute {name!r}"
        raise AttributeError(message)
    value = getattr(import_module(f".{_HOMES[name]}", __name__), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    """List the public names, loaded or not."""
    return sorted({*globals(), *__all__})
