"""What is known of an operational amplifier: the data sheet as a record."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from ..quantities import write_quantity
from .opamp_checks import check_consistency, check_figure, check_limits, read_figure
from .opamp_figures import FIGURES, Limits, Spread, SwingPoint, interpolated_swing, second_pole_for

REFERENCE_TEMPERATURE = 298.15
"""Temperature at which data-sheet figures hold, K."""


@dataclass(frozen=True, slots=True)
class OpAmp:
    """A data sheet in SI units; typical figures, with their limits beside them.

    A figure that is not given has its ideal value and limits nothing: `is_given` tells.  The
    small-signal network uses A(s) = 1/(1/A_0 + s/omega_t); stability adds the second pole.

    Attributes
    ----------
    name : str
        Its name in tables.
    gbw : float
        Gain-bandwidth product, Hz.
    dc_gain : float
        Open-loop gain at DC, V/V.
    supply_min, supply_max : float
        Range of the total supply voltage, V.
    source : str
        Where the figures come from; "invented" for demonstration data.
    title : str
        Its kind in words.
    slew_rate : float
        V/s.
    phase_margin, second_pole : float
        Unity-gain phase margin in degrees, or the second pole itself in Hz.
    output_resistance : float
        Open-loop, ohm.
    input_capacitance : float
        Each pin to ground, F.
    noise_voltage, noise_current : float
        White part, V/sqrt(Hz) and A/sqrt(Hz) (each pin, uncorrelated).
    noise_voltage_corner, noise_current_corner : float
        1/f corners, Hz.
    bias_current : float
        A, positive into the pin.
    bias_doubling : float
        Temperature step that doubles the bias current, K; 0 if it is flat.
    offset_current, offset_voltage, offset_drift : float
        A, V, V/K; their signs are unknown.
    supply_rejection_db, negative_rejection_db : float
        At DC, positive and negative supply pin, dB (input-referred).
    common_mode_rejection_db, common_mode_rejection_full_db : float
        dB: inside the best part of the input range, and across the full range.
    supply_rejection_corner, negative_rejection_corner, common_mode_rejection_corner : float
        Above it the rejection falls by 20 dB per decade, Hz.
    common_mode_low, common_mode_high : float
        Input range: distance inwards from the negative and the positive rail, V; negative when
        the range reaches beyond the rail.
    handover_far, handover_near : float
        Zone below the positive rail where one input pair hands over to the other, V.
    swing : tuple of SwingPoint
        Output swing against load.
    linear_margin : float
        Further distance from both rails for full open-loop gain, V.
    short_circuit_source, short_circuit_sink, quiescent_current : float
        A; the last per amplifier.
    recovery_time : float
        From overload, s.
    capacitive_load : float
        Load capacitance that leaves a follower 45 degrees, F.
    reversal : str
        When the output reverses its phase; empty if it does not, or not said.
    notes : tuple of str
        Anything else worth knowing.
    limits : tuple of Limits
        Minimum, maximum and condition of figures, where given.

    Raises
    ------
    QuantityError
        If a figure makes no sense, limits do not enclose it, or figures contradict each other.
    """

    name: str
    gbw: float
    dc_gain: float = 1e5
    supply_min: float = 0.0
    supply_max: float = math.inf
    source: str = "entered by the user"
    title: str = ""
    slew_rate: float = math.inf
    phase_margin: float = 90.0
    second_pole: float = math.inf
    output_resistance: float = 0.0
    input_capacitance: float = 0.0
    noise_voltage: float = 0.0
    noise_voltage_corner: float = 0.0
    noise_current: float = 0.0
    noise_current_corner: float = 0.0
    bias_current: float = 0.0
    bias_doubling: float = 0.0
    offset_current: float = 0.0
    offset_voltage: float = 0.0
    offset_drift: float = 0.0
    supply_rejection_db: float = math.inf
    supply_rejection_corner: float = math.inf
    negative_rejection_db: float = math.inf
    negative_rejection_corner: float = math.inf
    common_mode_rejection_db: float = math.inf
    common_mode_rejection_full_db: float = math.inf
    common_mode_rejection_corner: float = math.inf
    common_mode_low: float = 0.0
    common_mode_high: float = 0.0
    handover_far: float = 0.0
    handover_near: float = 0.0
    swing: tuple[SwingPoint, ...] = ()
    linear_margin: float = 0.0
    short_circuit_source: float = math.inf
    short_circuit_sink: float = math.inf
    quiescent_current: float = 0.0
    recovery_time: float = 0.0
    capacitive_load: float = 0.0
    reversal: str = ""
    notes: tuple[str, ...] = ()
    limits: tuple[Limits, ...] = ()

    def __post_init__(self) -> None:
        figures = {name: read_figure(self.name, name, getattr(self, name)) for name in FIGURES}
        for name, value in figures.items():
            object.__setattr__(self, name, value)
            check_figure(self.name, name, value)
        check_limits(self.name, self.limits, figures)
        check_consistency(self.name, figures, self.swing)

    def __repr__(self) -> str:
        title = f" ({self.title})" if self.title else ""
        low, high = write_quantity(self.supply_min, "V"), write_quantity(self.supply_max, "V")
        rail = f"rail {low} to {high}" if math.isfinite(self.supply_max) else f"rail from {low}"
        speed = f"gain-bandwidth {write_quantity(self.gbw, 'Hz')}"
        others = sum(map(self.is_given, FIGURES.keys() - {"gbw", "supply_min", "supply_max"}))
        return f"op-amp {self.name}{title}: {rail}, {speed}, other figures given: {others}; {self.source}"

    def is_given(self, quantity: str) -> bool:
        """Return whether a figure was given, as opposed to ideal.

        Parameters
        ----------
        quantity : str
            A name of `FIGURES`.
        """
        return bool(getattr(self, quantity) != FIGURES[quantity].ideal)

    def figure(self, quantity: str, spread: Spread = "typical") -> float:
        """Return a figure: the typical one, or of its limits the one farther from zero.

        Parameters
        ----------
        quantity : str
            A name of `FIGURES`.
        spread : "typical" or "worst"
            Which one; without limits the typical figure serves.
        """
        typical = float(getattr(self, quantity))
        found = [limit for limit in self.limits if limit.quantity == quantity]
        if spread == "typical" or not found:
            return typical
        ends = [typical, *(v for v in (found[0].lowest, found[0].highest) if v is not None)]
        return max(ends, key=abs)

    def bias_current_at(self, temperature: float, spread: Spread = "typical") -> float:
        """Return the input bias current at a temperature, A, positive into the pin.

        Parameters
        ----------
        temperature : float
            K.
        spread : "typical" or "worst"
            Which figure.
        """
        current = self.figure("bias_current", spread)
        if not self.bias_doubling:
            return current
        return float(current * 2.0 ** ((temperature - REFERENCE_TEMPERATURE) / self.bias_doubling))

    @property
    def inverse_gain(self) -> float:
        """1/A_0, ratio."""
        return 1.0 / self.dc_gain

    @property
    def unity_time(self) -> float:
        """1/omega_t = 1/(2 pi GBW), seconds."""
        return 1.0 / (2.0 * math.pi * self.gbw)

    @property
    def second_pole_frequency(self) -> float:
        """The second pole, Hz: as given, or from the phase margin; infinity if neither is given."""
        if math.isfinite(self.second_pole):
            return self.second_pole
        return second_pole_for(self.gbw, self.phase_margin)

    def output_range(self, supply: float, load: float, *, linear: bool = True) -> tuple[float, float]:
        """Return the lowest and highest output voltage, V above the negative rail.

        Parameters
        ----------
        supply : float
            V.
        load : float
            To mid-rail, ohm; infinity for none.
        linear : bool
            Whether the extra distance for full open-loop gain is kept.

        Raises
        ------
        QuantityError
            If the load is not positive.
        """
        low, high = interpolated_swing(self.swing, load)
        extra = self.linear_margin if linear else 0.0
        return low + extra, supply - high - extra

    def input_range(self, supply: float) -> tuple[float, float]:
        """Return the lowest and highest input voltage, V above the negative rail.

        Parameters
        ----------
        supply : float
            V.
        """
        return self.common_mode_low, supply - self.common_mode_high

    def supply_error(self, f: Any, pin: str = "positive") -> Any:
        """Return the error at the input per volt of supply ripple, complex V/V.

        Parameters
        ----------
        f : float or array
            Hz.
        pin : "positive" or "negative"
            Supply pin that carries the ripple; a figure that is not given counts as no error.
        """
        if pin == "negative":
            return _error(self.negative_rejection_db, self.negative_rejection_corner, f)
        return _error(self.supply_rejection_db, self.supply_rejection_corner, f)

    def common_mode_error(self, f: Any) -> Any:
        """Return the error at the input per volt of common-mode signal, complex V/V.

        Parameters
        ----------
        f : float or array
            Hz.
        """
        return _error(self.common_mode_rejection_db, self.common_mode_rejection_corner, f)


def _error(rejection_db: float, corner: float, f: Any) -> Any:
    return 10.0 ** (-rejection_db / 20.0) * (1.0 + 1j * (f / corner))
