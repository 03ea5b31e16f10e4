"""The registry of stages: the door through which everybody asks for one.

Each stage is a function that returns a circuit, in one of the modules imported here.
"""

from __future__ import annotations

from . import ac_coupled, bias_feedback, filters, level_shifts, shared_bias, summing
from .circuit import Circuit
from .stage_type import StageType, registered, stage_type

__all__ = ["StageType", "build_circuit", "stage_type", "stages"]

# Importing a module enters its stages; the order here is the order in lists and menus.
MODULES = (ac_coupled, bias_feedback, filters, summing, shared_bias, level_shifts)


def stages() -> tuple[str, ...]:
    """Return the names of all registered stages."""
    homes = [module.__name__ for module in MODULES]
    ordered = sorted(registered(), key=lambda kind: homes.index(kind.build.__module__))
    return tuple(kind.name for kind in ordered)


def build_circuit(name: str, bias: str | None = None) -> Circuit:
    """Return the full circuit of a stage, every optional part present.

    Parameters
    ----------
    name : str
        A name from `stages`.
    bias : str, optional
        Name of a bias source; the usual one of the stage unless given.

    Raises
    ------
    UnknownNameError
        If the stage or the bias source does not exist.
    CircuitError
        If the stage does not run on that bias source.
    """
    return stage_type(name).circuit(bias)
