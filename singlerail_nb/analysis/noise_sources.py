"""Where noise comes from: resistors and op-amp inputs, each with the place where it enters."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from ..circuit.nodal_analysis import Excitation, Injection, InputError
from .network import Solvable

BOLTZMANN = 1.380649e-23
"""J/K, exact by the definition of the kelvin (CODATA); a literal, since loading a table costs 0.1 s."""

NOISELESS = ("r_dynamic", "r_buffer", "r_reference")
"""Model resistances that are no resistors: the slope of a diode, the inside of an op-amp or reference.

Their noise is not 4 k T R; give it as an extra source."""


@dataclass(frozen=True, slots=True)
class NoiseSource:
    """One source of noise: white with a 1/f part below its corner.

    Attributes
    ----------
    name : str
        What it is, for tables: a part name, or ``"opamp voltage"``.
    excitation : str, Injection or InputError
        Where it enters.
    white : float
        V/sqrt(Hz), or A/sqrt(Hz) for an injected current.
    corner : float
        1/f corner, Hz: the power density is ``white^2 (1 + corner/f)``.
    """

    name: str
    excitation: Excitation
    white: float
    corner: float = 0.0


def thermal_sources(stage: Solvable, temperature: float) -> Iterable[NoiseSource]:
    """Yield the thermal noise of every resistor, as a current across it: sqrt(4 k T / R).

    Parameters
    ----------
    stage : Stage or Network
        The network.
    temperature : float
        K.
    """
    for part in stage.circuit.resistors:
        if part.nodes[0] != part.nodes[1] and part.name not in NOISELESS:
            current = math.sqrt(4.0 * BOLTZMANN * temperature / stage.parameters[part.name])
            yield NoiseSource(part.name, Injection(part.nodes[0], part.nodes[1]), current)


def opamp_sources(stage: Solvable) -> Iterable[NoiseSource]:
    """Yield the input noise voltage of every op-amp and its noise current at each pin.

    Parameters
    ----------
    stage : Stage or Network
        The network; an ideal op-amp is silent.
    """
    record = stage.opamp
    if record is None:
        return
    for pins in stage.circuit.opamps:
        yield NoiseSource(
            f"{pins.name} voltage", InputError(pins.name), record.noise_voltage, record.noise_voltage_corner
        )
        for pin, node in (("+", pins.plus), ("-", pins.minus)):
            yield NoiseSource(
                f"{pins.name} current at {pin}",
                Injection(node),
                record.noise_current,
                record.noise_current_corner,
            )
