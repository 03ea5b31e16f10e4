"""Guaranteed bounds on sensitivities over a whole box of part values.

``Re(x/H dH/dx)`` on the frequency axis is a quotient of two polynomials in omega and the parts.
They are formed exactly, so what cancels is gone before numbers enter.  Each is split by the signs of
its coefficients into ``P+ - P-``; with positive parts both grow with every variable, so their values
at the two ends of a cell bound the polynomial in the whole cell.  A polynomial without terms of one
sign has a sign for all positive values whatever.

A network function splits into factors, and each factor contains few parts.  Factors that share parts
are taken together, and their part of the box is cut into cells.  (Rounding errors of floating-point
numbers, about 1e-15, are not enclosed.)
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from ..circuit.network_functions import NetworkFunction
from ..circuit.nodal_analysis import Poly
from ..circuit.program import write_program
from .boards import Floats
from .evaluation import CompiledProgram, compiled_factors

CELLS = 8192
"""Most cells per group of factors."""
_MOST_PIECES = 64

Reference = tuple[int, ...] | None
"""What a magnitude is relative to: nothing, or the quotient of one power of s of every factor."""
Box = Mapping[str, tuple[float, float]]


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


@dataclass(frozen=True)
class Enclosure:
    """Bounds of one network function over a box and a band.

    Attributes
    ----------
    shares : mapping of str to Interval
        Of ``Re(x/H dH/dx)`` for each part that varies.
    slope : Interval
        Of d ln|H| / d ln f.
    """

    shares: Mapping[str, Interval]
    slope: Interval


def enclose(
    function: NetworkFunction,
    numbers: Mapping[str, float],
    box: Box,
    band: tuple[float, float],
    reference: Reference = None,
) -> Enclosure:
    """Return bounds of the sensitivities of a magnitude over a box and a band.

    Parameters
    ----------
    function : NetworkFunction
        The function.
    numbers : mapping of str to float
        Value of every parameter; those in ``box`` are ignored.
    box : mapping of str to (float, float)
        Lowest and highest value of each part that varies.
    band : (float, float)
        Lowest and highest frequency, Hz.
    reference : tuple of int, optional
        From `dominant_powers`: bound the shares of |H| relative to that quotient of coefficients.
    """
    shares: dict[str, Interval] = {}
    slope = Interval(np.zeros(1), np.zeros(1))
    names = tuple(name for name in function.system.parameters if name in box)
    for group in _groups(function, names, reference):
        values = _cells(group, numbers, box, band)
        for name, share in group.shares.items():
            shares[name] = share.bound(*values).hull
        slope = slope + group.slope.bound(*values).hull
    return Enclosure(shares, slope)


def dominant_powers(function: NetworkFunction, numbers: Mapping[str, float], f: float) -> tuple[int, ...]:
    """Return for every factor the power of s whose term is largest at a frequency.

    Relative to the quotient of these coefficients, |H| is nearly 1 around that frequency, and its
    sensitivities are nearly 0: differences between two frequencies are then bounded closely.

    Parameters
    ----------
    function : NetworkFunction
        The function.
    numbers : mapping of str to float
        Value of every parameter.
    f : float
        Hz; 0 and infinity give the lowest and the highest power.
    """
    powers = []
    for coefficients in (c for program in compiled_factors(function) for c in program(numbers)):
        present = [k for k, c in enumerate(coefficients) if c]
        if f == 0 or math.isinf(f):
            powers.append(present[0 if f == 0 else -1])
        else:
            sizes = {k: math.log(abs(coefficients[k])) + k * math.log(2.0 * math.pi * f) for k in present}
            powers.append(max(sizes, key=sizes.__getitem__))
    return tuple(powers)


class _Quotient:
    """Re(A/P) at s = j omega as a quotient of two polynomials, each split by sign."""

    def __init__(self, function: NetworkFunction, above: Poly, below: Poly) -> None:
        halves = [*_by_sign(_real(above, below)), *_by_sign(_real(below, below))]
        parameters = function.system.parameters
        reciprocals = frozenset(name for name in parameters if name.startswith("r_"))
        variables = ("omega", *parameters)
        self._run = CompiledProgram(write_program([[half] for half in halves], variables, reciprocals))

    def bound(self, low: Mapping[str, Floats], high: Mapping[str, Floats]) -> Interval:
        """Return its bounds in every cell; ``low`` makes every polynomial variable lowest."""
        below, above = ([c[0] for c in self._run(values)] for values in (low, high))
        top = Interval(np.asarray(below[0] - above[1]), np.asarray(above[0] - below[1]))
        bottom = Interval(np.asarray(below[2] - above[3]), np.asarray(above[2] - below[3]))
        return top.over(bottom)


@dataclass(frozen=True)
class _Group:
    """Factors that share varying parts, ready for numbers."""

    names: tuple[str, ...]
    shares: Mapping[str, _Quotient]
    slope: _Quotient


@lru_cache(maxsize=64)
def _groups(function: NetworkFunction, names: tuple[str, ...], reference: Reference) -> tuple[_Group, ...]:
    factors = [(sign, f) for half, sign in zip(function.factors, (1, -1), strict=True) for f in half]
    kept = dict(zip((f for _, f in factors), reference or (), strict=False))
    joined: list[tuple[set[str], list[tuple[int, Poly]]]] = []
    for sign, factor in factors:
        own = _parameters(function, factor) & set(names)
        touching = [g for g in joined if g[0] & own]
        joined = [g for g in joined if not g[0] & own]
        pairs = [pair for g in touching for pair in g[1]]
        joined.append((own.union(*(g[0] for g in touching)), [*pairs, (sign, factor)]))
    moving = [(own, pairs) for own, pairs in joined if own]
    still = [pair for own, pairs in joined if not own for pair in pairs]
    for _, pairs in moving:
        still = _balanced(pairs, still)
    groups = [*moving, (set[str](), still)] if still else moving
    return tuple(_prepared(function, tuple(sorted(own)), pairs, kept) for own, pairs in groups)


def _balanced(pairs: list[tuple[int, Poly]], still: list[tuple[int, Poly]]) -> list[tuple[int, Poly]]:
    """Move powers of s to the capacitors that they belong to: s and C enter together as s C."""
    ring = pairs[0][1].ring
    single = set(ring.gens)
    names = [str(symbol) for symbol in ring.symbols]
    lone = [(sign, f) for sign, f in pairs if f in single]
    capacitors = [sign for sign, f in lone if names[ring.gens.index(f)].startswith("c_")]
    rest = list(still)
    for sign in capacitors:
        if (sign, ring.gens[0]) in rest:
            rest.remove((sign, ring.gens[0]))
            pairs.append((sign, ring.gens[0]))
    return rest


def _prepared(
    function: NetworkFunction,
    names: tuple[str, ...],
    factors: list[tuple[int, Poly]],
    kept: Mapping[Poly, int],
) -> _Group:
    s = factors[0][1].ring.gens[0]
    generators = dict(zip(function.system.parameters, s.ring.gens[1:], strict=True))
    shares = {name: _share(function, name, generators[name], factors, kept) for name in names}
    slope = _Quotient(function, *_log_derivative(s, factors))
    return _Group(names, shares, slope)


def _log_derivative(x: Poly, factors: list[tuple[int, Poly]]) -> tuple[Poly, Poly]:
    """Return x/H dH/dx of a product of factors over one denominator."""
    above, below = x.ring.zero, x.ring.one
    for sign, factor in factors:
        if factor.degree(x) > 0:
            top, bottom = _cancelled(sign * x * factor.diff(x), factor)
            above, below = _cancelled(above * bottom + top * below, below * bottom)
    return above, below


def _share(
    function: NetworkFunction, name: str, x: Poly, factors: list[tuple[int, Poly]], kept: Mapping[Poly, int]
) -> _Quotient:
    """Return x/H dH/dx of the factors that contain x, H relative to its reference."""
    pairs = list(factors)
    pairs += [(-sign, _coefficient(factor, kept[factor])) for sign, factor in factors if factor in kept]
    above, below = _log_derivative(x, pairs)
    # A resistor enters as a conductance: more of one is less of the other.
    return _Quotient(function, -above if name.startswith("r_") else above, below)


def _cancelled(above: Poly, below: Poly) -> tuple[Poly, Poly]:
    if not above:
        return above, below.ring.one
    _, top, bottom = above.cofactors(below)
    return top, bottom


def _coefficient(polynomial: Poly, power: int) -> Poly:
    """Return the coefficient of a power of s."""
    terms = {(0, *e[1:]): c for e, c in polynomial.terms() if e[0] == power}
    return polynomial.ring.from_dict(terms)


def _parameters(function: NetworkFunction, factor: Poly) -> set[str]:
    used = {i for exponents in factor.itermonoms() for i, power in enumerate(exponents) if power}
    return {name for i, name in enumerate(function.system.parameters, 1) if i in used}


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


def _pieces(widths: list[float]) -> list[int]:
    """Return into how many pieces each range is cut: the widest piece is cut next, until cells run out."""
    pieces = [1] * len(widths)
    while max(widths) > 0:
        widest = max(range(len(widths)), key=lambda i: widths[i] / pieces[i])
        grown = math.prod(pieces) // pieces[widest] * (pieces[widest] + 1)
        if grown > CELLS or pieces[widest] == _MOST_PIECES:
            break
        pieces[widest] += 1
    return pieces


def _cells(
    group: _Group, numbers: Mapping[str, float], box: Box, band: tuple[float, float]
) -> tuple[dict[str, Floats], dict[str, Floats]]:
    """Return all combinations of pieces of band and parts: values at the low and the high end."""
    ranges = [band, *(box[name] for name in group.names)]
    pieces = _pieces([math.log(high / low) for low, high in ranges])
    edges = [np.geomspace(*ends, count + 1) for ends, count in zip(ranges, pieces, strict=True)]
    index = np.indices([len(e) - 1 for e in edges]).reshape(len(edges), -1)
    low: dict[str, Floats] = {name: np.asarray(value) for name, value in numbers.items()}
    high = dict(low)
    for i, name in enumerate(("omega", *group.names)):
        scale = 2.0 * math.pi if name == "omega" else 1.0
        lower, upper = scale * edges[i][index[i]], scale * edges[i][index[i] + 1]
        turned = name.startswith("r_")
        low[name], high[name] = (upper, lower) if turned else (lower, upper)
    return low, high
