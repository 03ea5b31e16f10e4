"""The figures of an op-amp data sheet: name, unit, range, spread and swing against load.

`FIGURES` is the one table of what a record may hold; reading, checking and data-sheet forms
follow it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from ..errors import QuantityError

Spread = Literal["typical", "worst"]
"""Which figure to calculate with: the typical one, or the limit that is farther from zero."""


@dataclass(frozen=True, slots=True)
class FigureKind:
    """What a figure is and which values it may have.

    Attributes
    ----------
    label : str
        Its name in words.
    unit : str
        A name of the unit table.
    low : float
        Lowest value that makes sense, SI units.
    ideal : float or None
        The value that stands for "not given"; None if the figure must be given.
    """

    label: str
    unit: str
    low: float = 0.0
    ideal: float | None = 0.0


FIGURES: dict[str, FigureKind] = {
    "gbw": FigureKind("gain-bandwidth product", "Hz", ideal=None),
    "dc_gain": FigureKind("open-loop gain at DC", "ratio", ideal=None),
    "supply_min": FigureKind("lowest total supply", "V"),
    "supply_max": FigureKind("highest total supply", "V", ideal=math.inf),
    "slew_rate": FigureKind("slew rate", "V/us", ideal=math.inf),
    "phase_margin": FigureKind("phase margin at unity gain", "deg", ideal=90.0),
    "second_pole": FigureKind("second pole", "Hz", ideal=math.inf),
    "output_resistance": FigureKind("open-loop output resistance", "ohm"),
    "input_capacitance": FigureKind("input capacitance to ground, each pin", "F"),
    "noise_voltage": FigureKind("input noise voltage, white part", "V/sqrt(Hz)"),
    "noise_voltage_corner": FigureKind("1/f corner of the noise voltage", "Hz"),
    "noise_current": FigureKind("input noise current, white part", "A/sqrt(Hz)"),
    "noise_current_corner": FigureKind("1/f corner of the noise current", "Hz"),
    "bias_current": FigureKind("input bias current, positive into the pin", "A", -math.inf),
    "bias_doubling": FigureKind("temperature step that doubles the bias current (kelvin)", "ratio"),
    "offset_current": FigureKind("input offset current", "A"),
    "offset_voltage": FigureKind("input offset voltage", "V"),
    "offset_drift": FigureKind("offset drift per kelvin", "V"),
    "supply_rejection_db": FigureKind("supply rejection, positive pin, at DC", "dB", ideal=math.inf),
    "supply_rejection_corner": FigureKind("its corner (-20 dB per decade above)", "Hz", ideal=math.inf),
    "negative_rejection_db": FigureKind("supply rejection, negative pin, at DC", "dB", ideal=math.inf),
    "negative_rejection_corner": FigureKind("its corner (-20 dB per decade above)", "Hz", ideal=math.inf),
    "common_mode_rejection_db": FigureKind("common-mode rejection, best range", "dB", ideal=math.inf),
    "common_mode_rejection_full_db": FigureKind("common-mode rejection, full range", "dB", ideal=math.inf),
    "common_mode_rejection_corner": FigureKind("its corner (-20 dB per decade above)", "Hz", ideal=math.inf),
    "common_mode_low": FigureKind("lowest input, above the negative rail", "V", -math.inf),
    "common_mode_high": FigureKind("highest input, below the positive rail", "V", -math.inf),
    "handover_far": FigureKind("handover zone begins, below the positive rail", "V"),
    "handover_near": FigureKind("handover zone ends, below the positive rail", "V"),
    "linear_margin": FigureKind("extra distance from the rails for full gain", "V"),
    "short_circuit_source": FigureKind("short-circuit current, sourcing", "A", ideal=math.inf),
    "short_circuit_sink": FigureKind("short-circuit current, sinking", "A", ideal=math.inf),
    "quiescent_current": FigureKind("supply current per amplifier", "A"),
    "recovery_time": FigureKind("overload recovery time", "s"),
    "capacitive_load": FigureKind("load capacitance for 45 deg as a follower", "F"),
}


@dataclass(frozen=True, slots=True)
class Limits:
    """The spread of one figure, as far as the data sheet gives it.

    Attributes
    ----------
    quantity : str
        A name of `FIGURES`.
    lowest, highest : float or None
        Guaranteed limits, SI units.
    condition : str
        What they hold for.
    """

    quantity: str
    lowest: float | None = None
    highest: float | None = None
    condition: str = ""


@dataclass(frozen=True, slots=True)
class SwingPoint:
    """How near the output comes to the rails with one load.

    Attributes
    ----------
    load : float
        Load resistance to mid-rail, ohm.
    low, high : float
        Distance from the negative and from the positive rail, V.
    """

    load: float
    low: float
    high: float


def interpolated_swing(points: tuple[SwingPoint, ...], load: float) -> tuple[float, float]:
    """Return the distances from both rails for a load.

    The drop follows the output current, so the line runs over 1/load.  A lighter load than the
    lightest point keeps that point; below the heaviest load the last line goes on (an
    extrapolation).  Without points the output reaches the rails.

    Parameters
    ----------
    points : tuple of SwingPoint
        Any order.
    load : float
        Load resistance to mid-rail, ohm; infinity for none.

    Raises
    ------
    QuantityError
        If the load is not positive.
    """
    if not load > 0:
        raise QuantityError("load", load, allowed="> 0 ohm", remedy="Give the load, or infinity for none.")
    if not points:
        return 0.0, 0.0
    ordered = sorted(points, key=lambda point: -point.load)
    conductance = 1.0 / load
    if len(ordered) == 1 or conductance <= 1.0 / ordered[0].load:
        return ordered[0].low, ordered[0].high
    k = next((i for i, p in enumerate(ordered[1:], 1) if conductance <= 1.0 / p.load), len(ordered) - 1)
    light, heavy = ordered[k - 1], ordered[k]
    part = (conductance - 1.0 / light.load) / (1.0 / heavy.load - 1.0 / light.load)
    return light.low + part * (heavy.low - light.low), light.high + part * (heavy.high - light.high)


def second_pole_for(gbw: float, phase_margin: float) -> float:
    """Return the second pole that leaves a phase margin at the unity-gain frequency, Hz.

    With x = tan(90 deg - margin) the open-loop gain is 1 at f = GBW/sqrt(1 + x^2), and the pole
    sits at f/x.

    Parameters
    ----------
    gbw : float
        Gain-bandwidth product, Hz.
    phase_margin : float
        Degrees, above 0; 90 or more means no second pole.
    """
    if phase_margin >= 90.0:
        return math.inf
    x = math.tan(math.radians(90.0 - phase_margin))
    return gbw / (x * math.sqrt(1.0 + x * x))
