"""Cancel and factor the polynomials of a network.

A network determinant is linear in every conductance, capacitance and op-amp parameter.
So the factor that contains x is f divided by the common divisor of its two parts in
``f = a x + b``: a complete factorisation by a handful of small common divisors, about a
hundred times faster than general factoring.
"""

from __future__ import annotations

from .nodal_analysis import Poly


def without_common_factor(numerator: Poly, denominator: Poly) -> tuple[Poly, Poly]:
    """Return numerator and denominator divided by their greatest common divisor.

    Parameters
    ----------
    numerator, denominator : polynomial
        Of one ring; the denominator is not zero.
    """
    if not numerator:
        return numerator, denominator.ring.one
    _, numerator, denominator = numerator.cofactors(denominator)
    return positive(numerator, denominator)


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

    The product of the list is the polynomial; a number comes first, then single
    generators, then sums whose leading coefficient is positive.

    Parameters
    ----------
    polynomial : polynomial
        Not zero; generator 0 is s.
    """
    ring = polynomial.ring
    shared = [min(exponents[i] for exponents in polynomial.itermonoms()) for i in range(ring.ngens)]
    rest = _divided_by_monomial(polynomial, shared)
    single = [generator for generator, power in zip(ring.gens, shared, strict=True) for _ in range(power)]
    sums: list[Poly] = []
    for i in range(1, ring.ngens):
        if rest.degree(ring.gens[i]) > 0:
            others = _content(rest, i)
            sums.append(rest.exquo(others))
            rest = others
    sums.append(rest)
    sign = 1
    for i, factor in enumerate(sums):
        if factor.LC < 0:
            sums[i], sign = -factor, -sign
    numbers = [ring.one * sign] if sign < 0 else []
    return [*numbers, *single, *(factor for factor in sums if factor != ring.one)]


def _divided_by_monomial(polynomial: Poly, powers: list[int]) -> Poly:
    return polynomial.ring.from_dict(
        {
            tuple(have - take for have, take in zip(exponents, powers, strict=True)): coefficient
            for exponents, coefficient in polynomial.terms()
        }
    )


def _content(polynomial: Poly, i: int) -> Poly:
    """Return the part of a polynomial that does not contain generator i."""
    ring = polynomial.ring
    with_it = {(*e[:i], 0, *e[i + 1 :]): c for e, c in polynomial.terms() if e[i]}
    without = {e: c for e, c in polynomial.terms() if not e[i]}
    return ring.from_dict(with_it).gcd(ring.from_dict(without)) if without else ring.from_dict(with_it)
