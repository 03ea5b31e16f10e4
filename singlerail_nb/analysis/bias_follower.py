"""A follower that drives a bias node with a capacitor on it: margin against C, ESR and isolation."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ..circuit.builder import CircuitBuilder
from ..circuit.elements import GROUND
from ..circuit.opamp import OpAmp
from ..errors import QuantityError
from .network import Network
from .stability import LoopGain, MarginSweep, loop_gain, sweep


def bias_follower(
    opamp: OpAmp, capacitance: float, *, series_resistance: float = 0.0, isolation: float = 0.0
) -> Network:
    """Return a follower with a capacitor at its output.

        tap --> (+) follower --+--[r_isolation]-- bias --[r_esr]--[c_bias]-- ground
                 (-)-----------+

    Parameters
    ----------
    opamp : OpAmp
        The amplifier.
    capacitance : float
        F.
    series_resistance : float
        Of the capacitor (ESR), ohm.
    isolation : float
        Resistor between op-amp and capacitor, outside the loop, ohm.

    Raises
    ------
    QuantityError
        If the capacitance is not positive or a resistance is negative.
    """
    if not (capacitance > 0 and series_resistance >= 0 and isolation >= 0):
        raise QuantityError(
            "bias follower",
            f"{capacitance:g} F, {series_resistance:g} ohm, {isolation:g} ohm",
            allowed="a capacitance above 0 F, resistances of 0 ohm or more",
            remedy="Give SI values.",
        )
    circuit = CircuitBuilder("bias_follower", ("signal", "amp_out", "bias"))
    circuit.opamp("signal", "amp_out", "amp_out")
    circuit.resistor("r_isolation", "amp_out", "bias", "Isolation resistor")
    circuit.resistor("r_esr", "bias", "plate", "Series resistance of the capacitor")
    circuit.capacitor("c_bias", "plate", GROUND, "Capacitor at the bias node")
    values = {"r_isolation": isolation, "r_esr": series_resistance, "c_bias": capacitance}
    wires = [name for name, value in values.items() if value == 0]
    present = {name: value for name, value in values.items() if value > 0}
    return Network(circuit.build().shorted(*wires), present, opamp)


def follower_loop(
    opamp: OpAmp, capacitance: float, *, series_resistance: float = 0.0, isolation: float = 0.0
) -> LoopGain:
    """Return the loop gain of such a follower; arguments as in `bias_follower`.

    Parameters
    ----------
    opamp, capacitance, series_resistance, isolation
        As in `bias_follower`.

    Raises
    ------
    QuantityError
        As in `bias_follower`.
    """
    return loop_gain(
        bias_follower(opamp, capacitance, series_resistance=series_resistance, isolation=isolation)
    )


def follower_margins(
    opamp: OpAmp, capacitances: ArrayLike, *, series_resistance: float = 0.0, isolation: float = 0.0
) -> MarginSweep:
    """Return the phase margin of such a follower for several capacitors.

    Parameters
    ----------
    opamp : OpAmp
        The amplifier.
    capacitances : array_like, shape (n,)
        F, positive.
    series_resistance, isolation : float
        As in `bias_follower`.

    Raises
    ------
    QuantityError
        As in `bias_follower`.
    """
    values = np.atleast_1d(np.asarray(capacitances, dtype=np.float64))
    extra = {"series_resistance": series_resistance, "isolation": isolation}
    return sweep(values, (follower_loop(opamp, float(c), **extra) for c in values))
