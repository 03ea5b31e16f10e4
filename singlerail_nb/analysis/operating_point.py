"""Where the nodes rest when there is no signal, and what moves them from there."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from ..circuit.elements import GROUND
from ..circuit.opamp import REFERENCE_TEMPERATURE
from ..circuit.opamp_figures import Spread
from ..errors import QuantityError
from ..quantities import QuantityLike, read_quantity, read_temperature, write_quantity
from ..quantities.tables import markdown_table, text_table
from .dc_errors import DcSource, leakage_errors, leakage_table, opamp_errors
from .network import require_stage
from .stage import Stage

_SLACK = 1e-9
"""Rounding that does not count as beyond the rail, relative to the rail."""


@dataclass(frozen=True, slots=True)
class CapacitorState:
    """What rests on a capacitor.

    Attributes
    ----------
    name : str
        Its name.
    plus_node, minus_node : str
        Its nodes as drawn: a polarised part has its + at ``plus_node``.
    voltage : float
        ``plus_node`` to ``minus_node``, V; not a number if a node drifts.
    """

    name: str
    plus_node: str
    minus_node: str
    voltage: float

    @property
    def is_reversed(self) -> bool:
        """True if a polarised part, as drawn, would sit the wrong way round."""
        return self.voltage < 0


@dataclass(frozen=True)
class OperatingPoint:
    """Resting voltages of an idle stage whose op-amp obeys its loop.

    Attributes
    ----------
    stage : Stage
        The stage.
    voltages : dict of str to float
        Node -> voltage to ground without DC errors, V.  A node without a DC path has no entry.
    sources : tuple of DcSource
        Causes of DC errors.
    spread : "typical" or "worst"
        Which data-sheet figures they come from.
    """

    stage: Stage
    voltages: dict[str, float]
    sources: tuple[DcSource, ...] = ()
    spread: Spread = "typical"

    def __repr__(self) -> str:
        return "\n\n".join([self._headline, text_table(*self._table), *self._note])

    def _repr_markdown_(self) -> str:
        return "\n\n".join([f"**{self._headline}**", markdown_table(*self._table), *self._note])

    @property
    def _headline(self) -> str:
        return f"{self.stage.title} on {write_quantity(self.stage.supply, 'V')} at rest"

    @property
    def _table(self) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
        """Header, and a row for each node; with DC errors also how far they move it."""
        header = ("node", "rests at", f"with {self.spread} DC errors")[: 3 if self.sources else 2]
        nodes = [node for node in self.stage.circuit.nodes if node != GROUND]
        return header, [(node, *self._cells(node)[: len(header) - 1]) for node in nodes]

    def _cells(self, node: str) -> tuple[str, str]:
        """Return the resting voltage of a node, and its range, in words."""
        if node not in self.voltages:
            return "drifts: no DC path", ""
        low, high = (write_quantity(volts, "V") for volts in self.voltage_range(node))
        return write_quantity(self.voltages[node], "V"), low if low == high else f"{low} to {high}"

    @property
    def _note(self) -> list[str]:
        """What to say of op-amps that cannot give what their loop asks for."""
        outputs = {pins.output for pins in self.stage.circuit.opamps}
        asked = {node: self.voltages[node] for node in outputs if node in self.voltages}
        slack = _SLACK * self.stage.supply
        beyond = sorted(n for n, v in asked.items() if not -slack <= v <= self.stage.supply + slack)
        if not beyond:
            return []
        where = "the output rests against the rail, and the nodes that follow it rest elsewhere"
        return [f"The rail cannot give {' and '.join(beyond)} that voltage: {where}."]

    def voltage(self, node: str) -> float:
        """Return the resting voltage of a node without DC errors, V.

        A value outside the rail means that the real output rests against that rail.

        Parameters
        ----------
        node : str
            A node name.

        Raises
        ------
        UnknownNameError
            If the node does not exist.
        QuantityError
            If nothing fixes the voltage of the node.
        """
        name = self.stage.circuit.node(node)
        if name not in self.voltages:
            raise QuantityError(
                f"resting voltage of {node}",
                "undefined",
                allowed="a node with a DC path",
                remedy="Give the node a resistor to the mid-rail bias node; without it the node drifts.",
            )
        return self.voltages[name]

    def errors(self, node: str) -> dict[str, float]:
        """Return how far each cause moves a node, V; of those without a known sign, one direction.

        Parameters
        ----------
        node : str
            A node name.

        Raises
        ------
        UnknownNameError
            If the node does not exist.
        QuantityError
            If nothing fixes the voltage of the node.
        """
        self.voltage(node)
        name = self.stage.circuit.node(node)
        return {source.name: self._error(source, name) for source in self.sources}

    def _error(self, source: DcSource, node: str) -> float:
        if node == GROUND:
            return 0.0
        terms = ((self.stage.transfer(e, node), amount) for e, amount in source.terms if amount)
        return float(sum(transfer(0.0).real * amount for transfer, amount in terms))

    def voltage_range(self, node: str) -> tuple[float, float]:
        """Return the lowest and highest resting voltage of a node with all errors, V.

        Errors of known sign add up; those of unknown sign count in both directions.

        Parameters
        ----------
        node : str
            A node name.

        Raises
        ------
        UnknownNameError
            If the node does not exist.
        QuantityError
            If nothing fixes the voltage of the node.
        """
        errors = self.errors(node)
        known = sum(errors[source.name] for source in self.sources if source.sign_known)
        either = sum(abs(errors[source.name]) for source in self.sources if not source.sign_known)
        middle = self.voltage(node) + known
        return middle - either, middle + either

    @cached_property
    def capacitors(self) -> tuple[CapacitorState, ...]:
        """DC voltage and polarity of every capacitor."""
        return tuple(
            CapacitorState(part.name, *part.nodes, self._across(*part.nodes))
            for part in self.stage.circuit.capacitors
        )

    def _across(self, one: str, other: str) -> float:
        return self.voltages.get(one, math.nan) - self.voltages.get(other, math.nan)

    @cached_property
    def supply_current(self) -> float:
        """Current from the rail at rest, A: resistors at the rail, the op-amps, and what these source.

        With the typical or worst quiescent current, as the figures of this operating point.
        """
        stage = self.stage
        total = self._current_out_of("supply")
        for pins in stage.circuit.opamps:
            if stage.opamp is not None:
                total += stage.opamp.figure("quiescent_current", self.spread)
            total += max(0.0, self._current_out_of(pins.output))
        regulated = [s.name for s in stage.circuit.sources if s.kind == "regulated"]
        return total + sum(max(0.0, self._current_out_of(name)) for name in regulated)

    def _current_out_of(self, node: str) -> float:
        """Return the DC current that leaves a node through its resistors, A; a drifting node takes none."""
        total = 0.0
        for part in self.stage.circuit.resistors:
            if node in part.nodes and part.nodes[0] != part.nodes[1]:
                other = part.nodes[1] if part.nodes[0] == node else part.nodes[0]
                drop = self._across(node, other)
                total += 0.0 if math.isnan(drop) else drop / self.stage.parameters[part.name]
        return total

    def battery_life(self, capacity: float) -> float:
        """Return how long a battery lasts at rest, hours.

        Parameters
        ----------
        capacity : float
            Ampere-hours.

        Raises
        ------
        QuantityError
            If the capacity is not positive.
        """
        if not capacity > 0:
            raise QuantityError(
                "capacity", capacity, allowed="> 0 A h", remedy="Give ampere-hours: 500 mA h is 0.5."
            )
        return capacity / self.supply_current if self.supply_current > 0 else math.inf


def operating_point(
    stage: Stage,
    *,
    spread: Spread = "typical",
    temperature: QuantityLike = REFERENCE_TEMPERATURE,
    leakage: Mapping[str, float] | str | None = None,
    rated_voltage: QuantityLike | None = None,
    signal: QuantityLike = 0.0,
) -> OperatingPoint:
    """Return the resting voltage of every node with the supply on, and what moves it.

    Parameters
    ----------
    stage : Stage
        The stage.
    spread : "typical" or "worst"
        Which data-sheet figures make the errors.
    temperature : float or str
        K, or a text such as "60 degC"; drift counts from 25 degC, and bias currents that double with
        temperature do.
    leakage : mapping of str to float, "electrolytic" or None
        A for each capacitor; or 0.01 C V or 3 uA for every capacitor of 1 uF or more; or none.
    rated_voltage : float or str, optional
        For that rule, V; the supply voltage unless given.
    signal : float or str
        DC level of the signal source, V.

    Raises
    ------
    UnknownNameError
        If a leakage belongs to no capacitor.
    QuantityError
        If a leakage is negative, or the temperature not positive, or ``stage`` is no stage.
    """
    require_stage(stage)
    kelvin = read_temperature(temperature)
    rated = None if rated_voltage is None else read_quantity(rated_voltage, "V", name="rated_voltage")
    if not kelvin > 0:
        raise QuantityError("temperature", kelvin, allowed="> 0 K", remedy="Give kelvin.")
    undefined = _drifting_nodes(stage)
    levels = {"supply": stage.supply, "signal": read_quantity(signal, "V", name="signal"), **stage.levels}
    voltages = {GROUND: 0.0}
    for node in stage.circuit.nodes:
        if node not in undefined:
            voltages[node] = sum(
                volts * stage.transfer(source, node)(0.0).real for source, volts in levels.items() if volts
            )
    leaks = leakage_table(stage, leakage, rated)
    sources = (*opamp_errors(stage, spread, kelvin), *leakage_errors(stage, voltages, leaks))
    return OperatingPoint(stage, voltages, sources, spread)


def _drifting_nodes(stage: Stage) -> set[str]:
    """Return the nodes without a DC path and all that follow from them."""
    circuit = stage.circuit
    driven = {GROUND, *(source.name for source in circuit.sources)}
    undefined = {finding.node for finding in stage.findings}
    grown = set(undefined)
    while grown:
        pins = [{o.plus, o.minus, o.output} for o in circuit.opamps if undefined & {o.plus, o.minus}]
        joined = [set(part.nodes) for part in circuit.resistors if undefined & set(part.nodes)]
        grown = set().union(*pins, *joined) - undefined - driven
        undefined |= grown
    return undefined
