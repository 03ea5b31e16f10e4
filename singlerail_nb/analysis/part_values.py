"""Values meet the circuit: read them, and take out the parts that have none."""

from __future__ import annotations

from collections.abc import Mapping

from ..circuit.circuit import Circuit, closest
from ..errors import CircuitError, UnknownNameError
from ..quantities import read_part, read_quantity

SUPPLY_LOWEST, SUPPLY_HIGHEST = 0.9, 60.0
"""Rails the package designs for, in V; above 60 V DC other safety rules begin."""
LEVEL_LOWEST = 1e-3
"""Lowest level of a Zener or reference, V."""


def read_values(
    circuit: Circuit, given: Mapping[str, float | str]
) -> tuple[dict[str, float], dict[str, float]]:
    """Return the part values and the source levels among what was given, in drawing order.

    Parameters
    ----------
    circuit : Circuit
        The full circuit, every optional part present.
    given : mapping of str to float or str
        SI numbers or quantity text.

    Raises
    ------
    UnknownNameError
        If the circuit has no such part or source.
    QuantityError
        If a value cannot be read or is implausible.
    """
    sources = [source.name for source in circuit.level_sources]
    for name in given:
        if name not in sources:
            circuit.part(name)
    values = {
        part.name: read_part(part.name, given[part.name], zero=part.name.startswith("r_source"))
        for part in circuit.parts
        if part.name in given
    }
    levels = {
        name: read_quantity(given[name], "V", name=name, low=LEVEL_LOWEST, high=SUPPLY_HIGHEST)
        for name in sources
        if name in given
    }
    return values, levels


def present(circuit: Circuit, values: Mapping[str, float]) -> Circuit:
    """Return the circuit with absent parts opened or shorted, and 0 ohm turned into wire.

    Parameters
    ----------
    circuit : Circuit
        The full circuit, every optional part present.
    values : mapping of str to float
        Part values.

    Raises
    ------
    UnknownNameError
        If a value belongs to no part.
    CircuitError
        If a part that is not optional has no value.
    """
    unknown = [name for name in values if name not in circuit.part_names]
    if unknown:
        raise UnknownNameError(
            "part",
            unknown[0],
            allowed=f"a part of the {circuit.name} stage",
            remedy=closest(unknown[0], circuit.part_names),
        )
    missing = [p for p in circuit.parts if p.name not in values and p.when_absent == "required"]
    if missing:
        raise CircuitError(
            f"{circuit.name} stage",
            f"no value for {', '.join(part.name for part in missing)}",
            allowed="a value for every part that is not optional",
            remedy=f"Give {missing[0].name} ({missing[0].label.lower()})"
            + (", 0 for an ideal source." if missing[0].name.startswith("r_source") else "."),
        )
    opened = [p.name for p in circuit.parts if p.name not in values and p.when_absent == "open"]
    shorted = [p.name for p in circuit.parts if p.name not in values and p.when_absent == "short"]
    shorted += [name for name, value in values.items() if value == 0]
    return circuit.opened(*opened).shorted(*shorted)
