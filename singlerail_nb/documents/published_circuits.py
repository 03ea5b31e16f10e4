"""The circuits of published worked figures, built from the values that the sources give."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from ..analysis.network import Network
from ..analysis.noise import noise
from ..analysis.operating_point import operating_point
from ..analysis.stage import Stage, stage
from ..analysis.startup import startup
from ..analysis.window import window
from ..circuit.builder import CircuitBuilder
from ..circuit.elements import GROUND
from ..circuit.opamp import OpAmp
from ..circuit.opamp_figures import SwingPoint

STIFF: Mapping[str, Any] = {"r_top": 1e3, "r_bottom": 1e3, "c_bias": 10e-3}
"""A bias source that is no part of the question."""
ONE_MEGAHERTZ = OpAmp("1 MHz", gbw=1e6, dc_gain=1e7)


def an581_noninverting(c_in: float, r_g: float, c_g: float, c_bias: float, c_out: float) -> Stage:
    """Return figure 2 of AN-581: divider, R_IN and R_L of 100k, R2 of 150k.

    Parameters
    ----------
    c_in, r_g, c_g, c_bias, c_out : float
        C_IN, R1, C1, C2, C_OUT; farad, ohm.
    """
    return stage("noninverting", supply=12, r_source=0, c_in=c_in, r_bias=100e3, r_top=100e3, r_bottom=100e3,
                 c_bias=c_bias, r_f=150e3, r_g=r_g, c_g=c_g, c_out=c_out, r_load=100e3)  # fmt: skip


def inverting(
    r_in: float, r_f: float, c_in: float = 10e-3, opamp: OpAmp | None = None, **others: float
) -> Stage:
    """Return an inverting stage on a stiff bias.

    Parameters
    ----------
    r_in, r_f : float
        Ohm.
    c_in : float
        Farad.
    opamp : OpAmp, optional
        Ideal unless given.
    **others : float
        Other parts.
    """
    parts: dict[str, Any] = {"r_source": 0.0, **STIFF, **others}
    return stage("inverting", supply=15, opamp=opamp, r_in=r_in, r_f=r_f, c_in=c_in, **parts)


def divider(r_top: float, r_bottom: float, c_bias: float | None = None) -> Stage:
    """Return a bias divider, with its filter or without; the stage behind it draws nothing from it.

    Parameters
    ----------
    r_top, r_bottom : float
        Ohm.
    c_bias : float, optional
        Farad.
    """
    parts: dict[str, Any] = {
        "r_source": 600.0,
        "c_in": 1e-6,
        "r_in": 10e3,
        "r_f": 10e3,
        "r_top": r_top,
        "r_bottom": r_bottom,
    }
    if c_bias is None:
        return stage("inverting", supply=9, bias="divider", **parts)
    return stage("inverting", supply=9, c_bias=c_bias, **parts)


def zener_current(supply: float, zener: float, resistor: float) -> float:
    """Return the current that a resistor sends through a Zener, A.

    Parameters
    ----------
    supply, zener : float
        V.
    resistor : float
        Ohm.
    """
    parts: dict[str, Any] = {
        "r_source": 600.0,
        "c_in": 1e-6,
        "r_bias": 100e3,
        "zener": zener,
        "r_dynamic": 0.2,
    }
    return stage("follower", supply=supply, bias="zener", r_zener=resistor, **parts).divider_current()


def gayakwad_6_2() -> Stage:
    """Return example 6.2 of Gayakwad: R_o 50, C_i and C_1 0.1 µF, three times 100k, R_F 1M, on 15 V."""
    return stage("noninverting", supply=15, bias="divider", r_source=50, c_in=0.1e-6, r_bias=0.1, r_top=100e3,
                 r_bottom=100e3, r_f=1e6, r_g=100e3, c_g=0.1e-6)  # fmt: skip


def coupled_follower(ratio: float, higher: float = 30.0) -> Stage:
    """Return a follower whose input and output coupling have poles of a given ratio.

    Parameters
    ----------
    ratio : float
        The higher over the lower.
    higher : float
        Hz.
    """
    low, high = ratio / (2 * math.pi * 10e3 * higher), 1 / (2 * math.pi * 100e3 * higher)
    # The bias capacitor is beyond any real one: these values are not read as parts.
    parts: dict[str, Any] = {
        "r_source": 0.0,
        "c_in": high,
        "r_bias": 100e3,
        "c_out": low,
        "r_load": 10e3,
        **STIFF,
        "c_bias": 1e9,
    }
    return Stage("follower", 9.0, parts)


def three_couplings(input_hz: float, leg_hz: float, output_hz: float) -> Stage:
    """Return a stage whose low end has three corners and nothing else.

    Parameters
    ----------
    input_hz, leg_hz, output_hz : float
        Corners of input coupling, gain leg and output coupling, Hz.
    """
    r, gain, r_g = 100e3, 1e5, 100.0
    c_in, c_g, c_out = (1 / (2 * math.pi * x * f) for x, f in ((r, input_hz), (r_g, leg_hz), (r, output_hz)))
    return stage("noninverting", supply=9, r_source=0, c_in=c_in, r_bias=r, r_g=r_g, r_f=r_g * (gain - 1),
                 c_g=c_g, c_out=c_out, r_load=r, **STIFF)  # fmt: skip


def shift_line(name: str, reference: float, **parts: float) -> tuple[float, float]:
    """Return slope (V/V) and intercept (V) of a level shift.

    Parameters
    ----------
    name : str
        Stage.
    reference : float
        V.
    **parts : float
        Ohm.
    """
    resistors: dict[str, Any] = {"r_source": 0.0, **parts}
    made = stage(name, supply=12, reference=reference, **resistors)
    slope, share = (made.transfer(source, "output")(0.0).real for source in ("signal", "reference"))
    return float(slope), float(share * reference)


def bias_settling(made: Stage, within: float) -> float:
    """Return when the bias has settled after the rail is switched on, s.

    Parameters
    ----------
    made : Stage
        The stage.
    within : float
        Of the resting voltage, a ratio.
    """
    return startup(made).settling_time("bias", within=within)


def settled_taus(bits: int) -> float:
    """Return after how many time constants an RC has settled to a number of bits.

    Parameters
    ----------
    bits : int
        How many.
    """
    return bias_settling(divider(100e3, 100e3, 1e-6), 2.0**-bits) / 50e-3


def resistor_noise(resistance: float, low: float, high: float, temperature: float) -> float:
    """Return the noise voltage of a resistor in a band, Vrms.

    Parameters
    ----------
    resistance : float
        Ohm.
    low, high : float
        Hz.
    temperature : float
        K.
    """
    circuit = CircuitBuilder("one resistor", ("signal", "node"))
    circuit.resistor("r_1", "node", GROUND, "Resistor")
    return noise(Network(circuit.build(), {"r_1": resistance}), temperature).rms(low, high, "node")


def room_upwards(supply: float, bias: float, below_the_rail: float) -> float:
    """Return how far the input of a follower may go up from its bias, Vp.

    Parameters
    ----------
    supply, bias : float
        V.
    below_the_rail : float
        How far below the rail the inputs of the op-amp still work, V.
    """
    amplifier = OpAmp(
        "a", 1e9, dc_gain=1e9, common_mode_high=below_the_rail, swing=(SwingPoint(10e3, 0.0, 0.0),)
    )
    parts: dict[str, Any] = {"r_source": 0.0, "c_in": 1e-6, "r_bias": 100e3, "c_bias": 10e-6}
    made = stage(
        "follower", supply=supply, opamp=amplifier, r_top=(supply - bias) * 1e4, r_bottom=bias * 1e4, **parts
    )
    return window(made).rails[0].limits["input high"] / 2


def bias_current_error(r_in: float, r_f: float, current: float) -> float:
    """Return how far the bias current of an op-amp moves the output of an inverting stage, V.

    Parameters
    ----------
    r_in, r_f : float
        Ohm.
    current : float
        A, into each pin.
    """
    amplifier = OpAmp("a", 1e6, dc_gain=1e12, bias_current=current)
    return abs(operating_point(inverting(r_in, r_f, opamp=amplifier)).errors("amp_out")["bias current"])
