"""The door to the registry of faults: importing it enters every kind."""

from __future__ import annotations

from . import part_faults, wiring_faults
from .faults import Fault, fault_named, faults, kinds

__all__ = ["MODULES", "Fault", "fault_named", "faults", "kinds"]

# Importing a module enters its kinds; the order here is the order in lists.
MODULES = (part_faults, wiring_faults)
