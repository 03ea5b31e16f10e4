"""What the op-amp output has to drive: load and feedback network together."""

from __future__ import annotations

import math

from ..circuit.circuit import Circuit
from ..circuit.loop import drive_name, driven_at_output
from ..circuit.network_functions import source_impedance_seen
from .network import Solvable
from .rational import horner
from .transfer import Transfer

_ABOVE_LOW_END = 1e4
"""A stage that is flat up to infinity is looked at this many times above its low-end cut-off."""


def midband_frequency(stage: Solvable) -> float:
    """Return a frequency in the middle of the band, Hz; 0 for a stage that is flat down to DC.

    Parameters
    ----------
    stage : Stage or Network
        The network.
    """
    whole = stage.transfer("signal", "output")
    found = whole.midband.frequency
    return found if math.isfinite(found) else _ABOVE_LOW_END * whole.low_cutoff()


def output_load(stage: Solvable, f: float, opamp: str = "opamp") -> complex:
    """Return the impedance that an op-amp output drives, ohm; infinity if nothing is joined.

    Every op-amp's other parts stay in place: feedback network, coupling capacitor, load.

    Parameters
    ----------
    stage : Stage or Network
        The network.
    f : float
        Hz.
    opamp : str
        Which op-amp.

    Raises
    ------
    UnknownNameError
        If the op-amp does not exist.
    """
    circuit = driven_at_output(stage.circuit, opamp)
    drive = drive_name(opamp)
    if not _is_loaded(circuit, drive):
        return complex(math.inf)
    function = source_impedance_seen(circuit, drive, "ideal")
    values = {part.name: stage.parameters[part.name] for part in circuit.parts}
    seen = Transfer(function, dict(values), drive, "load").rational
    s = 2j * math.pi * f
    current = complex(horner(seen.denominator, s))
    return complex(horner(seen.numerator, s)) / current if current else complex(math.inf)


def _is_loaded(circuit: Circuit, drive: str) -> bool:
    return any(drive in part.nodes and part.nodes[0] != part.nodes[1] for part in circuit.parts)
