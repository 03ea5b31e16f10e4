"""Cancelling and factoring: the product is the polynomial, and nothing is left to factor."""

import math

import pytest
import sympy
from sympy import ZZ
from sympy.polys.rings import ring

from singlerail_nb.circuit.factors import factored, positive, without_common_factor
from tests.circuits_for_tests import CASES, random_stage

R, S, A, B, C, D = ring("s,a,b,c,d", ZZ)


@pytest.mark.parametrize(
    ("polynomial", "expected"),
    [
        (A * B + A * C, [A, B + C]),
        ((A + B) * (C + S * D), [A + B, S * D + C]),
        (S**2 * A * (B + S * C), [S, S, A, S * C + B]),
        (A + B + C, [A + B + C]),
        (-(A + S * B) * C, [R.one * -1, C, S * B + A]),
        (-6 * (2 * A + S * B) * (C + D), [R.one * -6, S * B + 2 * A, C + D]),
        ((A * B + B * C + A * C) * S, [S, A * B + B * C + A * C]),
        (A * B + C * D, [A * B + C * D]),
        ((A * B + C * D) * S, [S, A * B + C * D]),
    ],
)
def test_small_cases(polynomial, expected):
    found = factored(polynomial)
    assert math.prod(found, start=R.one) == polynomial
    assert sorted(map(str, found)) == sorted(map(str, expected))


def small_polynomials():
    """Return numerators and denominators that the general method can take in a moment."""
    found = {}
    for case in CASES:
        if not case.single_pole and len(case.absent) > 1 and len(case.parts) < 16:
            for source in ("signal", "supply"):
                function = random_stage(case).transfer(source, "output").function
                for half in ("numerator", "denominator"):
                    found[f"{case}: {source}, {half}"] = getattr(function, half)
    return {name: polynomial for name, polynomial in found.items() if polynomial}


SMALL = small_polynomials()


@pytest.mark.parametrize("polynomial", SMALL.values(), ids=SMALL.keys())
def test_the_product_of_the_factors_is_the_polynomial(polynomial):
    assert math.prod(factored(polynomial), start=polynomial.ring.one) == polynomial


@pytest.mark.parametrize("polynomial", SMALL.values(), ids=SMALL.keys())
def test_the_general_method_finds_the_same_factors(polynomial):
    """sympy's general factoring is the judge; it knows nothing of linearity in the parts."""
    _, pairs = sympy.factor_list(polynomial.as_expr())
    general = sorted(signless(f) for f, power in pairs for _ in range(power))
    ours = [f for f in factored(polynomial) if not f.is_ground]
    assert sorted(signless(f.as_expr()) for f in ours) == general


def signless(expression):
    """Return a text that a factor and its negative share: either has its own leading term."""
    return min(str(sympy.expand(expression)), str(sympy.expand(-expression)))


def test_common_factors_go():
    top, bottom = without_common_factor((A + B) * C * S, (A + B) * (C + S * D))
    assert (top, bottom) == (C * S, S * D + C)


def test_common_numbers_go_and_other_numbers_stay():
    assert without_common_factor(6 * A * (B + C), 4 * A * D) == (3 * (B + C), 2 * D)


def test_parts_that_depend_by_others_alone_are_in_one_factor():
    """A chain: a and d never stand together, b and c tie them."""
    chain = A * B + B * C + C * D
    assert factored(chain * S) == [S, chain]


def test_a_zero_numerator_leaves_one_below():
    assert without_common_factor(R.zero, A + B) == (R.zero, R.one)


def test_the_denominator_comes_out_positive():
    assert positive(A, -(B + C)) == (-A, B + C)
    assert positive(A, B + C) == (A, B + C)
    assert without_common_factor(A * B, -B * C) == (-A, C)
