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
from collections.abc import Sequence
from functools import lru_cache
from operator import itemgetter

from .nodal_analysis import Poly

_PRIME = 2**61 - 1
_POINT = 48271
"""Primitive root from which the point is made; a false answer has a chance of some 1e-16."""
_FIELD = 128
"""Bits of a field: more than a million sums below the prime need."""
_ONES = (1 << _FIELD) - 1


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
    return [*factors] if number == 1 else [polynomial.ring.one * number, *factors]


@lru_cache(maxsize=8)  # all functions of a circuit share their denominator
def _number_and_factors(polynomial: Poly) -> tuple[int, tuple[Poly, ...]]:
    ring = polynomial.ring
    shared = [_lowest_power(polynomial, i) for i in range(ring.ngens)]
    rest = _divided_by_monomial(polynomial, shared) if any(shared) else polynomial
    single = [generator for generator, power in zip(ring.gens, shared, strict=True) for _ in range(power)]
    sums = [_factor_of(rest, group) for group in _groups(rest)]
    number = int(polynomial.LC) // math.prod(int(factor.LC) for factor in sums)
    return number, (*single, *sums)


def _lowest_power(polynomial: Poly, place: int) -> int:
    """Return the lowest power of a generator; most often a term without it comes soon."""
    lowest = math.inf
    for exponents in polynomial.itermonoms():
        lowest = min(lowest, exponents[place])
        if not lowest:
            break
    return int(lowest)


def _divided_by_monomial(polynomial: Poly, powers: list[int]) -> Poly:
    return polynomial.ring.from_dict(
        {
            tuple(have - take for have, take in zip(exponents, powers, strict=True)): coefficient
            for exponents, coefficient in polynomial.items()
        }
    )


def _groups(polynomial: Poly) -> list[list[int]]:
    """Return the generators of each factor, by their place; s belongs to all of them."""
    together = _sums_of_terms(polynomial)
    places = [i for i in range(1, polynomial.ring.ngens) if _holds(polynomial, i)]
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


def _holds(polynomial: Poly, place: int) -> bool:
    return any(exponents[place] for exponents in polynomial.itermonoms())


def _sums_of_terms(polynomial: Poly) -> list[list[int]]:
    """Return, at one point, the sum of all terms that hold both i and j; at [0][0] that of all terms.

    A row of sums is kept as one long integer with a field for each j.  Terms are gathered by their
    first and by their second half, of which there are few kinds, before they are added to the rows.
    """
    count = polynomial.ring.ngens
    middle = (count + 1) // 2
    halves = (_Half(0, middle), _Half(middle, count))
    for exponents, coefficient in polynomial.items():
        keys = exponents[:middle], exponents[middle:]
        (value, fields), (others_value, others_fields) = (
            h.known(k) for h, k in zip(halves, keys, strict=True)
        )
        term = (int(coefficient) * value * others_value % _PRIME) * (fields | others_fields)
        for half, key in zip(halves, keys, strict=True):
            half.sums[key] += term
    rows = [0] * count
    for half in halves:
        for key, total in half.sums.items():
            for i, power in enumerate(key, half.start):
                if power or i == 0:
                    rows[i] += total
    return [[(row >> _FIELD * j) & _ONES for j in range(count)] for row in rows]


class _Half:
    """Half of the exponents of a polynomial: what each kind of it is worth, and the sums of its terms."""

    def __init__(self, start: int, end: int) -> None:
        self.start = start
        self.sums: Counter[tuple[int, ...]] = Counter()
        self._point = [pow(_POINT, i + 1, _PRIME) for i in range(start, end)]
        self._known: dict[tuple[int, ...], tuple[int, int]] = {}

    def known(self, key: tuple[int, ...]) -> tuple[int, int]:
        """Return the value of a power product at the point, and the fields of what it holds."""
        if key not in self._known:
            value, fields = 1, 0
            for i, power in enumerate(key):
                value = value * pow(self._point[i], power, _PRIME) % _PRIME
                if power or self.start + i == 0:
                    fields |= 1 << _FIELD * (self.start + i)
            self._known[key] = value, fields
        return self._known[key]


def _factor_of(polynomial: Poly, group: list[int]) -> Poly:
    """Return the factor that holds a group: the terms in which all other generators stand alike."""
    others = [i for i in range(1, polynomial.ring.ngens) if i not in group]
    rest = itemgetter(*others) if others else len
    alike = rest(next(iter(polynomial.itermonoms())))
    chosen = {e: c for e, c in polynomial.items() if rest(e) == alike}
    power_of_s = min(exponents[0] for exponents in chosen)
    content = math.gcd(*(int(c) for c in chosen.values()))
    terms = {}
    for exponents, coefficient in chosen.items():
        own = [exponents[i] if i in group else 0 for i in range(polynomial.ring.ngens)]
        own[0] = exponents[0] - power_of_s
        terms[tuple(own)] = coefficient // content
    factor = polynomial.ring.from_dict(terms)
    return -factor if factor.LC < 0 else factor
