"""Mid-band gain and exact low-end cut-off of many boards, beside two ways to do it by hand."""

import math

import numpy as np

from singlerail_nb.analysis.boards import evaluate_boards
from tests.benchmarks.side_by_side import best_times, standard_stage

BOARDS, FEW = 100_000, 2_000
BISECTIONS = 42
"""From five octaves down to 1e-12 of the frequency, which is how exact the others are."""
SECANT_STEPS = 5


def spread(stage, boards):
    rng = np.random.default_rng(7)
    return {
        part.name: stage.values[part.name] * rng.uniform(0.95, 1.05, boards) for part in stage.circuit.parts
    }


class StackedSolution:
    """The nodal equations of all boards, filled in as arrays and solved by numpy.linalg.solve."""

    def __init__(self, stage, values):
        circuit = stage.circuit
        self.nodes = [node for node in circuit.nodes if node not in ("signal", "supply")]
        size, boards = len(self.nodes), len(values["c_in"])
        self.conductance, self.capacitance = np.zeros((2, boards, size, size))
        self.right = np.zeros((boards, size, 1))
        driven = {opamp.output for opamp in circuit.opamps}
        for part in circuit.parts:
            matrix = self.conductance if part.kind == "resistor" else self.capacitance
            value = 1 / values[part.name] if part.kind == "resistor" else values[part.name]
            for one, other in (part.nodes, part.nodes[::-1]):
                if one in self.nodes and one not in driven:
                    row = self.nodes.index(one)
                    matrix[:, row, row] += value
                    if other in self.nodes:
                        matrix[:, row, self.nodes.index(other)] -= value
                    elif other == "signal":
                        self.right[:, row, 0] += value
        for opamp in circuit.opamps:
            row = self.nodes.index(opamp.output)
            self.conductance[:, row, self.nodes.index(opamp.plus)] += 1
            self.conductance[:, row, self.nodes.index(opamp.minus)] -= 1

    def magnitude(self, omega):
        matrix = self.conductance + 1j * np.reshape(omega, (-1, 1, 1)) * self.capacitance
        return np.abs(np.linalg.solve(matrix, self.right)[:, self.nodes.index("output"), 0])


def by_bisection(stage, values, middle, around):
    """Return gain and cut-off of every board: the cut-off is bracketed five octaves wide and halved."""
    boards = StackedSolution(stage, values)
    gain = boards.magnitude(2 * math.pi * middle)
    low = np.full(len(gain), math.log(2 * math.pi * around / 5.66))
    high = low + 5 * math.log(2)
    for _ in range(BISECTIONS):
        centre = (low + high) / 2
        below = boards.magnitude(np.exp(centre)) < gain / math.sqrt(2)
        low, high = np.where(below, centre, low), np.where(below, high, centre)
    return gain, np.exp((low + high) / 2) / (2 * math.pi)


def magnitude_squared_by_hand(p, omega):
    """Return |H|^2 of the ideal stage as an engineer would type it, each term once."""
    s = 1j * omega
    share = p["r_bottom"] / (p["r_top"] + p["r_bottom"])
    thevenin = share * p["r_top"]
    below = p["r_bias"] + thevenin / (1 + s * (thevenin * p["c_bias"]))
    y = (s * p["c_in"]) / (1 + s * p["c_in"] * (p["r_source"] + below))
    leg = (s * p["c_g"]) / (1 + s * (p["r_g"] * p["c_g"]))
    gain = 1 + leg * p["r_f"] / (1 + s * (p["r_f"] * p["c_f"]))
    load = s * (p["c_out"] * p["r_load"])
    h = below * y * gain * load / (1 + load)
    return h.real**2 + h.imag**2


def by_closed_form(p, middle, around):
    """Return gain and cut-off by secant steps on the closed form, in logarithms."""
    gain = magnitude_squared_by_hand(p, 2 * math.pi * middle)
    x = np.full(len(gain), math.log(2 * math.pi * around))
    before = x - 0.01
    y_before = np.log(2 * magnitude_squared_by_hand(p, np.exp(before)) / gain)
    for _ in range(SECANT_STEPS):
        y = np.log(2 * magnitude_squared_by_hand(p, np.exp(x)) / gain)
        rise = np.where(y == y_before, 1.0, y - y_before)
        before, y_before, x = x, y, x - y * (x - before) / rise
    return np.sqrt(gain), np.exp(x) / (2 * math.pi)


def test_many_boards(ratio):
    stage = standard_stage(single_pole=False)
    nominal = stage.transfer("signal", "output")
    middle, around = nominal.midband.frequency, nominal.low_cutoff()
    many, few = spread(stage, BOARDS), spread(stage, FEW)

    figures = evaluate_boards(stage, few)
    for gain, cutoff in (by_bisection(stage, few, middle, around), by_closed_form(few, middle, around)):
        assert np.allclose(figures.midband_gain, gain, rtol=1e-4)  # they take it at one frequency for all
        assert np.allclose(figures.low_cutoff, cutoff, rtol=1e-4)

    ours, hand = best_times(
        lambda: evaluate_boards(stage, many), lambda: by_closed_form(many, middle, around), repetitions=5
    )
    (stacked,) = best_times(lambda: by_bisection(stage, few, middle, around), repetitions=2)
    per_board = (stacked / FEW) / (ours / BOARDS)
    text = f"stacked numpy.linalg.solve with bisection / 100,000 boards ({ours * 1e3:.0f} ms)"
    ratio(f"{text}, per board, measured on {FEW:,}", per_board, at_least=50)
    ratio("100,000 boards / closed form by hand with secant steps", ours / hand, at_most=3)
