"""A stage as linear state equations, one set for each way its op-amps and one-way parts can be.

The states are the capacitor voltages (and, with a single-pole op-amp, its output).  For a fixed
mode the resistive network around them is solved once: capacitors enter as voltage sources, so
their currents, and with them all derivatives, follow from states and inputs.

Where capacitors and constraints form a loop (a capacitor from an op-amp output to ground, two
capacitors tied by an ideal op-amp) the states are not free.  The left null space of the equations
then holds the constraints and the right null space the loop currents: differentiated once, the
constraints fix these currents, and a mismatch on entering the mode is removed by the charge that
flows around the loops.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np

from ..circuit.elements import GROUND, Part
from .stage import Stage
from .state_equations import RANK, Floats, NullSpaces, StateEquations

OutputState = Literal["loop", "low", "high"]

LOW, HIGH = "lower limit", "upper limit"
"""Inputs beside the sources: the two limits of every op-amp output, V."""


class Mode(NamedTuple):
    """What each op-amp output and each one-way part does.

    Attributes
    ----------
    outputs : tuple of "loop", "low" or "high"
        Per op-amp: it obeys its loop, or sits at a limit.
    conducting : tuple of bool
        Per one-way part.
    """

    outputs: tuple[OutputState, ...]
    conducting: tuple[bool, ...]


class StateSpace:
    """The state equations of a stage, made on demand for each mode.

    Parameters
    ----------
    stage : Stage
        The stage.
    """

    def __init__(self, stage: Stage) -> None:
        self.stage = stage
        circuit = stage.circuit
        self.circuit = circuit
        self.nodes = (*circuit.nodes, GROUND)
        self.index = {node: i for i, node in enumerate(self.nodes)}
        self.source_names = tuple(source.name for source in circuit.sources)
        self.inputs = (*self.source_names, LOW, HIGH)
        self.capacitors = circuit.capacitors
        self.capacitances = np.array([stage.values[part.name] for part in self.capacitors])
        self.one_way = tuple(part for part in circuit.resistors if part.one_way)
        self.single_pole = stage.opamp is not None
        self.states = tuple(part.name for part in self.capacitors)
        if self.single_pole:
            self.states += tuple(opamp.name for opamp in circuit.opamps)
        self._unknown = [node for node in circuit.nodes if node not in self.source_names]
        self._column = {node: i for i, node in enumerate(self._unknown)}
        self._known: dict[Mode, StateEquations | None] = {}
        self._conductances = self._stamped()
        # One scale for voltages and currents keeps the equations well balanced.
        self._scale = float(np.exp(np.mean(np.log([1 / stage.values[p.name] for p in circuit.resistors]))))

    def equations(self, mode: Mode) -> StateEquations | None:
        """Return the equations of a mode; None if it leaves a voltage undefined.

        Parameters
        ----------
        mode : Mode
            What the op-amp outputs and one-way parts do.
        """
        if mode not in self._known:
            self._known[mode] = self._made(mode)
        return self._known[mode]

    def _stamped(self) -> Floats:
        """Return the conductance matrix over all nodes, one-way parts left out."""
        matrix = np.zeros((len(self.nodes), len(self.nodes)))
        for part in self.circuit.resistors:
            if not part.one_way:
                self._stamp(matrix, part)
        return matrix

    def _stamp(self, matrix: Floats, part: Part) -> None:
        a, b = (self.index[node] for node in part.nodes)
        conductance = 1.0 / self.stage.values[part.name]
        matrix[a, a] += conductance
        matrix[b, b] += conductance
        matrix[a, b] -= conductance
        matrix[b, a] -= conductance

    def _made(self, mode: Mode) -> StateEquations | None:
        matrix, from_x, from_w = self._network(mode)
        return self._eliminated(mode, NullSpaces.of(matrix), from_x, from_w)

    def _network(self, mode: Mode) -> tuple[Floats, Floats, Floats]:
        """Return M, X, W of ``M z = X x + W w``; z: node voltages, then scaled capacitor currents."""
        size, own = len(self._unknown), len(self.capacitors)
        matrix = np.zeros((size + own, size + own))
        from_x = np.zeros((size + own, len(self.states)))
        from_w = np.zeros((size + own, len(self.inputs)))
        conductances = self._conductances.copy()
        for part, conducts in zip(self.one_way, mode.conducting, strict=True):
            if conducts:
                self._stamp(conductances, part)
        rows = [self.index[node] for node in self._unknown]
        known = [self.index[node] for node in self.source_names]
        matrix[:size, :size] = conductances[np.ix_(rows, rows)] / self._scale
        from_w[:size, : len(known)] = -conductances[np.ix_(rows, known)] / self._scale
        for k, part in enumerate(self.capacitors):
            for node, sign in zip(part.nodes, (1.0, -1.0), strict=True):
                if node in self._column:
                    matrix[self._column[node], size + k] += sign
            self._voltage_row(matrix, from_w, size + k, {part.nodes[0]: 1.0, part.nodes[1]: -1.0})
            from_x[size + k, k] = 1.0
        for i, opamp in enumerate(self.circuit.opamps):
            self._output_row(mode.outputs[i], i, self._column[opamp.output], matrix, from_x, from_w)
        return matrix, from_x, from_w

    def _voltage_row(self, matrix: Floats, from_w: Floats, row: int, terms: dict[str, float]) -> None:
        """Write a sum of node voltages into a row; sources go to the right side."""
        for node, sign in terms.items():
            if node in self._column:
                matrix[row, self._column[node]] += sign
            elif node != GROUND:
                from_w[row, self.source_names.index(node)] -= sign

    def _output_row(
        self, state: OutputState, i: int, row: int, matrix: Floats, from_x: Floats, from_w: Floats
    ) -> None:
        """Replace the current balance of an op-amp output by what drives it."""
        opamp = self.circuit.opamps[i]
        matrix[row] = from_w[row] = from_x[row] = 0.0
        if state != "loop":
            self._voltage_row(matrix, from_w, row, {opamp.output: 1.0})
            from_w[row, self.limit(state)] = 1.0
        elif self.single_pole:
            self._voltage_row(matrix, from_w, row, {opamp.output: 1.0})
            from_x[row, len(self.capacitors) + i] = 1.0
        elif opamp.plus != opamp.minus:
            self._voltage_row(matrix, from_w, row, {opamp.plus: 1.0, opamp.minus: -1.0})

    def _eliminated(
        self, mode: Mode, null: NullSpaces, from_x: Floats, from_w: Floats
    ) -> StateEquations | None:
        size = len(self._unknown)
        rate_z, rate_x, rate_w, rate_dw = self._rates(mode)
        constraint_x, constraint_w = null.left.T @ from_x, -null.left.T @ from_w
        charges = rate_z @ null.right
        z_x, z_w, z_dw = null.inverse @ from_x, null.inverse @ from_w, np.zeros_like(from_w)
        if len(constraint_x):
            if not _independent(constraint_x, charges):
                return None
            # The constraints hold on, so their rates of change fix what the equations left open.
            turn = null.right @ np.linalg.inv(constraint_x @ charges)
            z_x = z_x - turn @ (constraint_x @ (rate_z @ z_x + rate_x))
            z_w = z_w - turn @ (constraint_x @ (rate_z @ z_w + rate_w))
            z_dw = turn @ (constraint_w - constraint_x @ rate_dw)
        A, B, E = rate_z @ z_x + rate_x, rate_z @ z_w + rate_w, rate_z @ z_dw + rate_dw
        C, D, F = (self._all_nodes(z[:size]) for z in (z_x, z_w, z_dw))
        for k, name in enumerate(self.source_names):
            D[self.index[name], k] = 1.0
        return StateEquations(A, B, E, C, D, F, constraint_x, constraint_w, charges, self._held(mode))

    def _rates(self, mode: Mode) -> tuple[Floats, Floats, Floats, Floats]:
        """Return the rates of change of the states from z, x, w and dw/dt."""
        states, inputs = len(self.states), len(self.inputs)
        size, own = len(self._unknown), len(self.capacitors)
        rate_z, rate_x = np.zeros((states, size + own)), np.zeros((states, states))
        rate_w, rate_dw = np.zeros((states, inputs)), np.zeros((states, inputs))
        rate_z[range(own), range(size, size + own)] = self._scale / self.capacitances
        for row, opamp, state in zip(range(own, states), self.circuit.opamps, mode.outputs, strict=False):
            if state != "loop":  # the output follows its limit
                rate_dw[row, self.limit(state)] = 1.0
                continue
            speed = 1.0 / self.stage.parameters[opamp.unity_time]
            rate_x[row, row] = -speed * self.stage.parameters[opamp.inverse_gain]
            for node, factor in ((opamp.plus, speed), (opamp.minus, -speed)):
                if node in self._column:
                    rate_z[row, self._column[node]] += factor
                elif node != GROUND:
                    rate_w[row, self.source_names.index(node)] += factor
        return rate_z, rate_x, rate_w, rate_dw

    def limit(self, state: OutputState) -> int:
        """Return which input is the limit that an output sits at.

        Parameters
        ----------
        state : "low" or "high"
            Where it sits.
        """
        return self.inputs.index(LOW if state == "low" else HIGH)

    def inside_limits(self, x: Floats, w: Floats) -> Floats:
        """Return the states with every single-pole output brought inside its limits.

        Parameters
        ----------
        x : ndarray, shape (states,)
            States; a step of the rail may have moved the limits past an output.
        w : ndarray, shape (inputs,)
            Inputs.
        """
        first = len(self.capacitors)
        if first == len(self.states):
            return x
        low, high = w[self.limit("low")], w[self.limit("high")]
        return np.concatenate([x[:first], np.clip(x[first:], low, high)])

    def _held(self, mode: Mode) -> tuple[tuple[int, int], ...]:
        """Return the single-pole outputs that sit at a limit: (state, input)."""
        first = len(self.capacitors)
        states = enumerate(mode.outputs, first) if self.single_pole else ()
        return tuple((row, self.limit(state)) for row, state in states if state != "loop")

    def _all_nodes(self, solved: Floats) -> Floats:
        full = np.zeros((len(self.nodes), solved.shape[1]))
        full[[self.index[node] for node in self._unknown]] = solved
        return full


def _independent(constraints: Floats, charges: Floats) -> bool:
    """Tell whether charges around the loops can satisfy the constraints, in just one way."""
    largest = np.abs(charges).max(axis=0)
    if np.linalg.matrix_rank(constraints, tol=RANK) < len(constraints) or not largest.all():
        return False
    return bool(np.linalg.matrix_rank(constraints @ (charges / largest), tol=RANK) == len(constraints))
