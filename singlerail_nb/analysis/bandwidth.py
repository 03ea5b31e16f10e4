"""The top end: bandwidth from noise gain, slewing, gain error, output current."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from ..circuit.nodal_analysis import InputError
from ..errors import QuantityError
from .cascade import require_positive
from .output_load import midband_frequency, output_load
from .stage import Stage


@dataclass(frozen=True, slots=True)
class Bandwidth:
    """The top end of a stage: the rule of thumb and the exact figure.

    Attributes
    ----------
    signal_gain : float
        Mid-band gain from the source, V/V (a magnitude).
    noise_gain : float
        Mid-band gain from the op-amp input, V/V: 1 + Rf/Rg, also in an inverting stage.
    rule : float
        GBW over noise gain, Hz.
    exact : float
        Top-end cut-off of the whole network, Hz.
    """

    signal_gain: float
    noise_gain: float
    rule: float
    exact: float


def bandwidth(stage: Stage) -> Bandwidth:
    """Return the top end of a stage.

    Parameters
    ----------
    stage : Stage
        With an op-amp record; an ideal op-amp has no top end.

    Raises
    ------
    QuantityError
        If the op-amp is ideal.
    """
    if stage.opamp is None:
        raise QuantityError(
            "opamp", "ideal", allowed="an op-amp record", remedy='Give one, such as opamp("GPB").'
        )
    whole = stage.transfer("signal", "output")
    noise_gain = mid_band_noise_gain(stage)
    return Bandwidth(whole.midband_gain(), noise_gain, stage.opamp.gbw / noise_gain, whole.high_cutoff())


def mid_band_noise_gain(stage: Stage) -> float:
    """Return the gain from the op-amp input to its output in mid-band, ideal op-amp, V/V.

    Parameters
    ----------
    stage : Stage
        The stage.
    """
    ideal = replace(stage, opamp=None)
    pins = stage.circuit.opamps[0]
    return float(abs(ideal.transfer(InputError(pins.name), pins.output)(midband_frequency(ideal))))


def gain_error(stage: Stage, f: ArrayLike, node: str = "output") -> Any:
    """Return how far the op-amp makes the gain deviate from that with an ideal one.

    Parameters
    ----------
    stage : Stage
        The stage.
    f : array_like
        Hz.
    node : str
        Where the signal is taken.

    Returns
    -------
    float or ndarray, shape of f
        |H| / |H_ideal| - 1, a ratio: -0.01 is one per cent low.

    Raises
    ------
    QuantityError
        If a frequency is negative or not finite, or nothing passes there.
    """
    ideal = np.abs(replace(stage, opamp=None).transfer("signal", node)(f))
    if not np.all(ideal > 0):
        raise QuantityError(
            "f",
            str(f),
            allowed="frequencies that reach the node",
            remedy="Ask above 0 Hz: the stage blocks DC.",
        )
    return np.abs(stage.transfer("signal", node)(f)) / ideal - 1.0


def full_power_bandwidth(slew_rate: float, peak: float) -> float:
    """Return the highest frequency of a full sine that the slew rate allows: SR / (2 pi Vp).

    Parameters
    ----------
    slew_rate : float
        V/s.
    peak : float
        Peak of the output sine, Vp.

    Returns
    -------
    float
        Hz.

    Raises
    ------
    QuantityError
        If a value is not positive.
    """
    require_positive(slew_rate=slew_rate, peak=peak)
    return slew_rate / (2.0 * math.pi * peak)


def slew_rate_needed(f: float, peak: float) -> float:
    """Return the steepest slope of a sine: 2 pi f Vp, V/s.

    Parameters
    ----------
    f : float
        Hz.
    peak : float
        Peak of the sine, Vp.

    Raises
    ------
    QuantityError
        If a value is not positive.
    """
    require_positive(f=f, peak=peak)
    return 2.0 * math.pi * f * peak


def peak_output_current(stage: Stage, peak: float, f: float, load_capacitance: float = 0.0) -> float:
    """Return the peak current of the op-amp output: into load, feedback and capacitance, A.

    Parameters
    ----------
    stage : Stage
        The stage.
    peak : float
        Peak of the output sine, Vp.
    f : float
        Hz.
    load_capacitance : float
        At the op-amp output, F.

    Raises
    ------
    QuantityError
        If peak or frequency is not positive.
    """
    require_positive(peak=peak, f=f)
    load = output_load(stage, f, stage.circuit.opamps[0].name)
    admittance = (0.0 if math.isinf(abs(load)) else 1.0 / load) + 2j * math.pi * f * load_capacitance
    return peak * abs(admittance)
