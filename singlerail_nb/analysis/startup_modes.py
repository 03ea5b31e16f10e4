"""Which mode a stage is in: the one whose conditions hold, now and a moment later."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import product
from typing import Literal

import numpy as np

from ..errors import CircuitError
from .startup_segments import Outputs
from .state_equations import Floats, StateEquations
from .state_space import Mode, OutputState, StateSpace

Terms = tuple[tuple[int, float], ...]
Row = tuple[Terms, Terms, Terms]
"""A sum of node voltages, of inputs and of rates of inputs: (index, factor) each."""

_ROUNDING = 1e-9
_STATES: tuple[OutputState, ...] = ("loop", "low", "high")


@dataclass(frozen=True)
class Saturation:
    """A time during which an op-amp output sat at a limit.

    Attributes
    ----------
    opamp : str
        Name of the op-amp.
    side : "low" or "high"
        Which limit.
    start, end : float
        s; infinite if it never ends.
    """

    opamp: str
    side: Literal["low", "high"]
    start: float
    end: float


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
        self.tolerance = 1e-9 * max(volts, 1e-3)
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
        sizes = zip(equations.sizes, (x, w, slope), strict=True)
        largest = sum(matrix @ np.abs(vector) for matrix, vector in sizes)
        size = np.abs(guards.c) @ largest + np.abs(guards.d) @ np.abs(slope)
        # Falling so slowly that nothing in this mode would notice is not falling: a guard that dies
        # away to zero stays there.
        slow = self.tolerance * equations.speeds[1]
        return bool(np.all(rates[at_zero] >= -np.maximum(_ROUNDING * size[at_zero], slow)))

    def _guards(self, mode: Mode) -> Outputs:
        """Return what must stay at or above zero in a mode, in volts."""
        rows = [*self._output_guards(mode), *self._one_way_guards(mode)]
        nodes, inputs, slopes = (np.zeros((len(rows), n)) for n in self._sizes)
        for i, row in enumerate(rows):
            for matrix, terms in zip((nodes, inputs, slopes), row, strict=True):
                for column, value in terms:
                    matrix[i, column] += value
        equations = self.space.equations(mode)
        if equations is None:
            raise CircuitError(
                "mode", str(mode), allowed="a mode with a solution", remedy="Ask for its equations first."
            )
        return Outputs(nodes @ equations.C, nodes @ equations.D + inputs, nodes @ equations.F + slopes)

    @property
    def _sizes(self) -> tuple[int, int, int]:
        inputs = len(self.space.inputs)
        return len(self.space.nodes), inputs, inputs

    def _output_guards(self, mode: Mode) -> Iterator[Row]:
        """Yield the conditions of each op-amp: inside its limits, or pressed against one."""
        at, limit = self.space.index, self.space.limit
        for opamp, state in zip(self.space.circuit.opamps, mode.outputs, strict=True):
            output = at[opamp.output]
            if state == "loop":
                yield ((output, 1.0),), ((limit("low"), -1.0),), ()
                yield ((output, -1.0),), ((limit("high"), 1.0),), ()
                continue
            sign = 1.0 if state == "high" else -1.0
            pressed = [(at[opamp.plus], sign), (at[opamp.minus], -sign)]
            if not self.space.single_pole:
                yield tuple(pressed), (), ()
                continue
            # The output would move on by itself, faster than its limit does.
            numbers = self.space.stage.parameters
            pressed.append((output, -sign * numbers[opamp.inverse_gain]))
            yield tuple(pressed), (), ((limit(state), -sign * numbers[opamp.unity_time]),)

    def _one_way_guards(self, mode: Mode) -> Iterator[Row]:
        """Yield the conditions of each one-way part: forward if it conducts, reverse if not."""
        for part, conducts in zip(self.space.one_way, mode.conducting, strict=True):
            sign = 1.0 if conducts else -1.0
            a, b = (self.space.index[node] for node in part.nodes)
            yield ((a, sign), (b, -sign)), (), ()


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
