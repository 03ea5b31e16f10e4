"""Small textbook networks that are no stages of the registry, and an independent matrix solver."""

import math

import numpy as np

from singlerail_nb.analysis.network import Network
from singlerail_nb.circuit.builder import CircuitBuilder
from singlerail_nb.circuit.elements import GROUND


def feedback_pair(opamp, r_1, r_2, r_plus=None, supply=0.0):
    """Return the network of every offset exercise: R1 to ground, R2 around, Rp at the + input."""
    circuit = CircuitBuilder("feedback_pair", ("signal", "amp_out"))
    plus = GROUND if r_plus is None else "plus"
    if r_plus is not None:
        circuit.resistor("r_plus", "plus", GROUND, "Resistance at the + input")
    circuit.opamp(plus, "minus", "amp_out")
    circuit.resistor("r_1", "minus", GROUND, "Gain-leg resistor")
    circuit.resistor("r_2", "amp_out", "minus", "Feedback resistor")
    values = {"r_1": r_1, "r_2": r_2} | ({} if r_plus is None else {"r_plus": r_plus})
    return Network(circuit.build(), values, opamp, supply)


def solved(nodes, branches, amplifier, f, *, inject=None, error=0.0, source=None):
    """Return the node voltages at one frequency by plain nodal analysis with numpy.

    ``branches``: (node, node, admittance as a function of s).  ``amplifier``: (plus, minus, out,
    1/A as a function of s).  ``inject``: {node: ampere}; ``error``: volt in series with the +
    input; ``source``: {node: volt}.
    """
    s = 2j * math.pi * f
    index = {node: i for i, node in enumerate(nodes)}
    matrix = np.zeros((len(nodes), len(nodes)), dtype=complex)
    right = np.zeros(len(nodes), dtype=complex)
    for one, other, admittance in branches:
        y = admittance(s)
        for here, there in ((one, other), (other, one)):
            if here in index:
                matrix[index[here], index[here]] += y
                if there in index:
                    matrix[index[here], index[there]] -= y
    for node, current in (inject or {}).items():
        if node in index:
            right[index[node]] += current
    plus, minus, out, inverse_gain = amplifier
    row = index[out]
    matrix[row], right[row] = 0.0, -error
    for pin, sign in ((plus, 1.0), (minus, -1.0)):
        if pin in index:
            matrix[row, index[pin]] += sign
    matrix[row, row] -= inverse_gain(s)
    for node, volts in (source or {}).items():
        matrix[index[node]], right[index[node]] = 0.0, volts
        matrix[index[node], index[node]] = 1.0
    return dict(zip(nodes, np.linalg.solve(matrix, right), strict=True))
