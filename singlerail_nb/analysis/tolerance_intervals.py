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
from .boards import Floats
from .evaluation import compiled_factors
from .tolerance_quotients import Interval, Quotient, coefficient, log_derivative

CELLS = 8192
"""Most cells per group of factors."""
_MOST_PIECES = 64
LARGEST_PRODUCT = 200
"""Most terms of the factors of one group multiplied out; the work grows with the square of it."""


class TooLargeError(Exception):
    """The polynomials of a proof would be too large to form in reasonable time."""


Reference = tuple[int, ...] | None
"""What a magnitude is relative to: nothing, or the quotient of one power of s of every factor."""
Box = Mapping[str, tuple[float, float]]


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

    Raises
    ------
    TooLargeError
        If parts are coupled so tightly that a proof would take minutes.
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


@dataclass(frozen=True)
class _Group:
    """Factors that share varying parts, ready for numbers."""

    names: tuple[str, ...]
    shares: Mapping[str, Quotient]
    slope: Quotient


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
    if any(math.prod(len(factor) for _, factor in pairs) > LARGEST_PRODUCT for _, pairs in moving):
        raise TooLargeError
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
    slope = Quotient(function, *log_derivative(s, factors))
    return _Group(names, shares, slope)


def _share(
    function: NetworkFunction, name: str, x: Poly, factors: list[tuple[int, Poly]], kept: Mapping[Poly, int]
) -> Quotient:
    """Return x/H dH/dx of the factors that contain x, H relative to its reference."""
    pairs = list(factors)
    pairs += [(-sign, coefficient(factor, kept[factor])) for sign, factor in factors if factor in kept]
    above, below = log_derivative(x, pairs)
    # A resistor enters as a conductance: more of one is less of the other.
    return Quotient(function, -above if name.startswith("r_") else above, below)


def _parameters(function: NetworkFunction, factor: Poly) -> set[str]:
    used = {i for exponents in factor.itermonoms() for i, power in enumerate(exponents) if power}
    return {name for i, name in enumerate(function.system.parameters, 1) if i in used}


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
