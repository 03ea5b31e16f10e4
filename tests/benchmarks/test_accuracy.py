"""The worst error of network functions from 0.1 Hz to 100 MHz, against 50 digits."""

import mpmath
import numpy as np

from singlerail_nb.analysis.evaluation import compiled, responses
from singlerail_nb.circuit.network_functions import transfer_function
from singlerail_nb.circuit.nodal_analysis import InputError
from tests.benchmarks.side_by_side import VALUES, large_circuit, standard_stage
from tests.circuits_for_tests import CASES, excitations, random_stage
from tests.referee import DIGITS, solve_mpmath

FREQUENCIES = np.geomspace(0.1, 100e6, 10)


def relative(found, exact):
    return float(abs(mpmath.mpc(found) - exact) / abs(exact)) if exact else abs(found)


def test_random_stages(ratio):
    worst = 0.0
    for case in CASES[::5]:
        stage = random_stage(case, seed=30)
        asked = excitations(stage)
        for f in FREQUENCIES[::3]:
            solved = solve_mpmath(stage, f, [theirs for _, theirs in asked])
            for (ours, _), exact in zip(asked, solved, strict=True):
                worst = max(worst, relative(stage.transfer(ours, "output")(f), exact["output"]))
    ratio(f"worst relative error of {len(CASES[::5])} random stages, 50 digits", worst, at_most=1e-12)


def test_standard_stage_in_one_pass(ratio):
    stage = standard_stage()
    asked = excitations(stage)
    program = compiled(*(stage.transfer(ours, "output").function for ours, _ in asked))
    found = responses(program, stage.parameters, FREQUENCIES)
    worst = 0.0
    for k, f in enumerate(FREQUENCIES):
        solved = solve_mpmath(stage, f, [theirs for _, theirs in asked])
        worst = max(
            worst, *(relative(row[k], exact["output"]) for row, exact in zip(found, solved, strict=True))
        )
    ratio("worst relative error, standard stage, three functions at once", worst, at_most=1e-12)


def test_large_stage_against_the_same_polynomials_at_fifty_digits(ratio):
    """The straight-line program loses nothing against exact sums of its 15,340 terms."""
    function = transfer_function(large_circuit(), InputError("opamp"), "output", "single_pole")
    values = dict(VALUES)
    values |= {"c_source": 100e-12, "r_c_in": 0.5, "r_c_bias": 0.3, "r_c_g": 0.4, "r_c_out": 0.2}
    values |= {"c_plus": 5e-12, "c_minus": 5e-12, "c_between": 3e-12, "c_load": 200e-12}
    values |= {"opamp_inverse_gain": 1e-5, "opamp_unity_time": 1.6e-7}
    found = responses(compiled(function), values, FREQUENCIES)[0]
    worst = max(
        relative(value, exact_value(function, values, f)) for value, f in zip(found, FREQUENCIES, strict=True)
    )
    ratio("worst relative error, 21-element stage, 50 digits", worst, at_most=1e-12)


def exact_value(function, values, f):
    with mpmath.workdps(DIGITS):
        numbers = [2j * mpmath.pi * mpmath.mpf(float(f))]
        for name in function.system.parameters:
            number = mpmath.mpf(values[name])
            numbers.append(1 / number if name.startswith("r_") else number)
        return polynomial_value(function.numerator, numbers) / polynomial_value(function.denominator, numbers)


def polynomial_value(polynomial, numbers):
    total = mpmath.mpc(0)
    for exponents, coefficient in polynomial.items():
        term = mpmath.mpf(int(coefficient))
        for number, power in zip(numbers, exponents, strict=True):
            if power:
                term = term * number**power
        total += term
    return total
