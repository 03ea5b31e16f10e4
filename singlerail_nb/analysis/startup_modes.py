"""Which mode a stage is in: the one whose conditions hold, now and a moment later."""

from __future__ import annotations

from functools import cache
from itertools import product

import numpy as np

from ..errors import CircuitError
from .startup_segments import Outputs
from .state_equations import Floats, StateEquations
from .state_space import HIGH, LOW, Mode, OutputState, StateSpace

_ROUNDING = 1e-12
_STATES: tuple[OutputState, ...] = ("loop", "low", "high")


class ModeChooser:
    """Finds the mode of a stage from its capacitor voltages and inputs.

    Parameters
    ----------
    space : StateSpace
        The stage.
    volts : float
        Highest rail, V: the scale of rounding.
    """

    def __init__(self, space: StateSpace, volts: float) -> None:
        self.space = space
        self.tolerance = 1e-11 * max(volts, 1e-3)
        self.guards = cache(self._guards)
        outputs = product(_STATES, repeat=len(space.circuit.opamps))
        conducting = list(product((True, False), repeat=len(space.one_way)))
        self._modes = [Mode(o, c) for o in outputs for c in conducting]

    def choose(self, last: Mode | None, x: Floats, w: Floats, slope: Floats, *, leave: bool) -> Mode:
        """Return the mode that holds from now on.

        Parameters
        ----------
        last : Mode or None
            The mode so far; changes are kept few.
        x, w, slope : ndarray
            States, inputs and the rate of change of the inputs.
        leave : bool
            True if the last mode has just ended.

        Raises
        ------
        CircuitError
            If no mode fits.
        """
        ordered = sorted(self._modes, key=lambda mode: _changes(mode, last))
        for mode in ordered:
            if not (leave and mode == last) and self._holds(mode, x, w, slope):
                return mode
        if leave and last is not None and self._holds(last, x, w, slope):
            return last
        raise CircuitError(
            f"{self.space.circuit.name} stage, start-up",
            "no state of its op-amps fits",
            allowed="a circuit in which each op-amp either obeys its loop or rests at a limit",
            remedy="Look for positive feedback around an op-amp, or give it a gain-bandwidth product.",
        )

    def _holds(self, mode: Mode, x: Floats, w: Floats, slope: Floats) -> bool:
        equations = self.space.equations(mode)
        if equations is None:
            return False
        guards = self.guards(mode)
        x = equations.entered(x, w)
        values = guards.at(x, w, slope)
        if np.any(values < -self.tolerance):
            return False
        at_zero = values <= self.tolerance
        if not at_zero.any():
            return True
        rate = equations.A @ x + equations.B @ w + equations.E @ slope
        rates = guards.c @ rate + guards.d @ slope
        terms = ((equations.A, x), (equations.B, w), (equations.E, slope))
        largest = sum(np.abs(matrix) @ np.abs(vector) for matrix, vector in terms)
        size = np.abs(guards.c) @ largest + np.abs(guards.d) @ np.abs(slope)
        return bool(np.all(rates[at_zero] >= -_ROUNDING * size[at_zero]))

    def _guards(self, mode: Mode) -> Outputs:
        """Return what must stay at or above zero in a mode, in volts."""
        equations = self.space.equations(mode)
        if equations is None:
            raise CircuitError(
                "mode", str(mode), allowed="a mode with a solution", remedy="Ask for its equations first."
            )
        rows: list[Outputs] = []
        for opamp, state in zip(self.space.circuit.opamps, mode.outputs, strict=True):
            if state == "loop":
                rows += self._inside_limits(equations, opamp.output)
            else:
                rows.append(self._pressed(equations, opamp.name, state))
        for part, conducts in zip(self.space.one_way, mode.conducting, strict=True):
            forward = _difference(self.space, equations, part.nodes[0], part.nodes[1])
            rows.append(forward if conducts else _negative(forward))
        if not rows:
            return Outputs(*(np.zeros((0, m.shape[1])) for m in (equations.C, equations.D, equations.F)))
        return Outputs(*(np.vstack(parts) for parts in zip(*((r.c, r.d, r.f) for r in rows), strict=True)))

    def _inside_limits(self, equations: StateEquations, node: str) -> list[Outputs]:
        output = node_voltage(self.space, equations, node)
        below, above = output.d.copy(), -output.d
        below[0, self.space.inputs.index(LOW)] -= 1.0
        above[0, self.space.inputs.index(HIGH)] += 1.0
        return [Outputs(output.c, below, output.f), Outputs(-output.c, above, -output.f)]

    def _pressed(self, equations: StateEquations, name: str, state: OutputState) -> Outputs:
        """Return by how much the input difference presses the output against its limit."""
        opamp = self.space.circuit.opamp(name)
        pressed = _difference(self.space, equations, opamp.plus, opamp.minus)
        if self.space.single_pole:
            numbers = self.space.stage.parameters
            output = node_voltage(self.space, equations, opamp.output)
            gain = numbers[opamp.inverse_gain]
            following = pressed.f - gain * output.f
            following[0, self.space.limit(state)] -= numbers[opamp.unity_time]
            pressed = Outputs(pressed.c - gain * output.c, pressed.d - gain * output.d, following)
        return pressed if state == "high" else _negative(pressed)


def _changes(mode: Mode, last: Mode | None) -> int:
    if last is None:
        return sum(state != "loop" for state in mode.outputs)
    before, after = (*last.outputs, *last.conducting), (*mode.outputs, *mode.conducting)
    return sum(a != b for a, b in zip(before, after, strict=True))


def node_voltage(space: StateSpace, equations: StateEquations, node: str) -> Outputs:
    """Return a node voltage as a function of states and inputs.

    Parameters
    ----------
    space : StateSpace
        The stage.
    equations : StateEquations
        Of the mode.
    node : str
        Node of the circuit, ground included.
    """
    row = slice(space.index[node], space.index[node] + 1)
    return Outputs(equations.C[row], equations.D[row], equations.F[row])


def _difference(space: StateSpace, equations: StateEquations, one: str, other: str) -> Outputs:
    a, b = node_voltage(space, equations, one), node_voltage(space, equations, other)
    return Outputs(a.c - b.c, a.d - b.d, a.f - b.f)


def _negative(outputs: Outputs) -> Outputs:
    return Outputs(-outputs.c, -outputs.d, -outputs.f)
