"""Cancel and factor the polynomials of a network.

A network determinant is linear in every conductance, capacitance and op-amp parameter.  So two
parts x and y stand in different factors exactly if ``P P_xy = P_x P_y``, where the indices are
derivatives.  That is asked at one point modulo a large prime, for all pairs in one pass; parts
that depend on each other, directly or by others, form the factors.  A factor is then read off: its
terms are those of the polynomial in which all other parts stand alike.  No division is done, and
what takes general methods half a minute takes a second.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence

from .nodal_analysis import Poly

_PRIME = 2**61 - 1
_POINT = 48271
"""Primitive root from which the point is made; a false answer has a chance of some 1e-16."""


def without_common_factor(numerator: Poly, denominator: Poly) -> tuple[Poly, Poly]:
    """Return numerator and denominator divided by their greatest common divisor.

    Parameters
    ----------
    numerator, denominator : polynomial
        Of one ring, as `factored` takes them; the denominator is not zero.
    """
    ring = denominator.ring
    if not numerator:
        return numerator, ring.one
    halves = [_number_and_factors(half) for half in (numerator, denominator)]
    (top, above), (bottom, below) = halves
    common = Counter(above) & Counter(below)
    divisor = math.gcd(top, bottom)
    if not common and divisor == 1:
        return positive(numerator, denominator)
    results = [
        math.prod((Counter(factors) - common).elements(), start=ring.one * (number // divisor))
        for number, factors in halves
    ]
    return positive(*results)


def positive(numerator: Poly, denominator: Poly) -> tuple[Poly, Poly]:
    """Return the same quotient with a denominator whose leading coefficient is positive.

    Parameters
    ----------
    numerator, denominator : polynomial
        Of one ring.
    """
    return (-numerator, -denominator) if denominator.LC < 0 else (numerator, denominator)


def factored(polynomial: Poly) -> list[Poly]:
    """Return the factors of a polynomial that is linear in every generator but the first.

    The product of the list is the polynomial; a number other than 1 comes first, then single
    generators, then sums whose leading coefficient is positive.

    Parameters
    ----------
    polynomial : polynomial
        Not zero; generator 0 is s, which stands at capacitances and times only.
    """
    number, factors = _number_and_factors(polynomial)
    return factors if number == 1 else [polynomial.ring.one * number, *factors]


def _number_and_factors(polynomial: Poly) -> tuple[int, list[Poly]]:
    ring = polynomial.ring
    shared = [min(exponents[i] for exponents in polynomial.itermonoms()) for i in range(ring.ngens)]
    rest = _divided_by_monomial(polynomial, shared)
    single = [generator for generator, power in zip(ring.gens, shared, strict=True) for _ in range(power)]
    sums = [_factor_of(rest, group) for group in _groups(rest)]
    number = int(polynomial.LC) // math.prod(int(factor.LC) for factor in sums)
    return number, [*single, *sums]


def _divided_by_monomial(polynomial: Poly, powers: list[int]) -> Poly:
    return polynomial.ring.from_dict(
        {
            tuple(have - take for have, take in zip(exponents, powers, strict=True)): coefficient
            for exponents, coefficient in polynomial.items()
        }
    )


def _groups(polynomial: Poly) -> list[list[int]]:
    """Return the generators of each factor, by their place; s belongs to all of them."""
    places = [i for i in range(1, polynomial.ring.ngens) if polynomial.degree(i) > 0]
    together = _sums_of_terms(polynomial, places)
    total = together[0][0]
    groups: list[list[int]] = []
    for i in places:
        alone = together[i][i]
        joined = [group for group in groups if any(_depend(total, together, j, i, alone) for j in group)]
        groups = [group for group in groups if group not in joined]
        groups.append([*(j for group in joined for j in group), i])
    return sorted(groups, key=min)


def _depend(total: int, together: Sequence[Sequence[int]], i: int, j: int, alone: int) -> bool:
    return bool((total * together[i][j] - together[i][i] * alone) % _PRIME)


def _sums_of_terms(polynomial: Poly, places: list[int]) -> list[list[int]]:
    """Return, at one point, the sum of all terms that hold both i and j; at [0][0] that of all terms."""
    count = polynomial.ring.ngens
    point = [pow(_POINT, i + 1, _PRIME) for i in range(count)]
    together = [[0] * count for _ in range(count)]
    for exponents, coefficient in polynomial.items():
        held = [i for i in places if exponents[i]]
        value = int(coefficient) * _power_product(point, exponents[0], held) % _PRIME
        together[0][0] += value
        for k, i in enumerate(held):
            row = together[i]
            for j in held[k:]:
                row[j] += value
    return together


def _power_product(point: Sequence[int], power_of_s: int, held: Iterable[int]) -> int:
    value = pow(point[0], power_of_s, _PRIME)
    for i in held:
        value = value * point[i] % _PRIME
    return value


def _factor_of(polynomial: Poly, group: list[int]) -> Poly:
    """Return the factor that holds a group: the terms in which all other generators stand alike."""
    others = [i for i in range(1, polynomial.ring.ngens) if i not in group]
    first = next(iter(polynomial.itermonoms()))
    alike = [first[i] for i in others]
    chosen = {e: c for e, c in polynomial.items() if [e[i] for i in others] == alike}
    power_of_s = min(exponents[0] for exponents in chosen)
    content = math.gcd(*(int(c) for c in chosen.values()))
    terms = {}
    for exponents, coefficient in chosen.items():
        own = [exponents[i] if i in group else 0 for i in range(polynomial.ring.ngens)]
        own[0] = exponents[0] - power_of_s
        terms[tuple(own)] = coefficient // content
    factor = polynomial.ring.from_dict(terms)
    return -factor if factor.LC < 0 else factor
