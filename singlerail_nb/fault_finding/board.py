"""A stage as it lies on the bench: sound, or with something wrong in it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import cast

import numpy as np

from ..analysis.evaluation import Value
from ..analysis.limited_rest import LimitedRest, limited_rest
from ..analysis.output_load import midband_frequency, output_load
from ..analysis.stage import Stage
from ..analysis.startup import startup
from ..analysis.startup_run import Startup
from ..circuit.checks import check_circuit
from ..circuit.circuit import Circuit
from ..circuit.elements import GROUND, Part
from ..measurement.bench_network import BenchNetwork
from ..measurement.instruments import Instrument, loaded

SURFACE = 100e9
"""Leakage from a node that nothing holds over a clean board to ground, ohm (common practice, no
published source)."""

AMPLIFIER = "opamp"
"""Name of the op-amp on the signal path."""


@dataclass(frozen=True)
class Board(BenchNetwork):
    """A circuit with values, a rail and limits, good or bad.

    Attributes
    ----------
    load : float
        What the op-amp output of the sound stage drives, ohm; it decides the output range.
    spread : mapping of str to (float, float)
        Of parts that a fault brought along: lowest and highest value over the one assumed.
    """

    load: float = math.inf
    spread: Mapping[str, tuple[float, float]] = field(default_factory=dict)

    @classmethod
    def of(cls, stage: Stage) -> Board:
        """Return a sound stage as a board.

        Parameters
        ----------
        stage : Stage
            The stage.
        """
        values = {part.name: stage.values[part.name] for part in stage.circuit.parts}
        board = cls(stage.circuit, values, stage.opamp, stage.supply, stage.levels, _load(stage))
        return board.held(stage.circuit.nodes)

    @property
    def numbers(self) -> dict[str, Value]:
        """Everything that node voltages depend on: parts, op-amp parameters, rail and levels."""
        return {**self.parameters, "supply": self.supply, **self.levels}

    @property
    def loose_inputs(self) -> tuple[str, ...]:
        """Op-amp inputs that only the leakage of the board holds."""
        alone = self.circuit.opened(*(n for n in self.circuit.part_names if n.startswith("r_surface_")))
        loose = {finding.node for finding in check_circuit(alone)}
        pins = (pin for opamp in self.circuit.opamps for pin in (opamp.plus, opamp.minus))
        return tuple(dict.fromkeys(pin for pin in pins if pin in loose or pin not in (GROUND, *alone.nodes)))

    def changed(self, circuit: Circuit | None = None, **values: float) -> Board:
        """Return the board with another circuit or other values.

        Parameters
        ----------
        circuit : Circuit, optional
            The new circuit; its parts have values already or get one here.
        **values : float
            Ohm and farad.
        """
        found = self.circuit if circuit is None else circuit
        known = {**self.values, **values}
        kept = {part.name: known[part.name] for part in found.parts}
        return replace(self, circuit=found, values=kept)

    def held(self, nodes: tuple[str, ...]) -> Board:
        """Return the board with the surface leakage that holds whatever else hangs in the air.

        A node that only a one-way part holds hangs in the air when that part blocks.

        Parameters
        ----------
        nodes : tuple of str
            Nodes that must exist, also when a fault has taken their last part away.
        """
        gone = [node for node in nodes if not self.circuit.has_node(node)]
        one_way = [part.name for part in self.circuit.resistors if part.one_way]
        findings = [*check_circuit(self.circuit), *check_circuit(self.circuit.opened(*one_way))]
        loose = [finding.node for finding in findings if finding.kind != "shorted source"]
        parts = tuple(
            Part(f"r_surface_{node}", "resistor", (node, GROUND), "Leakage over the board")
            for node in dict.fromkeys([*gone, *loose])
        )
        circuit = replace(self.circuit, parts=(*self.circuit.parts, *parts))
        return self.changed(circuit, **{part.name: SURFACE for part in parts})

    def with_instrument(self, node: str, known: Instrument) -> Board:
        """Return the board with an instrument at a node; it shows the node ``probe``.

        Parameters
        ----------
        node : str
            Where.
        known : Instrument
            Which.

        Raises
        ------
        UnknownNameError
            If the board has no such node.
        """
        network = loaded(self, node, known)
        return replace(self, circuit=network.circuit, values=network.values)

    def output_limits(self, supply: Value | None = None) -> tuple[Value, Value]:
        """Return the lowest and highest output voltage of its op-amps, V.

        Parameters
        ----------
        supply : float or array, optional
            Of the rail, V; the board's own unless given.
        """
        rail = self.supply if supply is None else supply
        if self.opamp is None:
            return 0.0, rail
        low, high = self.opamp.output_range(0.0, self.load, linear=False)
        bottom = max(low, 0.0)
        return bottom, np.maximum(rail + high, bottom)

    def rest(self, **numbers: Value) -> LimitedRest:
        """Return where its nodes rest.

        Parameters
        ----------
        **numbers : float or array
            Numbers that differ from its own, among them ``bias_current`` and ``offset_voltage``.

        Raises
        ------
        CircuitError
            If no state of its op-amps gives a solution.
        """
        found = {**self.numbers, **numbers}
        return limited_rest(self.circuit, self.model, found, self.output_limits(found["supply"]))

    def waking(self) -> Startup:
        """Return its start-up after a step of the rail.

        Raises
        ------
        CircuitError
            If no state of its op-amps fits, or they never stop switching.
        """
        low, high = self.output_limits()
        # The start-up asks of a stage only what a network with levels has.
        return startup(cast("Stage", self), low=float(low), high=float(self.supply - high))


@lru_cache(maxsize=256)
def _load(stage: Stage) -> float:
    """Return what the op-amp output of a sound stage drives, ohm."""
    return math.inf if stage.opamp is None else abs(output_load(stage, midband_frequency(stage)))
