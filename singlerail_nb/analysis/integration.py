"""Integrals of |H(f)|^2 over frequency, exact to rounding.

Over x = ln f the integrand is analytic but for the poles of H, and those are known: a pole p sits
at ln|p| plus i times its angle from the imaginary axis.  The range is halved until no panel is
wider than twice its distance to the nearest pole; 20-point Gauss-Legendre on such a panel is off by
about (1 + sqrt(2))^-40 = 5e-16, relative.  Nothing adaptive, so the result is smooth in the values.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from ..errors import QuantityError
from .rational import Rational, horner
from .transfer import Transfer

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(20)
_WIDEST = 1.0
_NARROWEST = 1e-9
_BEYOND = 34.0
"""How many e-folds beyond the outermost pole an endless range is followed: e^-34 = 2e-15."""


def check_band(f_low: float, f_high: float) -> None:
    """Refuse a band that is empty, endless or reaches down to DC.

    Parameters
    ----------
    f_low, f_high : float
        Hz.

    Raises
    ------
    QuantityError
        If not 0 < f_low < f_high < infinity.
    """
    if not (0 < f_low < f_high and math.isfinite(f_high)):
        raise QuantityError(
            "band",
            f"{f_low:g} Hz to {f_high:g} Hz",
            allowed="0 Hz < f_low < f_high, finite",
            remedy="1/f noise has no finite total down to 0 Hz: give the band that is listened to.",
        )


def singularities(poles: NDArray[np.complex128]) -> NDArray[np.complex128]:
    """Return where the poles sit in the plane of ln(omega): ln|p| + i (angle from the j omega axis).

    Parameters
    ----------
    poles : array of complex
        rad/s; those at 0 are left out.
    """
    finite = poles[np.abs(poles) > 0]
    angle = np.abs(np.angle(finite))
    return np.log(np.abs(finite)) + 1j * np.abs(angle - math.pi / 2)


def nodes_and_weights(
    low: float, high: float, singular: NDArray[np.complex128]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the points and weights of the composite rule over x = ln(omega).

    Parameters
    ----------
    low, high : float
        Ends of the range in x.
    singular : array of complex
        From `singularities`.

    Returns
    -------
    points, weights : ndarray, shape (n,)
        The integral is ``sum(weights * g(points))``.
    """
    waiting, panels = [(low, high)], []
    while waiting:
        a, b = waiting.pop()
        middle, half = (a + b) / 2, (b - a) / 2
        room = min(float(np.abs(singular - middle).min()) if singular.size else math.inf, _WIDEST)
        if half <= room or half < _NARROWEST:
            panels.append((middle, half))
        else:
            waiting += [(a, middle), (middle, b)]
    middles, halves = np.array(panels).T
    points = (middles[:, None] + halves[:, None] * _NODES).ravel()
    return points, (halves[:, None] * _WEIGHTS).ravel()


def integral_over_band(
    integrand: Callable[[NDArray[np.float64]], NDArray[np.float64]],
    poles: NDArray[np.complex128],
    f_low: float,
    f_high: float,
) -> NDArray[np.float64]:
    """Return the integral of a function of f (Hz) over a band.

    Parameters
    ----------
    integrand : callable
        Takes frequencies in Hz, shape (n,), returns values of shape (..., n).
    poles : array of complex
        Where the integrand is singular, as values of s in rad/s.
    f_low, f_high : float
        Hz.

    Returns
    -------
    ndarray, shape (...)
        The unit of the integrand times Hz.

    Raises
    ------
    QuantityError
        If the band is empty, endless or reaches down to DC.
    """
    check_band(f_low, f_high)
    turn = math.log(2 * math.pi)
    x, weights = nodes_and_weights(math.log(f_low) + turn, math.log(f_high) + turn, singularities(poles))
    f = np.exp(x) / (2 * math.pi)
    return np.asarray((integrand(f) * f * weights).sum(axis=-1))


def noise_bandwidth(transfer: Transfer) -> float:
    """Return the effective noise bandwidth: the integral of |H|^2 over all f, over |H_mid|^2.

    White noise through a brick wall of this width and of the mid-band gain has the same power.
    One pole gives pi/2 times its cut-off.

    Parameters
    ----------
    transfer : Transfer
        A function that vanishes at high frequencies.

    Returns
    -------
    float
        Hz; infinity if the function does not vanish at high frequencies.

    Raises
    ------
    QuantityError
        If the function is zero everywhere.
    """
    rational, level = transfer.rational, transfer.midband_gain()
    if rational.is_zero:
        raise QuantityError(
            f"noise bandwidth of {transfer.source} to {transfer.node}",
            "a function that is 0",
            allowed="a node that the source reaches",
            remedy="Choose another node.",
        )
    if len(rational.numerator) >= len(rational.denominator):
        return math.inf
    singular = singularities(transfer.poles())
    ends = singular.real.min() - _BEYOND, singular.real.max() + _BEYOND
    x, weights = nodes_and_weights(*ends, singular)
    omega = np.exp(x)
    power = np.abs(_scaled(rational, omega)) ** 2
    return float((power * omega * weights).sum() / (2 * math.pi * level**2))


def _scaled(rational: Rational, omega: NDArray[np.float64]) -> NDArray[np.complex128]:
    """Evaluate at j omega; above 1 rad/s in powers of 1/s, so that no power overflows."""
    s = 1j * omega
    high = omega > 1.0
    result = np.empty_like(s)
    result[~high] = rational(s[~high])
    top, bottom = rational.numerator, rational.denominator
    inverse = 1.0 / s[high]
    order = len(bottom) - len(top)
    result[high] = horner(top[::-1], inverse) * inverse**order / horner(bottom[::-1], inverse)
    return result
