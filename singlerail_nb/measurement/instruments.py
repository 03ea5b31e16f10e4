"""What an instrument does to the node it looks at: loading, its own low-end corner, its accuracy.

The instrument is put into the circuit as parts, so that every network function of the loaded
circuit is exact.  What it shows is the voltage at the node ``probe``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from ..analysis.network import Network, Solvable
from ..circuit.circuit import Circuit, closest
from ..circuit.elements import GROUND, Part
from ..errors import QuantityError, UnknownNameError

PROBE = "probe"
"""Node at which a loaded circuit is read."""


@dataclass(frozen=True)
class Instrument:
    """An instrument with its lead.

    Attributes
    ----------
    name : str
        Short name.
    title : str
        Name and setting for readers.
    resistance : float
        Input resistance, ohm.
    capacitance : float
        Input capacitance with its lead, F.
    accuracy : float
        Largest relative error of a reading.
    coupling : float
        Coupling capacitor of an AC-coupled input, F; 0 is DC coupling.
    """

    name: str
    title: str
    resistance: float
    capacitance: float = 0.0
    accuracy: float = 0.0
    coupling: float = 0.0

    def __post_init__(self) -> None:
        wrong = min(self.capacitance, self.coupling, self.accuracy) < 0 or not self.accuracy < 1
        if not self.resistance > 0 or wrong:
            raise QuantityError(
                f"instrument {self.name}",
                f"{self.resistance:g} ohm, {self.capacitance:g} F, accuracy {self.accuracy:g}",
                allowed="a resistance above 0 ohm, capacitances of 0 F or more, an accuracy below 1",
                remedy="Take the input figures from its manual; an accuracy of 1 % is 0.01.",
            )

    @property
    def parts(self) -> dict[str, float]:
        """Values of the parts that stand for it, ohm and farad."""
        found = {"r_probe": self.resistance, "c_probe": self.capacitance, "c_coupling": self.coupling}
        return {name: value for name, value in found.items() if value > 0}


INSTRUMENTS: Mapping[str, Instrument] = {
    found.name: found
    for found in (
        Instrument("meter", "multimeter, DC volts", 10e6, 0.0, 0.005),
        Instrument("scope_10x", "oscilloscope, 10x probe, DC coupled", 10e6, 15e-12, 0.03),
        Instrument("scope_1x", "oscilloscope, 1x lead, DC coupled", 1e6, 120e-12, 0.03),
        Instrument("scope_10x_ac", "oscilloscope, 10x probe, AC coupled", 10e6, 15e-12, 0.03, 1.6e-9),
        Instrument("scope_1x_ac", "oscilloscope, 1x lead, AC coupled", 1e6, 120e-12, 0.03, 16e-9),
    )
}
"""Usual bench instruments (common practice, no published source); the AC inputs have a 10 Hz corner."""


def instrument(name: str | Instrument) -> Instrument:
    """Return an instrument by its short name; one of your own is returned as it is.

    Parameters
    ----------
    name : str or Instrument
        Such as ``"meter"`` or ``"scope_10x"``.

    Raises
    ------
    UnknownNameError
        If there is no such instrument.
    """
    if isinstance(name, Instrument):
        return name
    if name not in INSTRUMENTS:
        raise UnknownNameError(
            "instrument", name, allowed="a known instrument", remedy=closest(name, INSTRUMENTS)
        )
    return INSTRUMENTS[name]


def loaded(network: Solvable, node: str, with_instrument: str | Instrument) -> Network:
    """Return a circuit with an instrument at one of its nodes; the reading is the node ``probe``.

    Parameters
    ----------
    network : Stage or Network
        The circuit as it is without the instrument.
    node : str
        Where the instrument looks.
    with_instrument : str or Instrument
        Which one.

    Returns
    -------
    Network
        Its ``transfer(source, "probe")`` is what the instrument shows.

    Raises
    ------
    UnknownNameError
        If the node or the instrument does not exist.
    """
    known = instrument(with_instrument)
    circuit = _with_input(network.circuit, network.circuit.node(node), known)
    values = {part.name: network.parameters[part.name] for part in network.circuit.parts}
    return Network(circuit, {**values, **known.parts}, network.opamp, network.supply)


def _with_input(circuit: Circuit, node: str, known: Instrument) -> Circuit:
    given = known.parts
    inside = PROBE if "c_coupling" in given else node
    parts = [Part("r_probe", "resistor", (inside, GROUND), "Input resistance of the instrument")]
    if "c_probe" in given:
        parts.append(Part("c_probe", "capacitor", (inside, GROUND), "Input capacitance of the instrument"))
    if inside == PROBE:
        parts.append(Part("c_coupling", "capacitor", (node, PROBE), "AC coupling of the instrument"))
    aliases = circuit.aliases if inside == PROBE else (*circuit.aliases, (PROBE, node))
    return replace(circuit, parts=(*circuit.parts, *parts), aliases=aliases)
