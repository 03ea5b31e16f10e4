"""Numbers from a ratio of polynomials in s: response, poles, mid-band gain, cut-offs, delay.

Coefficients are in ascending powers of s (rad/s).  Cut-offs are roots of
``|N|^2 - ref^2 |D|^2`` in omega^2, so nothing is scanned.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.polynomial import polynomial as poly
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
CoefficientList = Sequence[Any] | NDArray[np.floating[Any]]

HALF_POWER_DB = 10.0 * math.log10(2.0)
"""The "3 dB" of a -3 dB frequency: exactly half the power, 3.0103 dB."""


def horner(coefficients: CoefficientList, x: Any) -> Any:
    """Return a polynomial at x.

    Parameters
    ----------
    coefficients : sequence of float or array
        Ascending powers.
    x : scalar or array
        Where; the shapes broadcast.
    """
    result = coefficients[-1] + 0 * x
    for coefficient in reversed(coefficients[:-1]):
        result = result * x + coefficient
    return result


def polynomials_at(polynomials: Sequence[CoefficientList], omega: Floats) -> Complexes:
    """Return real polynomials in s at s = j omega.

    The even powers give the real part and the odd ones the imaginary part, both sums of powers of
    -omega^2: two real matrix products serve all polynomials, faster than complex Horner steps.

    Parameters
    ----------
    polynomials : sequence of sequence of float
        Coefficients in ascending powers.
    omega : array, shape (frequencies,)
        Angular frequencies, rad/s.

    Returns
    -------
    array of complex, shape (polynomials, frequencies)
        One row per polynomial.
    """
    longest = max(map(len, polynomials))
    table = np.zeros((len(polynomials), longest + longest % 2))
    for row, coefficients in zip(table, polynomials, strict=True):
        row[: len(coefficients)] = coefficients
    powers = np.ones((table.shape[1] // 2, omega.size))
    u = -omega * omega
    for lower, power in pairwise(powers):
        np.multiply(lower, u, out=power)
    values = np.empty((len(polynomials), omega.size), dtype=np.complex128)
    values.real = table[:, 0::2] @ powers
    values.imag = table[:, 1::2] @ powers
    values.imag *= omega
    return values


def trimmed(coefficients: CoefficientList) -> Floats:
    """Return coefficients without the zeros at the highest powers.

    Parameters
    ----------
    coefficients : sequence of float
        Ascending powers.
    """
    array = np.trim_zeros(np.asarray(coefficients, dtype=np.float64), "b")
    return array if array.size else np.zeros(1)


def squared_magnitude(coefficients: CoefficientList) -> list[Any]:
    """Return the coefficients of |P(j omega)|^2 in u = omega^2, ascending.

    Parameters
    ----------
    coefficients : sequence of float or array
        Coefficients of P in s, ascending.
    """
    even = [(-1) ** k * c for k, c in enumerate(coefficients[0::2])]
    odd = [(-1) ** k * c for k, c in enumerate(coefficients[1::2])]
    total: list[Any] = [0.0] * len(coefficients)
    for shift, half in ((0, even), (1, odd)):
        for i, one in enumerate(half):
            for k, other in enumerate(half):
                total[i + k + shift] = total[i + k + shift] + one * other
    return total


def roots(ascending: Floats) -> Complexes:
    """Return the roots of a polynomial, smallest magnitude first; roots at 0 are exact.

    Parameters
    ----------
    ascending : array, shape (degree + 1,)
        Coefficients in ascending powers, without zeros at the highest.
    """
    if not ascending.any():
        return np.zeros(0, dtype=np.complex128)
    at_zero = int(np.flatnonzero(ascending)[0])
    rest = ascending[at_zero:]
    found: Complexes = np.zeros(0, dtype=np.complex128)
    if len(rest) > 1:
        scale = abs(rest[0] / rest[-1]) ** (1.0 / (len(rest) - 1))
        found = np.roots((rest * scale ** np.arange(len(rest)))[::-1]).astype(np.complex128) * scale
    every = np.concatenate([np.zeros(at_zero, dtype=np.complex128), found])
    return every[np.argsort(np.abs(every), kind="stable")]


@dataclass(frozen=True)
class Midband:
    """Where the mid-band gain is taken.

    Attributes
    ----------
    gain : float
        |H| there, in V/V or ohm.
    frequency : float
        In Hz; 0 or infinity when the response is flat to there.
    stationary : bool
        True if |H| is stationary there (an end counts); False in the middle of a sloping plateau.
    """

    gain: float
    frequency: float
    stationary: bool = True


class Rational:
    """A ratio of polynomials with numbers.

    Parameters
    ----------
    numerator, denominator : sequence of float
        Coefficients of s (rad/s), ascending.
    """

    def __init__(self, numerator: CoefficientList, denominator: CoefficientList) -> None:
        self.numerator = trimmed(numerator)
        self.denominator = trimmed(denominator)

    @property
    def is_zero(self) -> bool:
        """True if the function is zero everywhere."""
        return not self.numerator.any()

    def __call__(self, s: Any) -> Any:
        """Return the function at complex s (rad/s)."""
        return horner(self.numerator, s) / horner(self.denominator, s)

    def poles(self) -> Complexes:
        """Return the poles, values of s in rad/s, smallest magnitude first."""
        return roots(self.denominator)

    def zeros(self) -> Complexes:
        """Return the zeros, values of s in rad/s, smallest magnitude first."""
        return np.zeros(0, dtype=np.complex128) if self.is_zero else roots(self.numerator)

    def log_slopes(self, omega: float) -> tuple[float, float]:
        """Return first and second derivative of ln|H| with respect to ln(omega).

        Parameters
        ----------
        omega : float
            Angular frequency, rad/s, positive.
        """
        first = second = 0.0
        for coefficients, sign in ((self.numerator, 1.0), (self.denominator, -1.0)):
            s = 1j * omega
            value = horner(coefficients, s)
            slope = s * horner(poly.polyder(coefficients), s) / value
            bend = s**2 * horner(poly.polyder(coefficients, 2), s) / value
            first += sign * slope.real
            second += sign * (slope + bend - slope**2).real
        return first, second

    def group_delay(self, omega: Floats) -> Floats:
        """Return -d(phase)/d(omega) in seconds; 0 if the function is zero everywhere.

        Parameters
        ----------
        omega : array
            Angular frequencies, rad/s.
        """
        s = 1j * omega
        if self.is_zero:
            return np.zeros(np.shape(omega))
        parts = [horner(poly.polyder(c), s) / horner(c, s) for c in (self.numerator, self.denominator)]
        return np.asarray((parts[1] - parts[0]).real)

    def midband(self) -> Midband:
        """Return the mid-band gain: the flattest high part of the response, or its peak.

        Candidates are the points where |H| is stationary, the middle of every gap of more than a
        decade between corners, and the two ends.  Of those that are reasonably flat, the ones at
        least half as high as the highest are compared, and the flattest wins.  A response that
        rises or falls everywhere has no candidate: its gain is infinite, at the end to which it rises.
        """
        if self.is_zero:
            return Midband(0.0, 0.0)
        stationary = [self._candidate(omega) for omega in self._stationary()] + self._flat_ends()
        candidates = stationary + [self._candidate(omega) for omega in self._plateau_middles()]
        if not candidates:
            return Midband(math.inf, math.inf if len(self.numerator) > len(self.denominator) else 0.0)
        flat = [c for c in candidates if c[0] < _REASONABLY_FLAT]
        if not flat:
            _, frequency, gain = max(candidates, key=lambda c: c[2])
        else:
            enough = 0.5 * max(c[2] for c in flat)
            _, frequency, gain = min(
                (c for c in flat if c[2] >= enough),
                key=lambda c: (round(c[0], 12), c not in stationary, -c[1]),
            )
        return Midband(gain, frequency, any(c[1] == frequency for c in stationary))

    def peak(self) -> Midband:
        """Return the highest point of the response; at an end if it is flat there and nowhere higher."""
        candidates = [self._candidate(omega) for omega in self._stationary()] + self._flat_ends()
        if self.is_zero or not candidates:
            return Midband(0.0 if self.is_zero else math.inf, 0.0)
        highest = max(gain for _, _, gain in candidates)
        # A flat end that rounding lifts above a plateau is no peak: the first that is as high counts.
        _, frequency, gain = min(
            (c for c in candidates if c[2] >= highest * (1.0 - _AS_HIGH)), key=lambda c: (c[1] == 0.0, c[1])
        )
        return Midband(gain, frequency)

    def _candidate(self, omega: float) -> tuple[float, float, float]:
        first, second = self.log_slopes(omega)
        return first**2 + second**2, omega / (2 * math.pi), float(abs(self(1j * omega)))

    def _flat_ends(self) -> list[tuple[float, float, float]]:
        ends = []
        if self.numerator[0] and self.denominator[0]:
            ends.append((0.0, 0.0, float(abs(self.numerator[0] / self.denominator[0]))))
        if len(self.numerator) == len(self.denominator):
            ends.append((0.0, math.inf, float(abs(self.numerator[-1] / self.denominator[-1]))))
        return ends

    def _plateau_middles(self) -> list[float]:
        corners = np.sort(np.abs(np.concatenate([self.poles(), self.zeros()])))
        corners = corners[corners > 0]
        return [math.sqrt(a * b) for a, b in pairwise(corners) if b > 10 * a]

    def _stationary(self) -> list[float]:
        reference = self._reference()
        top, bottom = (np.asarray(squared_magnitude(c)) for c in self._scaled(reference))
        flat = poly.polysub(poly.polymul(poly.polyder(top), bottom), poly.polymul(top, poly.polyder(bottom)))
        found = []
        for u in _positive_real(roots(trimmed(flat))):
            omega = math.sqrt(u) * reference
            for _ in range(_POLISHING_STEPS):
                first, second = self.log_slopes(omega)
                if second == 0 or abs(first / second) > _TRUSTED_STEP:
                    break
                omega *= math.exp(-first / second)
            found.append(omega)
        return found

    def _reference(self) -> float:
        """Return the geometric mean of the pole magnitudes, to keep the numbers tame."""
        magnitudes = np.abs(self.poles())
        magnitudes = magnitudes[magnitudes > 0]
        return float(np.exp(np.log(magnitudes).mean())) if magnitudes.size else 1.0

    def _scaled(self, reference: float) -> tuple[Floats, Floats]:
        return (
            self.numerator * reference ** np.arange(len(self.numerator)),
            self.denominator * reference ** np.arange(len(self.denominator)),
        )

    def crossings(self, level: float) -> Floats:
        """Return all frequencies in Hz at which |H| equals a level, ascending.

        Parameters
        ----------
        level : float
            In the unit of H, positive.
        """
        reference = self._reference()
        top, bottom = (np.asarray(squared_magnitude(c)) for c in self._scaled(reference))
        difference = trimmed(poly.polysub(top, level**2 * bottom))
        omegas = [self._polished(math.sqrt(u) * reference, level) for u in _positive_real(roots(difference))]
        return np.sort(np.asarray(omegas)) / (2 * math.pi)

    def _polished(self, omega: float, level: float) -> float:
        """Sharpen a crossing by Newton's method on ln|H| over ln(omega)."""
        for _ in range(_POLISHING_STEPS):
            slope = self.log_slopes(omega)[0]
            step = math.log(abs(self(1j * omega)) / level)
            if slope == 0 or abs(step) > _TRUSTED_STEP * abs(slope):
                break
            omega *= math.exp(-step / slope)
        return omega


_REASONABLY_FLAT = 0.3
_AS_HIGH = 1e-12
_POLISHING_STEPS = 3
_TRUSTED_STEP = 0.1


def _positive_real(found: Complexes) -> list[float]:
    """Return the roots that are real and positive but for rounding."""
    return [float(r.real) for r in found if r.real > 0 and abs(r.imag) <= 1e-6 * abs(r)]
