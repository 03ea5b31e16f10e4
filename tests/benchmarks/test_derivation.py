"""Derive and compile a stage, beside sympy's general linear solver on the same matrix."""

import time

import sympy

from singlerail_nb.analysis.evaluation import CompiledProgram
from singlerail_nb.circuit.network_functions import NetworkFunction, functions_program
from singlerail_nb.circuit.nodal_analysis import InputError, NodalSystem
from singlerail_nb.circuit.stages import build_circuit
from tests.benchmarks.side_by_side import best_times, large_circuit, standard_stage

EXCITATIONS = ("signal", "supply", InputError("opamp"))


def derive_and_compile(circuit):
    """Return a program for signal, ripple and noise transfer to the output, from nothing."""
    system = NodalSystem(circuit, "single_pole")
    functions = tuple(
        NetworkFunction(system, system.voltage(excitation, "output"), system.determinant, "V/V", "")
        for excitation in EXCITATIONS
    )
    return CompiledProgram(functions_program(functions))


def same_matrix(circuit):
    """Return the equations of the package as sympy matrices: A x = b for the signal source."""
    system = NodalSystem(circuit, "single_pole")
    size = len(system.unknowns)
    zero = system.ring.zero
    matrix = sympy.Matrix(size, size, lambda i, k: system._rows[i].get(k, zero).as_expr())
    right = sympy.Matrix(size, 1, lambda i, _: system._rows[i].get(size, zero).as_expr())
    return matrix, right


def test_standard_stage_against_the_general_solver(ratio):
    circuit = build_circuit("noninverting")
    system = same_matrix(circuit)
    (ours,) = best_times(lambda: derive_and_compile(circuit), repetitions=5)
    (general,) = best_times(lambda: sympy.linsolve(system), repetitions=1)
    (ours_again,) = best_times(lambda: derive_and_compile(circuit), repetitions=20)
    ours = min(ours, ours_again)
    what = (
        f"sympy.linsolve, one transfer / derive + compile, three transfers ({ours * 1e3:.1f} ms, target 10)"
    )
    ratio(what, general / ours, at_least=50)


def test_large_stage(ratio):
    """Twenty-one parts: 15,340 terms in the determinant, and still half a second at most."""
    circuit = large_circuit()
    assert len(circuit.parts) == 21
    derive_and_compile(circuit)
    (ours,) = best_times(lambda: derive_and_compile(circuit), repetitions=4)
    ratio("derive + compile, 21-element stage, seconds", ours, at_most=0.5)


def test_the_first_use_pays_once(ratio):
    """What is asked again comes from the cache."""
    start = time.perf_counter()
    derive_and_compile(build_circuit("noninverting"))
    derive = time.perf_counter() - start
    stage = standard_stage()
    stage.transfer("signal", "output")(1e3)
    (again,) = best_times(lambda: stage.transfer("signal", "output")(1e3), repetitions=50)
    ratio("transfer asked again / derived", again / derive, at_most=0.1)
