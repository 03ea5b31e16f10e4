"""Circuits with one op-amp taken out and its output node driven instead: loop gain and load."""

from __future__ import annotations

from dataclasses import replace

from .circuit import Circuit
from .elements import Part, Source


def drive_name(opamp: str) -> str:
    """Return the name of the source that takes the place of an op-amp.

    Parameters
    ----------
    opamp : str
        Name of the op-amp.
    """
    return f"{opamp}_drive"


def output_resistance_name(opamp: str) -> str:
    """Return the part name of the open-loop output resistance of an op-amp.

    Parameters
    ----------
    opamp : str
        Name of the op-amp.
    """
    return f"r_out_{opamp}"


def broken_at_output(circuit: Circuit, opamp: str, extra: tuple[Part, ...] = ()) -> Circuit:
    """Return the circuit with an op-amp replaced by a source behind its output resistance.

        drive --[r_out]-- output node of the op-amp

    The transfer from the drive to the - input less that to the + input, times the open-loop gain,
    is the loop gain.

    Parameters
    ----------
    circuit : Circuit
        The circuit.
    opamp : str
        Which op-amp.
    extra : tuple of Part
        Parts to add, such as a load capacitance.

    Raises
    ------
    UnknownNameError
        If the op-amp does not exist.
    """
    pins = circuit.opamp(opamp)
    drive = drive_name(opamp)
    resistance = Part(
        output_resistance_name(opamp), "resistor", (drive, pins.output), "Open-loop output resistance"
    )
    return replace(
        circuit,
        parts=(*circuit.parts, *extra, resistance),
        sources=(*circuit.sources, Source(drive, "Stands for the op-amp")),
        opamps=tuple(other for other in circuit.opamps if other.name != opamp),
    )


def driven_at_output(circuit: Circuit, opamp: str) -> Circuit:
    """Return the circuit with an op-amp replaced by a source at its output node.

    Parameters
    ----------
    circuit : Circuit
        The circuit.
    opamp : str
        Which op-amp.

    Raises
    ------
    UnknownNameError
        If the op-amp does not exist.
    """
    return broken_at_output(circuit, opamp).shorted(output_resistance_name(opamp))
