"""A network function with the values of one stage put in."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import sympy
from numpy.typing import ArrayLike, NDArray

from ..circuit.network_functions import NetworkFunction
from ..circuit.typeset import latex
from ..errors import QuantityError
from .evaluation import Coefficients, Value, checked_values, compiled, compiled_factors, frequencies
from .rational import HALF_POWER_DB, Midband, Rational, polynomials_at, roots, trimmed


@dataclass(frozen=True)
class Peak:
    """The highest point of a response.

    Attributes
    ----------
    frequency : float
        Hz; 0 or infinity where the response is flat to an end and nowhere higher.
    gain : float
        |H| there, V/V or ohm.
    above_midband_db : float
        Above the mid-band gain, dB; 0 without peaking.
    """

    frequency: float
    gain: float
    above_midband_db: float


class Transfer:
    """Output over input of a stage, as formula and as numbers.

    Parameters
    ----------
    function : NetworkFunction
        The symbolic function.
    values : dict of str to float
        Part values and op-amp parameters, SI units.
    source, node : str
        Its input and output in words.
    """

    def __init__(self, function: NetworkFunction, values: dict[str, Value], source: str, node: str) -> None:
        self.function = function
        self.source = source
        self.node = node
        self._values = values

    def __repr__(self) -> str:
        return f"<Transfer {self.source} to {self.node}, {self.unit}>"

    @property
    def unit(self) -> str:
        """Unit of the function: "V/V" or "ohm"."""
        return self.function.unit

    @property
    def expr(self) -> sympy.Expr:
        """The exact formula in s and the part symbols, common factors cancelled."""
        return self.function.expression

    def latex(self) -> str:
        """Return the formula as LaTeX."""
        return latex(self.expr)

    @cached_property
    def rational(self) -> Rational:
        """The polynomials with numbers, as the network gives them."""
        numerator, denominator = compiled(self.function)(self._values)
        return Rational(numerator, denominator)

    @cached_property
    def _steady(self) -> Rational:
        """The function at DC, with numbers."""
        numerator, denominator = compiled(self.function.steady)(self._values)
        return Rational(numerator, denominator)

    @cached_property
    def _reduced(self) -> Rational:
        """The polynomials with numbers and without common factors: for poles and zeros."""
        numerator, denominator = compiled(self.function.reduced)(self._values)
        return Rational(numerator, denominator)

    def __call__(self, f: ArrayLike) -> Any:
        """Return the complex response at frequencies.

        Parameters
        ----------
        f : array_like
            Frequencies in Hz, any shape; 0 gives the DC value.

        Returns
        -------
        complex or ndarray of complex
            Of the shape of ``f``, in V/V or ohm.

        Raises
        ------
        QuantityError
            If a frequency is negative or not finite, or the function has no value at DC.
        """
        array = frequencies(f)
        omega = 2.0 * math.pi * array.ravel()
        rational = self.rational if omega.any() else self._steady
        top, bottom = polynomials_at([rational.numerator, rational.denominator], omega)
        if not bottom.all():
            rational = self._reduced
            top, bottom = polynomials_at([rational.numerator, rational.denominator], omega)
        if not bottom.all():
            raise QuantityError(
                f"{self.source} to {self.node}",
                "at 0 Hz",
                allowed="a network that has a DC value at this node",
                remedy="The node has no DC path: give it a resistor, or ask at a frequency above 0 Hz.",
            )
        result = (top / bottom).reshape(array.shape)
        return complex(result) if result.ndim == 0 else result

    def magnitude_db(self, f: ArrayLike) -> Any:
        """Return 20 log10 |H| in dB (re 1 V/V or 1 ohm); minus infinity where H is zero.

        Parameters
        ----------
        f : array_like
            Frequencies in Hz.

        Raises
        ------
        QuantityError
            As for a call.
        """
        with np.errstate(divide="ignore"):
            return 20.0 * np.log10(np.abs(self(f)))

    def phase_degrees(self, f: ArrayLike) -> Any:
        """Return the phase in degrees, unwrapped along the last axis.

        Of an array, the phase where the gain is highest lies between -180 and 180 degrees.

        Parameters
        ----------
        f : array_like
            Frequencies in Hz, ascending.

        Raises
        ------
        QuantityError
            As for a call.
        """
        response = self(f)
        if np.ndim(response) == 0:
            return np.degrees(np.angle(response))
        angle = np.degrees(np.unwrap(np.angle(response)))
        highest = angle.flat[np.argmax(np.abs(response))]
        return angle - 360.0 * math.ceil((highest - 180.0) / 360.0)

    def group_delay(self, f: ArrayLike) -> NDArray[np.float64]:
        """Return the group delay in seconds.

        Parameters
        ----------
        f : array_like
            Frequencies in Hz, positive.

        Raises
        ------
        QuantityError
            If a frequency is negative or not finite.
        """
        return self._reduced.group_delay(2.0 * math.pi * frequencies(f))

    def poles(self) -> NDArray[np.complex128]:
        """Return the poles: values of s in rad/s, smallest magnitude first."""
        return _roots_of_factors(compiled_factors(self.function)[1](self._values))

    def zeros(self) -> NDArray[np.complex128]:
        """Return the zeros: values of s in rad/s, smallest magnitude first."""
        return _roots_of_factors(compiled_factors(self.function)[0](self._values))

    @cached_property
    def midband(self) -> Midband:
        """Mid-band gain and the frequency at which it is taken."""
        return self._reduced.midband()

    def midband_gain(self) -> float:
        """Return the mid-band gain |H|: the flat value between the corners, or the peak if none."""
        return self.midband.gain

    def peak(self) -> Peak:
        """Return the highest point of the response and how far it stands above mid-band."""
        highest, middle = self._reduced.peak(), self.midband.gain
        over = 20.0 * math.log10(highest.gain / middle) if middle and math.isfinite(highest.gain) else 0.0
        return Peak(highest.frequency, highest.gain, over)

    def crossings(self, level: float) -> NDArray[np.float64]:
        """Return every frequency in Hz at which |H| equals a level, ascending.

        Parameters
        ----------
        level : float
            Magnitude in V/V or ohm, positive.

        Raises
        ------
        QuantityError
            If the level is not positive.
        """
        if not (level > 0 and math.isfinite(level)):
            raise QuantityError("level", level, allowed="> 0", remedy="Give a magnitude, not decibels.")
        return self._reduced.crossings(level)

    def low_cutoff(self, drop_db: float = HALF_POWER_DB) -> float:
        """Return the low-end cut-off in Hz, relative to the mid-band gain.

        Parameters
        ----------
        drop_db : float
            Drop below the mid-band gain that defines it; half the power unless given.

        Returns
        -------
        float
            The highest frequency below mid-band at which the gain has dropped so far; 0 if the
            response reaches down to DC.

        Raises
        ------
        QuantityError
            If the drop is not positive.
        """
        below = [f for f in self._dropped(drop_db) if f < self.midband.frequency]
        return float(below[-1]) if below else 0.0

    def high_cutoff(self, drop_db: float = HALF_POWER_DB) -> float:
        """Return the top-end cut-off in Hz, relative to the mid-band gain.

        Parameters
        ----------
        drop_db : float
            Drop below the mid-band gain that defines it; half the power unless given.

        Returns
        -------
        float
            The lowest frequency above mid-band at which the gain has dropped so far; infinity if
            it never does.

        Raises
        ------
        QuantityError
            If the drop is not positive.
        """
        above = [f for f in self._dropped(drop_db) if f > self.midband.frequency]
        return float(above[0]) if above else math.inf

    def _dropped(self, drop_db: float) -> NDArray[np.float64]:
        if not (drop_db > 0 and math.isfinite(drop_db)):
            raise QuantityError("drop_db", drop_db, allowed="> 0 dB", remedy="Give the drop, such as 3.01.")
        gain = self.midband.gain
        known = 0 < gain < math.inf
        return self.crossings(gain * 10.0 ** (-drop_db / 20.0)) if known else np.zeros(0)

    def with_values(self, **values: float) -> Transfer:
        """Return the same function with some values changed.

        Parameters
        ----------
        **values : float
            New values in SI units.

        Raises
        ------
        UnknownNameError
            If a name is not a parameter of the function.
        QuantityError
            If a value is not positive and finite.
        """
        changed = checked_values(values, self.function.system.parameters)
        return Transfer(self.function, {**self._values, **changed}, self.source, self.node)


def _roots_of_factors(factors: tuple[Coefficients, ...]) -> NDArray[np.complex128]:
    """Return the roots of a product, one factor at a time, so that equal roots stay exact."""
    found = [roots(trimmed(coefficients)) for coefficients in factors]
    together = np.concatenate(found) if found else np.zeros(0, dtype=np.complex128)
    return together[np.argsort(np.abs(together), kind="stable")]


@dataclass(frozen=True)
class Section:
    """One part of the signal path, from node to node, inside the whole network.

    Attributes
    ----------
    start, end : str
        Its nodes.
    transfer : Transfer
        Voltage at ``end`` over voltage at ``start``.
    """

    start: str
    end: str
    transfer: Transfer
