"""An independent solution of a stage: its own equations, from the parts alone.

The package solves nodes with conductances, after taking absent parts out and merging the nodes of
wires.  This referee writes one equation per node, part, source and op-amp instead, and keeps the
whole circuit: a wire is a part without voltage, an absent part one without current, a resistor of
0 ohm stays what it is.  So it also judges how the package takes parts out.  NumPy solves many
frequencies at once (about 1e-11); mpmath solves one at 50 digits, which also serves for DC: at
`AT_REST` Hz a capacitor is as good as an open circuit, and no equation is singular.
"""

import mpmath
import numpy as np

from singlerail_nb.circuit.elements import GROUND
from singlerail_nb.circuit.stages import build_circuit

DIGITS = 50
AT_REST = 1e-25


class Tableau:
    """The equations of one stage; unknowns are node voltages, then branch currents."""

    def __init__(self, stage):
        self.circuit = build_circuit(stage.name, stage.bias)
        self.values = stage.values
        self.figures = stage.parameters
        branches = [x.name for x in (*self.circuit.parts, *self.circuit.sources, *self.circuit.opamps)]
        names = [*self.circuit.nodes, *(f"current of {name}" for name in branches)]
        self.index = {name: i for i, name in enumerate(names)}

    def entries(self, s):
        """Yield (row, column, number) at complex s; the row of a node is its current balance."""
        for part in self.circuit.parts:
            current = self.index[f"current of {part.name}"]
            yield from self._leaving(current, *part.nodes)
            voltage, impedance = self._part_law(part, s)
            yield current, current, -impedance
            yield from self._across(current, *part.nodes, voltage)
        for source in self.circuit.sources:
            current = self.index[f"current of {source.name}"]
            yield from self._leaving(current, GROUND, source.name)
            yield from self._across(current, source.name, GROUND, 1)
        for opamp in self.circuit.opamps:
            current = self.index[f"current of {opamp.name}"]
            yield from self._leaving(current, GROUND, opamp.output)
            yield from self._across(current, opamp.plus, opamp.minus, 1)
            inverse_gain = self.figures.get(opamp.inverse_gain, 0)
            unity_time = self.figures.get(opamp.unity_time, 0)
            yield current, self.index[opamp.output], -(inverse_gain + s * unity_time)

    def _part_law(self, part, s):
        """Return (p, z) of the law p v = z i."""
        value = self.values.get(part.name)
        if value is None:
            return (1, 0) if part.when_absent == "short" else (0, 1)
        return (1, value) if part.kind == "resistor" else (s * value, 1)

    def _leaving(self, current, start, end):
        if start != GROUND:
            yield self.index[start], current, 1
        if end != GROUND:
            yield self.index[end], current, -1

    def _across(self, row, start, end, factor):
        if start != GROUND:
            yield row, self.index[start], factor
        if end != GROUND:
            yield row, self.index[end], -factor

    def right_side(self, source=None, into=None, error_of=None):
        """Return {row: number} for 1 V of a source, 1 A into a node, or 1 V at an op-amp's + input."""
        given = {}
        if source:
            given[self.index[f"current of {source}"]] = 1
        if into:
            given[self.index[into]] = 1
        if error_of:
            given[self.index[f"current of {error_of}"]] = -1
        return given


def solve_numpy(stage, f, **excitation):
    """Return {node or "current of <branch>": complex array over f}, by numpy.linalg.solve."""
    tableau = Tableau(stage)
    f = np.atleast_1d(np.asarray(f, dtype=float))
    matrix, right = _numpy_system(tableau, 2j * np.pi * f, excitation)
    solution = np.linalg.solve(matrix, right)[..., 0]
    return {name: solution[:, i] for name, i in tableau.index.items()}


def _numpy_system(tableau, s, excitation):
    size = len(tableau.index)
    matrix = np.zeros((s.size, size, size), dtype=complex)
    for row, column, number in tableau.entries(s):
        matrix[:, row, column] += number
    right = np.zeros((s.size, size, 1), dtype=complex)
    for row, number in tableau.right_side(**excitation).items():
        right[:, row] = number
    return matrix, right


def solve_mpmath(stage, f, excitations):
    """Return one {node or branch: complex number of 50 digits} per excitation, at one frequency in Hz."""
    tableau = Tableau(stage)
    size = len(tableau.index)
    with mpmath.workdps(DIGITS):
        s = 2j * mpmath.pi * mpmath.mpf(float(f))
        matrix = mpmath.matrix(size)
        for row, column, number in tableau.entries(s):
            matrix[row, column] += number
        factors, order = mpmath.mp.LU_decomp(matrix)
        results = []
        for excitation in excitations:
            right = mpmath.matrix(size, 1)
            for row, number in tableau.right_side(**excitation).items():
                right[row] = number
            solution = mpmath.mp.U_solve(factors, mpmath.mp.L_solve(factors, right, order))
            results.append({name: _cleaned(solution[i]) for name, i in tableau.index.items()})
        return results


def _cleaned(number):
    """Return 0 for what is nothing but the rounding of 50 digits."""
    return number if abs(number) > mpmath.mpf(10) ** -40 else mpmath.mpf(0)
