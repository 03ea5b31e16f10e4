"""One settled period of a node voltage when an op-amp output is cut at its limits.

A cut output drives the network as a source would: behind it, and in front of it through the
feedback, every harmonic by its own transfer.  What the signal does on its own way to a node adds to
that.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from ..circuit.loop import drive_name, driven_at_output
from .network import Network, Solvable

Floats = NDArray[np.float64]
SAMPLES = 2048


def settled_period(
    network: Solvable,
    rest: Callable[[str], float],
    node: str,
    amplitude: float,
    frequency: float,
    limits: tuple[float, float],
    opamp: str = "opamp",
) -> Floats:
    """Return one period of the voltage of a node for a sine at the source, V, shape (SAMPLES,).

    Parameters
    ----------
    network : Stage or Network
        The circuit.
    rest : callable
        Node -> voltage without signal and without limits, V.
    node : str
        Which node.
    amplitude : float
        Of the signal source, Vp.
    frequency : float
        Hz.
    limits : (float, float)
        Lowest and highest output voltage, V.
    opamp : str
        The op-amp whose output is cut.

    Raises
    ------
    UnknownNameError
        If the node or the op-amp does not exist.
    """
    circuit = network.circuit
    pins = circuit.opamp(opamp)
    turning = np.exp(2j * math.pi * np.arange(SAMPLES) / SAMPLES)
    resting = rest(pins.output)
    free = resting + (amplitude * network.transfer("signal", pins.output)(frequency) * turning).imag
    wave = np.clip(free, *limits)
    if circuit.node(node) == pins.output:
        return np.asarray(wave)
    held = driven_at_output(circuit, opamp)
    values = {part.name: network.parameters[part.name] for part in held.parts}
    driven = Network(held, values, network.opamp, network.supply)
    onward = driven.transfer(drive_name(opamp), node)(frequency * np.arange(SAMPLES // 2 + 1))
    beside = amplitude * driven.transfer("signal", node)(frequency)
    answer = np.fft.irfft(np.fft.rfft(wave - resting) * onward, SAMPLES)
    return np.asarray(rest(node) + (beside * turning).imag + answer)
