"""Where the mid-rail bias comes from: functions that add a bias source to a circuit.

Every one drives the node ``bias`` from the node ``supply``.  To add one, write the function,
draw it in its docstring and give it a title; every stage can then run on it.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from ..errors import UnknownNameError
from .builder import CircuitBuilder
from .circuit import Circuit, closest
from .elements import GROUND

BiasSource = Callable[[CircuitBuilder], None]

BIAS_SOURCES: dict[str, BiasSource] = {}
BIAS_TITLES: dict[str, str] = {}


def _titled(title: str) -> Callable[[BiasSource], BiasSource]:
    """Return a decorator that enters a bias source in the table under its own name."""

    def enter(build: BiasSource) -> BiasSource:
        BIAS_SOURCES[build.__name__] = build
        BIAS_TITLES[build.__name__] = title
        return build

    return enter


def bias_circuit(name: str) -> Circuit:
    """Return a bias source alone, without a stage around it: which parts and nodes are its own.

    Parameters
    ----------
    name : str
        Name of a bias source.

    Raises
    ------
    UnknownNameError
        If no bias source has that name.
    """
    if name not in BIAS_SOURCES:
        raise UnknownNameError(
            "bias source", name, allowed="a known bias source", remedy=closest(name, BIAS_SOURCES)
        )
    circuit = CircuitBuilder(name, ("supply", "bias"))
    BIAS_SOURCES[name](circuit)
    return circuit.build()


@cache
def bias_names() -> frozenset[str]:
    """Return the names of the parts and op-amps that belong to some bias source."""
    circuits = [bias_circuit(name) for name in BIAS_SOURCES]
    parts = [name for circuit in circuits for name in circuit.part_names]
    return frozenset([*parts, *(opamp.name for circuit in circuits for opamp in circuit.opamps)])


def no_bias_source(circuit: CircuitBuilder) -> None:
    """Add nothing: the bias source of a stage without a mid-rail bias node.

    Parameters
    ----------
    circuit : CircuitBuilder
        The stage under construction; it stays as it is.
    """


def _divider_to(circuit: CircuitBuilder, middle: str) -> None:
    circuit.resistor("r_top", "supply", middle, "Divider, upper resistor")
    circuit.resistor("r_bottom", middle, GROUND, "Divider, lower resistor")


@_titled("Plain divider")
def divider(circuit: CircuitBuilder) -> None:
    """Add a plain divider: half the supply ripple reaches the bias node.

        supply --[r_top]--+--[r_bottom]-- ground
                          |
                         bias

    Parameters
    ----------
    circuit : CircuitBuilder
        The stage under construction.
    """
    _divider_to(circuit, "bias")


@_titled("Filtered divider")
def filtered_divider(circuit: CircuitBuilder) -> None:
    """Add a divider with a capacitor: with R_A || R_B it filters the supply ripple.

        supply --[r_top]--+--[r_bottom]-- ground
                          |
                         bias --[c_bias]-- ground

    Parameters
    ----------
    circuit : CircuitBuilder
        The stage under construction.
    """
    _divider_to(circuit, "bias")
    circuit.capacitor("c_bias", "bias", GROUND, "Bias-filter capacitor")


@_titled("Zener")
def zener(circuit: CircuitBuilder) -> None:
    """Add a Zener fed by a resistor: a knee voltage behind a dynamic resistance.

        supply --[r_zener]--+--[r_filter]--+-- bias
                            |              |
                         cathode       [c_bias]-- ground
                            |
                      [r_dynamic], one way
                            |
                          zener (constant)

    The level ``zener`` is the voltage extrapolated to zero current: ``V_Z - I_Z r_dynamic``.

    Parameters
    ----------
    circuit : CircuitBuilder
        The stage under construction.
    """
    circuit.source("zener", "Zener knee voltage", "constant")
    circuit.resistor("r_zener", "supply", "cathode", "Zener feed resistor")
    circuit.one_way_resistor("r_dynamic", "cathode", "zener", "Zener dynamic resistance")
    circuit.resistor("r_filter", "bias", "cathode", "Bias-filter resistor", when_absent="short")
    circuit.capacitor("c_bias", "bias", GROUND, "Bias-filter capacitor", when_absent="open")


@_titled("Buffered divider")
def buffered_divider(circuit: CircuitBuilder) -> None:
    r"""Add a divider with an op-amp follower behind it; its output resistance is inside the loop.

        supply --[r_top]--+--[r_bottom]-- ground
                          |
                         tap --[c_bias]-- ground
                          |  >+\
                          +---> >-- bias_drive -[r_buffer]-+- buffer -[r_isolation]-+- bias
                             >-/                           |                        |
                             |                             |                   [c_buffer]
                             +-----------------------------+                        |
                                                                                  ground

    Parameters
    ----------
    circuit : CircuitBuilder
        The stage under construction.
    """
    _divider_to(circuit, "tap")
    circuit.capacitor("c_bias", "tap", GROUND, "Bias-filter capacitor", when_absent="open")
    circuit.opamp("tap", "buffer", "bias_drive", "bias_opamp", "Bias follower")
    circuit.resistor("r_buffer", "bias_drive", "buffer", "Output resistance of the follower", "short")
    circuit.resistor("r_isolation", "bias", "buffer", "Isolation resistor", when_absent="short")
    circuit.capacitor("c_buffer", "bias", GROUND, "Capacitor at the buffered node", when_absent="open")


def _reference_parts(circuit: CircuitBuilder) -> None:
    circuit.source("reference", "Reference voltage", "regulated")
    circuit.resistor("r_filter", "bias", "regulated", "Bias-filter resistor", when_absent="short")
    circuit.capacitor("c_bias", "bias", GROUND, "Bias-filter capacitor", when_absent="open")


@_titled("Reference")
def reference(circuit: CircuitBuilder) -> None:
    """Add a fixed reference or linear regulator that can source and sink current.

        reference --[r_reference]-- regulated --[r_filter]--+-- bias
        (made from the rail)                                |
                                                        [c_bias]-- ground

    Its finite supply rejection is a figure of the part: see `supply_rejection`.

    Parameters
    ----------
    circuit : CircuitBuilder
        The stage under construction.
    """
    circuit.resistor("r_reference", "reference", "regulated", "Output resistance of the reference")
    _reference_parts(circuit)


@_titled("Source-only reference")
def source_only_reference(circuit: CircuitBuilder) -> None:
    """Add a fixed reference or regulator that can only source current.

        as the reference, but [r_reference] conducts one way, towards the bias node

    Parameters
    ----------
    circuit : CircuitBuilder
        The stage under construction.
    """
    circuit.one_way_resistor("r_reference", "reference", "regulated", "Output resistance of the reference")
    _reference_parts(circuit)
