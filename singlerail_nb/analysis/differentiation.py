"""A straight-line program run with derivatives: forward automatic differentiation."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from ..circuit.program import Line, Operand, Program
from .boards import Floats


def run_with_slopes(program: Program, numbers: Mapping[str, float]) -> list[tuple[Floats, Floats]]:
    """Run a program with derivatives: forward automatic differentiation.

    Parameters
    ----------
    program : Program
        What to compute.
    numbers : mapping of str to float
        A value for every input.

    Returns
    -------
    list of (array, shape (k,); array, shape (inputs, k))
        For each polynomial its coefficients c and ``x dc/dx`` for every input x.
    """
    size = len(program.inputs)
    known: dict[Operand, tuple[float, Floats]] = {}
    for i, name in enumerate(program.inputs):
        known[name] = (numbers[name], numbers[name] * np.eye(size)[i])
    for line in program.lines:
        known[line.name] = _step(line, [_looked_up(known, operand, size) for operand in line.operands])
    result = []
    for output in program.outputs:
        pairs = [_looked_up(known, operand, size) for operand in output]
        result.append((np.array([v for v, _ in pairs]), np.array([slope for _, slope in pairs]).T))
    return result


def _looked_up(
    known: dict[Operand, tuple[float, Floats]], operand: Operand, size: int
) -> tuple[float, Floats]:
    return known[operand] if isinstance(operand, str) else (float(operand), np.zeros(size))


def _step(line: Line, given: list[tuple[float, Floats]]) -> tuple[float, Floats]:
    if line.operation == "reciprocal":
        value, slope = given[0]
        return 1.0 / value, -slope / value**2
    (a, da), (b, db) = given
    return (a + b, da + db) if line.operation == "add" else (a * b, a * db + b * da)
