"""Where the mid-rail bias comes from: functions that add a bias source to a circuit.

Every one drives the node ``bias`` from the node ``supply``.
"""

from __future__ import annotations

from collections.abc import Callable

from .builder import CircuitBuilder
from .elements import GROUND

BiasSource = Callable[[CircuitBuilder], None]


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
    circuit.resistor("r_top", "supply", "bias", "Divider, upper resistor")
    circuit.resistor("r_bottom", "bias", GROUND, "Divider, lower resistor")


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
    divider(circuit)
    circuit.capacitor("c_bias", "bias", GROUND, "Bias-filter capacitor")


BIAS_SOURCES: dict[str, BiasSource] = {"divider": divider, "filtered_divider": filtered_divider}
