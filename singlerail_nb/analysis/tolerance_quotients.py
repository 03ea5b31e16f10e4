"""Sensitivities on the frequency axis as quotients of polynomials, and their bounds in cells of a box.

What cancels is gone before numbers enter.  Each polynomial is split by the signs of its coefficients into
``P+ - P-``; with positive parts both grow with every variable, so their values at the two ends of a cell
bound the polynomial in the whole cell.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ..circuit.network_functions import NetworkFunction
from ..circuit.nodal_analysis import Poly
from ..circuit.program import write_program
from .boards import Floats
from .evaluation import CompiledProgram


@dataclass(frozen=True)
class Interval:
    """Lowest and highest value.

    Attributes
    ----------
    low, high : float or array
        Of one shape.
    """

    low: Floats
    high: Floats

    def __add__(self, other: Interval) -> Interval:
        return Interval(self.low + other.low, self.high + other.high)

    def __sub__(self, other: Interval) -> Interval:
        return Interval(self.low - other.high, self.high - other.low)

    def over(self, other: Interval) -> Interval:
        """Return the quotient; infinite where zero lies in the divisor.

        Parameters
        ----------
        other : Interval
            The divisor.
        """
        sound = (other.low > 0) | (other.high < 0)
        with np.errstate(divide="ignore", invalid="ignore"):
            ends = [a / b for a in (self.low, self.high) for b in (other.low, other.high)]
        low, high = np.minimum.reduce(ends), np.maximum.reduce(ends)
        return Interval(np.where(sound, low, -np.inf), np.where(sound, high, np.inf))

    @property
    def hull(self) -> Interval:
        """The smallest interval around all of them."""
        return Interval(np.asarray(np.min(self.low)), np.asarray(np.max(self.high)))

    @property
    def size(self) -> float:
        """Largest absolute value."""
        return float(max(np.max(np.abs(self.low)), np.max(np.abs(self.high))))

    @property
    def sign(self) -> int:
        """1 or -1 if nowhere negative or nowhere positive, 0 if it may be either."""
        if np.all(self.low >= 0):
            return 1
        return -1 if np.all(self.high <= 0) else 0


class Quotient:
    """Re(A/P) at s = j omega as a quotient of two polynomials, each split by sign.

    Parameters
    ----------
    function : NetworkFunction
        The function that the polynomials come from.
    above, below : polynomial
        A and P, in s and the parts.
    """

    def __init__(self, function: NetworkFunction, above: Poly, below: Poly) -> None:
        halves = [*_by_sign(_real(above, below)), *_by_sign(_real(below, below))]
        parameters = function.system.parameters
        reciprocals = frozenset(name for name in parameters if name.startswith("r_"))
        variables = ("omega", *parameters)
        self._run = CompiledProgram(write_program([[half] for half in halves], variables, reciprocals))

    def bound(self, low: Mapping[str, Floats], high: Mapping[str, Floats]) -> Interval:
        """Return its bounds in every cell.

        Parameters
        ----------
        low, high : mapping of str to array
            Values that make every polynomial variable lowest and highest; a resistor is a
            conductance there, so ``low`` has its largest value.
        """
        below, above = ([c[0] for c in self._run(values)] for values in (low, high))
        top = Interval(np.asarray(below[0] - above[1]), np.asarray(above[0] - below[1]))
        bottom = Interval(np.asarray(below[2] - above[3]), np.asarray(above[2] - below[3]))
        return top.over(bottom)


def log_derivative(x: Poly, factors: list[tuple[int, Poly]]) -> tuple[Poly, Poly]:
    """Return x/H dH/dx of a product of factors over one denominator.

    Parameters
    ----------
    x : polynomial
        A generator of the ring.
    factors : list of (int, polynomial)
        Sign 1 for factors of the numerator, -1 for those of the denominator.
    """
    above, below = x.ring.zero, x.ring.one
    for sign, factor in factors:
        if factor.degree(x) > 0:
            top, bottom = _cancelled(sign * x * factor.diff(x), factor)
            above, below = _cancelled(above * bottom + top * below, below * bottom)
    return above, below


def _cancelled(above: Poly, below: Poly) -> tuple[Poly, Poly]:
    if not above:
        return above, below.ring.one
    _, top, bottom = above.cofactors(below)
    return top, bottom


def coefficient(polynomial: Poly, power: int) -> Poly:
    """Return the coefficient of a power of s.

    Parameters
    ----------
    polynomial : polynomial
        Generator 0 is s.
    power : int
        Which power.
    """
    terms = {(0, *e[1:]): c for e, c in polynomial.terms() if e[0] == power}
    return polynomial.ring.from_dict(terms)


def _real(one: Poly, other: Poly) -> Poly:
    """Return Re(A conj(B)) at s = j omega; generator 0 of the result is omega."""
    (a_real, a_imaginary), (b_real, b_imaginary) = _at_j_omega(one), _at_j_omega(other)
    return a_real * b_real + a_imaginary * b_imaginary


def _at_j_omega(polynomial: Poly) -> tuple[Poly, Poly]:
    parts: list[dict[tuple[int, ...], int]] = [{}, {}]
    for exponents, coefficient in polynomial.terms():
        sign = 1 if exponents[0] % 4 in (0, 1) else -1
        parts[exponents[0] % 2][tuple(exponents)] = sign * coefficient
    real, imaginary = (polynomial.ring.from_dict(part) for part in parts)
    return real, imaginary


def _by_sign(polynomial: Poly) -> tuple[dict[tuple[int, ...], int], dict[tuple[int, ...], int]]:
    """Return the terms with positive coefficients, and the others with their sign changed."""
    terms = [(tuple(exponents), int(c)) for exponents, c in polynomial.terms()]
    return {e: c for e, c in terms if c > 0}, {e: -c for e, c in terms if c < 0}
