"""The loop through the rail: output current, rail impedance, bias, and back to the output.

What an amplifier sends into its load it takes from the rail.  A rail with a source resistance gives
way, the bias follows the rail, and the amplifier amplifies its bias.  If what comes back is in phase
and as large as what went out, the stage oscillates slowly ("motorboats").

The model takes the whole output current from the rail: an output that sources.  While it sinks, the
current goes to ground instead, so a large signal sees about half (``share=0.5``).  Limits: linear,
the rail is a resistance with a capacitor across it, quiescent currents do not change.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.polynomial import polynomial as poly
from numpy.typing import ArrayLike, NDArray

from ..circuit.network_functions import NetworkFunction
from ..circuit.nodal_analysis import nodal_system
from ..errors import QuantityError
from ..quantities import QuantityLike, read_quantity, write_quantity
from .evaluation import compiled, frequencies
from .network import Solvable, require_stage
from .rational import Rational, roots, trimmed


@dataclass(frozen=True)
class Rail:
    """The impedance behind the supply pin: a resistance, and a capacitor with its own resistance across it.

    Attributes
    ----------
    resistance : float
        Of the battery, the cable and the connector, ohm.
    capacitance : float
        Across the rail, F; 0 is none.
    series_resistance : float
        Of that capacitor (ESR), ohm.
    """

    resistance: float
    capacitance: float = 0.0
    series_resistance: float = 0.0

    @property
    def impedance(self) -> Rational:
        """Z(s) in ohm."""
        r, c, esr = self.resistance, self.capacitance, self.series_resistance
        return Rational([r, r * esr * c], [1.0, (r + esr) * c])


@dataclass(frozen=True)
class SupplyLoop:
    """The loop gain through the rail; what comes back in phase counts positive.

    Attributes
    ----------
    rail : Rational
        Impedance of the rail, ohm.
    admittance : Rational
        Current that the stage draws per volt on the rail, siemens.
    """

    rail: Rational
    admittance: Rational

    @cached_property
    def function(self) -> Rational:
        """L(s) = -Z(s) Y(s)."""
        top = -poly.polymul(self.rail.numerator, self.admittance.numerator)
        return Rational(top, poly.polymul(self.rail.denominator, self.admittance.denominator))

    def __call__(self, f: ArrayLike) -> NDArray[np.complex128]:
        """Return the complex loop gain.

        Parameters
        ----------
        f : array_like
            Hz, any shape.

        Raises
        ------
        QuantityError
            If a frequency is negative or not finite.
        """
        return np.asarray(self.function(2j * math.pi * frequencies(f)))

    @cached_property
    def in_phase(self) -> NDArray[np.float64]:
        """Every frequency above 0 at which the loop gain is real and positive, ascending, Hz."""
        scale = self._scale
        top, bottom = (
            c * scale ** np.arange(len(c)) for c in (self.function.numerator, self.function.denominator)
        )
        found = roots(trimmed(_imaginary_part(poly.polymul(top, _mirrored(bottom)))))
        omegas = [math.sqrt(u.real) * scale for u in found if u.real > 0 and abs(u.imag) <= 1e-6 * abs(u)]
        ascending = np.sort(np.array(omegas)) / (2.0 * math.pi)
        return ascending[[bool(self(f).real > 0) for f in ascending]] if ascending.size else ascending

    @property
    def _scale(self) -> float:
        poles = np.abs(self.function.poles())
        poles = poles[poles > 0]
        return float(np.exp(np.log(poles).mean())) if poles.size else 1.0

    @property
    def frequency(self) -> float:
        """Where the loop gain in phase is largest, Hz; 0 if it is nowhere in phase."""
        found = self.in_phase
        return float(found[np.argmax(self(found).real)]) if found.size else 0.0

    @property
    def gain(self) -> float:
        """The loop gain at `frequency`, a ratio; 0 if nowhere in phase.  The verdict is `is_stable`."""
        return float(self(self.frequency).real) if self.frequency else 0.0

    @cached_property
    def _poles(self) -> NDArray[np.complex128]:
        closed = poly.polysub(self.function.denominator, self.function.numerator)
        return Rational([1.0], closed).poles()

    @property
    def is_stable(self) -> bool:
        """Whether no disturbance of the rail grows: every root of 1 - L lies in the left half plane."""
        return bool((self._poles.real < 0).all())

    @property
    def grows_at(self) -> float:
        """Frequency of the disturbance that grows fastest, Hz; 0 if none grows, or without turning."""
        growing = self._poles[self._poles.real >= 0]
        return float(abs(growing[np.argmax(growing.real)].imag) / (2.0 * math.pi)) if growing.size else 0.0

    @property
    def text(self) -> str:
        """The result in one sentence."""
        if not self.frequency:
            return "Nothing comes back in phase: the rail cannot make this stage oscillate."
        where = f"loop gain {self.gain:.3g} in phase at {write_quantity(self.frequency, 'Hz')}"
        if self.is_stable:
            size = "below 1" if self.gain < 1.0 else "though above 1: less gain could make it oscillate"
            return f"Stable: {where}, {size}."
        return f"Oscillates: {where}; grows at {write_quantity(self.grows_at, 'Hz')}."

    def __repr__(self) -> str:
        return self.text


def supply_loop(
    stage: Solvable,
    resistance: QuantityLike,
    capacitance: QuantityLike = 0.0,
    series_resistance: QuantityLike = 0.0,
    *,
    share: float = 1.0,
) -> SupplyLoop:
    """Return the loop from the output current through the rail's impedance and the bias back to the output.

    Parameters
    ----------
    stage : Stage or Network
        On a rail.
    resistance : float or str
        Of the rail: battery, cable, connector, ohm.
    capacitance : float or str
        Across the rail, F.
    series_resistance : float or str
        Of that capacitor (ESR), ohm.
    share : float or str
        Part of the output current that the rail carries: 1 while the output sources, about 0.5 over a
        large signal that sources and sinks.

    Returns
    -------
    SupplyLoop
        Loop gain, the frequency with the loop in phase, and whether it oscillates.

    Raises
    ------
    QuantityError
        If a value cannot be read or is negative, or the share is not between 0 and 1,
        or ``stage`` is no stage.
    UnknownNameError
        If the stage has no supply.
    """
    require_stage(stage)
    values = ((resistance, "ohm", "resistance"), (capacitance, "F", "capacitance"))
    ohms, farads = (read_quantity(v, unit, name=name, low=0.0) for v, unit, name in values)
    esr = read_quantity(series_resistance, "ohm", name="series_resistance", low=0.0)
    part = read_quantity(share, "%", name="share")
    if not 0.0 < part <= 1.0:
        raise QuantityError(
            "share", part, allowed="above 0, at most 1", remedy="1 is an output that only sources."
        )
    return SupplyLoop(Rail(ohms, farads, esr).impedance, _drawn(stage, part))


def _drawn(stage: Solvable, share: float) -> Rational:
    """Return the current from the rail per volt on it: the parts at the rail, and the op-amp outputs."""
    system = nodal_system(stage.circuit, stage.model)
    direct = system.source_current("supply")
    outputs = system.ring.zero
    for pins in stage.circuit.opamps:
        outputs += system.output_current("supply", pins.name)
    parts = [
        compiled(NetworkFunction(system, current, system.determinant, "S", "current from the rail"))(
            stage.parameters
        )
        for current in (direct, outputs)
    ]
    (passive, below), (active, _) = parts
    return Rational(poly.polyadd(trimmed(passive), share * trimmed(active)), trimmed(below))


def _mirrored(coefficients: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the coefficients of P(-s): on the imaginary axis the complex conjugate of P(s)."""
    return np.asarray(coefficients * (-1.0) ** np.arange(len(coefficients)))


def _imaginary_part(coefficients: Any) -> NDArray[np.float64]:
    """Return Im P(j omega)/omega as coefficients in omega^2, ascending."""
    odd = np.asarray(coefficients, dtype=np.float64)[1::2]
    return np.asarray(odd * (-1.0) ** np.arange(len(odd)))
