"""The wave on the screen: one settled period at a node of a board, with the probe on it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from ..analysis.limited_rest import circuit_in
from ..analysis.settled_wave import SAMPLES, Floats, settled_period
from ..measurement.instruments import PROBE
from .bench import Bench
from .board import AMPLIFIER, Board
from .trials import opamp_errors


def screen(bench: Bench, board: Board, node: str) -> tuple[Floats, Floats]:
    """Return one period of the test signal on the screen: time in s and volts to ground.

    Parameters
    ----------
    bench : Bench
        Scope and test signal.
    board : Board
        The board without instruments.
    node : str
        Where the probe is.

    Returns
    -------
    time, volts : array, shape (SAMPLES,)

    Raises
    ------
    UnknownNameError
        If the board has no such node.
    """
    probed = board.with_instrument(node, bench.scope)
    rest = probed.rest(**opamp_errors(probed))
    place = [pins.name for pins in probed.circuit.opamps].index(AMPLIFIER)
    state = rest.states[0]
    time = np.arange(SAMPLES) / SAMPLES / bench.frequency
    amplitude = bench.amplitude / 2.0
    if rest.asked(AMPLIFIER) is None:
        held = replace(probed, circuit=circuit_in(probed.circuit, state))
        swing = amplitude * held.transfer("signal", PROBE)(bench.frequency)
        turning = np.exp(2j * math.pi * np.arange(SAMPLES) / SAMPLES)
        return time, np.asarray(rest.voltage(PROBE)[0] + (swing * turning).imag)

    def free(at: str) -> float:
        volts = rest.asked(AMPLIFIER, at)
        return math.nan if volts is None else float(volts[0])

    looped = replace(
        probed, circuit=circuit_in(probed.circuit, (*state[:place], "loop", *state[place + 1 :]))
    )
    low, high = probed.output_limits()
    wave = settled_period(looped, free, PROBE, amplitude, bench.frequency, (float(low), float(high)))
    return time, wave
