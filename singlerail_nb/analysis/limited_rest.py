"""Where a circuit rests when its op-amps can do no more than their output range.

The loop of a sound stage fixes its resting voltages; `operating_point` reads them.  In a broken one
the loop may ask for a voltage that no output can give, or be cut.  Then the output sits at a limit,
and everything that hangs on it follows.  Each op-amp obeys its loop or sits at a limit that its
inputs press it against, and each one-way part conducts or not; the state that fits is found for
many boards at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from ..circuit.circuit import Circuit
from ..circuit.elements import GROUND
from ..circuit.loop import drive_name, driven_at_output
from ..circuit.network_functions import transfer_function
from ..circuit.nodal_analysis import Excitation, Injection, InputError, OpAmpModel
from ..errors import CircuitError
from .evaluation import Value, compiled

BIAS_CURRENT, OFFSET = "bias_current", "offset_voltage"
"""Numbers beside parts and levels: current into each input pin, A; voltage in series with each + input, V."""

State = tuple[str, ...]
"""Per op-amp "loop", "low" or "high"; then per one-way part "on" or "off"."""

Volts = np.ndarray[Any, np.dtype[np.float64]]
_ROUNDING = 1e-9


@dataclass(frozen=True)
class LimitedRest:
    """Resting voltages of one or many boards with the same circuit.

    Attributes
    ----------
    circuit : Circuit
        The circuit.
    model : "ideal" or "single_pole"
        How its op-amps behave inside their limits.
    numbers : mapping of str to float or array
        Parts in ohm and farad, op-amp parameters, ``supply`` and other levels in V; arrays have the
        shape (boards,).
    limits : (array, array)
        Lowest and highest output voltage, V, each of shape (boards,).
    states : tuple of State
        One per board.
    """

    circuit: Circuit
    model: OpAmpModel
    numbers: Mapping[str, Value]
    limits: tuple[Volts, Volts]
    states: tuple[State, ...]

    def voltage(self, node: str) -> Volts:
        """Return where a node rests on each board, V, shape (boards,).

        A node that no resistor holds ends between ground and the highest level.

        Parameters
        ----------
        node : str
            A node of the circuit.

        Raises
        ------
        UnknownNameError
            If the circuit has no such node.
        """
        found = np.empty(len(self.states))
        for state in dict.fromkeys(self.states):
            here = np.array([other == state for other in self.states])
            found[here] = _voltage(self, state, node)[here]
        top = np.max([np.max(self.numbers[s.name]) for s in self.circuit.sources if s.name in self.numbers])
        return np.clip(found, 0.0, top)

    def asked(self, opamp: str, node: str | None = None) -> Volts | None:
        """Return the output voltage that the loop of an op-amp asks for, V; None where there is no loop.

        Parameters
        ----------
        opamp : str
            Name of the op-amp.
        node : str, optional
            Another node, as it would rest if the output gave that voltage.

        Raises
        ------
        UnknownNameError
            If there is no such op-amp.
        """
        wanted = self.circuit.opamp(opamp).output if node is None else node
        place = [pins.name for pins in self.circuit.opamps].index(opamp)
        first = self.states[0]
        try:
            return _voltage(self, (*first[:place], "loop", *first[place + 1 :]), wanted)
        except CircuitError:
            return None


def limited_rest(
    circuit: Circuit, model: OpAmpModel, numbers: Mapping[str, Value], limits: tuple[Value, Value]
) -> LimitedRest:
    """Return where a circuit rests, on one board or on many.

    Parameters
    ----------
    circuit : Circuit
        Circuit in which every node has some path for direct current.
    model : "ideal" or "single_pole"
        The op-amp model.
    numbers : mapping of str to float or array, shape (boards,)
        SI units: every part, the op-amp parameters, every source with a level; ``bias_current``
        and ``offset_voltage`` if they count.  A source without a number is at 0 V.
    limits : (float or array, float or array)
        Lowest and highest output voltage of every op-amp, V.

    Raises
    ------
    CircuitError
        If no state of the op-amps gives a solution.
    """
    size = max((np.size(value) for value in (*numbers.values(), *limits)), default=1)
    low, high = (np.broadcast_to(np.asarray(end, dtype=np.float64), size) for end in limits)
    start = _solvable(circuit, model)
    rest = LimitedRest(circuit, model, numbers, (low, high), (start,) * size)
    for _ in range(2 * len(start) + 1):
        states = _next_states(rest)
        if states == rest.states:
            break
        rest = LimitedRest(circuit, model, numbers, (low, high), states)
    return rest


def _solvable(circuit: Circuit, model: OpAmpModel) -> State:
    """Return the state to start from: every loop that exists is closed, every one-way part conducts."""
    one_way = tuple("on" for part in circuit.resistors if part.one_way)
    outputs = ["loop"] * len(circuit.opamps)
    for i in range(len(outputs) + 1):
        try:
            transfer_function(_at_rest(circuit, (*outputs, *one_way)), "supply", "supply", model)
        except CircuitError:
            if i == len(outputs):
                raise
            outputs[i] = "high"
            continue
        return (*outputs, *one_way)
    return (*outputs, *one_way)


@lru_cache(maxsize=512)
def circuit_in(circuit: Circuit, state: State) -> Circuit:
    """Return the circuit in a state: outputs at a limit are driven, parts that block are taken out.

    Parameters
    ----------
    circuit : Circuit
        The circuit.
    state : State
        Its state.
    """
    one_way = [part.name for part in circuit.resistors if part.one_way]
    outputs, conducting = state[: len(circuit.opamps)], state[len(circuit.opamps) :]
    result = circuit.opened(*(n for n, how in zip(one_way, conducting, strict=True) if how == "off"))
    for pins, how in zip(circuit.opamps, outputs, strict=True):
        if how != "loop":
            result = driven_at_output(result, pins.name)
    return result


@lru_cache(maxsize=512)
def _at_rest(circuit: Circuit, state: State) -> Circuit:
    """Return the circuit in a state without its capacitors, which carry no current at rest."""
    found = circuit_in(circuit, state)
    return found.opened(*(part.name for part in found.capacitors))


def _voltage(rest: LimitedRest, state: State, node: str) -> Volts:
    """Return a node voltage in a given state on all boards, V."""
    total: Value = 0.0
    if node != GROUND:
        circuit = _at_rest(rest.circuit, state)
        found = [
            (transfer_function(circuit, excitation, node, rest.model), amount)
            for excitation, amount in _excitations(rest, state)
        ]
        working = [(function, amount) for function, amount in found if function.numerator]
        halves = compiled(*(function for function, _ in working))(rest.numbers) if working else ()
        for (_, amount), top, bottom in zip(working, halves[::2], halves[1::2], strict=True):
            total = total + amount * top[0] / bottom[0]
    return np.broadcast_to(np.asarray(total, dtype=np.float64), len(rest.states))


def _excitations(rest: LimitedRest, state: State) -> Iterator[tuple[Excitation, Value]]:
    for source in rest.circuit.sources:
        if source.name in rest.numbers:
            yield source.name, rest.numbers[source.name]
    current, offset = rest.numbers.get(BIAS_CURRENT, 0.0), rest.numbers.get(OFFSET, 0.0)
    for pins, how in zip(rest.circuit.opamps, state, strict=False):
        if how != "loop":
            yield drive_name(pins.name), rest.limits[0 if how == "low" else 1]
        elif np.any(offset):
            yield InputError(pins.name), offset
        if np.any(current):
            yield Injection(pins.plus), -current
            yield Injection(pins.minus), -current


def _next_states(rest: LimitedRest) -> tuple[State, ...]:
    """Return the states with the first thing mended that does not fit on each board."""
    found = list(rest.states)
    for state in dict.fromkeys(rest.states):
        here = [i for i, other in enumerate(rest.states) if other == state]
        for place, misfit in enumerate(_misfits(rest, state)):
            for i in here:
                if found[i] == state and misfit[i] != state[place]:
                    found[i] = (*state[:place], str(misfit[i]), *state[place + 1 :])
    return tuple(found)


def _misfits(rest: LimitedRest, state: State) -> Iterator[Any]:
    """Yield for each op-amp and one-way part what it would rather do, as an array of words."""
    slack = _ROUNDING * np.max(rest.numbers["supply"])
    low, high = rest.limits
    for pins, how in zip(rest.circuit.opamps, state, strict=False):
        if how == "loop":
            out = _voltage(rest, state, pins.output)
            yield np.where(out > high + slack, "high", np.where(out < low - slack, "low", "loop"))
            continue
        press = _voltage(rest, state, pins.plus) - _voltage(rest, state, pins.minus)
        press = press + rest.numbers.get(OFFSET, 0.0)
        away = press < -slack if how == "high" else press > slack
        yield np.where(away, _when_released(rest, state, pins.name), how)
    one_way = [part for part in rest.circuit.resistors if part.one_way]
    for part, how in zip(one_way, state[len(rest.circuit.opamps) :], strict=True):
        across = _voltage(rest, state, part.nodes[0]) - _voltage(rest, state, part.nodes[1])
        fits = across >= -slack if how == "on" else across <= slack
        yield np.where(fits, how, "off" if how == "on" else "on")


def _when_released(rest: LimitedRest, state: State, opamp: str) -> str:
    """Return where an output goes that nothing presses against its limit: its loop, or the other limit."""
    place = [pins.name for pins in rest.circuit.opamps].index(opamp)
    try:
        looped = _at_rest(rest.circuit, (*state[:place], "loop", *state[place + 1 :]))
        transfer_function(looped, "supply", "supply", rest.model)
    except CircuitError:
        return "low" if state[place] == "high" else "high"
    return "loop"
