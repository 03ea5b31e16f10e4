"""A stage: a circuit of the registry with values in it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise
from types import MappingProxyType
from typing import Any

from ..circuit.bias_derivation import bias_alone
from ..circuit.bias_sources import bias_circuit
from ..circuit.checks import Finding, require_levels, require_sound
from ..circuit.circuit import Circuit
from ..circuit.derivation import derivation
from ..circuit.derivation_steps import Derivation
from ..circuit.elements import GROUND, Part
from ..circuit.network_functions import (
    NetworkFunction,
    node_ratio,
    source_impedance_seen,
    transfer_function,
)
from ..circuit.nodal_analysis import Excitation, Injection, OpAmpModel
from ..circuit.opamp import OpAmp
from ..circuit.stages import StageType, build_circuit, stage_type
from ..quantities import read_quantity, write_quantity
from .part_values import SUPPLY_HIGHEST, SUPPLY_LOWEST, present, read_values
from .transfer import Section, Transfer


@dataclass(frozen=True)
class Stage:
    """A circuit with part values, a supply and op-amps; immutable.

    Attributes
    ----------
    name : str
        Its name in the registry.
    supply : float
        Supply voltage, V.
    values : mapping of str to float
        Value of every part that is present, ohm or farad; ``r_source`` may be 0.
    opamp : OpAmp or None
        The amplifier; None is ideal.
    bias : str
        Name of the bias source; left out, the usual one of the stage.
    levels : mapping of str to float
        DC value of every source that has one of its own (Zener, reference), V.
    """

    name: str
    supply: float
    values: Mapping[str, float]
    opamp: OpAmp | None = None
    bias: str = ""
    levels: Mapping[str, float] = field(default_factory=dict)
    findings: tuple[Finding, ...] = field(init=False)
    circuit: Circuit = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "bias", self.bias or self.type.usual_bias)
        circuit = present(build_circuit(self.name, self.bias), self.values)
        object.__setattr__(self, "values", MappingProxyType(dict(self.values)))
        object.__setattr__(self, "levels", MappingProxyType(dict(self.levels)))
        object.__setattr__(self, "circuit", circuit)
        require_levels(circuit, self.supply, self.levels)
        object.__setattr__(self, "findings", require_sound(circuit, self.type.fault_nodes))

    def __reduce__(self) -> tuple[Any, ...]:
        values, levels = dict(self.values), dict(self.levels)
        return (Stage, (self.name, self.supply, values, self.opamp, self.bias, levels))

    def __hash__(self) -> int:
        numbers = (frozenset(self.values.items()), frozenset(self.levels.items()))
        return hash((self.name, self.supply, numbers, self.opamp, self.bias))

    def __repr__(self) -> str:
        amplifier = "ideal op-amp" if self.opamp is None else f"op-amp {self.opamp.name}"
        bias = [self.bias.replace("_", " ")] if self.bias else []
        about = ", ".join([*bias, amplifier])
        values = [f"{p.name} {write_quantity(self.values[p.name], p.unit)}" for p in self.parts]
        values += [f"{name} {write_quantity(volts, 'V')}" for name, volts in self.levels.items()]
        return f"{self.title} on {write_quantity(self.supply, 'V')} ({about}): {', '.join(values)}"

    @property
    def type(self) -> StageType:
        """Its entry in the registry."""
        return stage_type(self.name)

    @property
    def title(self) -> str:
        """Title for headings."""
        return self.type.title

    @property
    def parts(self) -> tuple[Part, ...]:
        """Every part that has a value, also a source resistance of 0 ohm, in drawing order."""
        return tuple(p for p in build_circuit(self.name, self.bias).parts if p.name in self.values)

    @property
    def model(self) -> OpAmpModel:
        """The op-amp model of the network functions: "ideal" or "single_pole"."""
        return "ideal" if self.opamp is None else "single_pole"

    @cached_property
    def parameters(self) -> dict[str, float]:
        """Every number the network functions depend on, SI units."""
        numbers = {part.name: self.values[part.name] for part in self.circuit.parts}
        if self.opamp is not None:
            for amplifier in self.circuit.opamps:
                numbers[amplifier.inverse_gain] = self.opamp.inverse_gain
                numbers[amplifier.unity_time] = self.opamp.unity_time
        return numbers

    def _transfer(self, function: NetworkFunction, source: str, node: str) -> Transfer:
        return Transfer(function, dict(self.parameters), source, node)

    def transfer(self, source: Excitation, node: str) -> Transfer:
        """Return the voltage at a node per unit of an excitation, in the whole network.

        Parameters
        ----------
        source : str, InputError or Injection
            ``"signal"`` or ``"supply"`` (V/V), the input error of an op-amp (V/V: the noise gain
            at its output) or an injected current (ohm).
        node : str
            ``"bias"``, ``"plus"``, ``"minus"``, ``"amp_out"``, ``"output"`` or another node.

        Raises
        ------
        UnknownNameError
            If the source or node does not exist.
        """
        function = transfer_function(self.circuit, source, node, self.model)
        name = source if isinstance(source, str) else function.label.removesuffix(f" to {node}")
        return self._transfer(function, name, node)

    def section(self, start: str, end: str) -> Transfer:
        """Return the voltage at one node over that at another, driven by the signal.

        Parameters
        ----------
        start, end : str
            Nodes.

        Raises
        ------
        UnknownNameError
            If a node does not exist.
        """
        return self._transfer(node_ratio(self.circuit, "signal", end, start, self.model), start, end)

    def sections(self) -> tuple[Section, ...]:
        """Return the pieces of the signal path; their product is the whole transfer."""
        path = self.circuit.path
        return tuple(Section(a, b, self.section(a, b)) for a, b in pairwise(path))

    def input_impedance(self) -> Transfer:
        """Return the impedance that the source sees beyond its own resistance, ohm.

        Raises
        ------
        CircuitError
            If the network has no single solution without the source resistance.
        """
        circuit = self.circuit
        if "r_source" in circuit.part_names:
            circuit = circuit.shorted("r_source")
        function = source_impedance_seen(circuit, "signal", self.model)
        return self._transfer(function, "signal", "input impedance")

    @property
    def signal_band(self) -> float | None:
        """Frequency at which the mid-band gain is taken, Hz; None where an ideal stage is flat to an end."""
        middle = self.transfer("signal", "output").midband.frequency
        return middle if 0.0 < middle < math.inf else None

    def midband_input_impedance(self) -> float:
        """Return the magnitude of the input impedance where the signal is in mid-band, ohm."""
        seen, middle = self.input_impedance(), self.signal_band
        return seen.midband_gain() if middle is None else abs(seen(middle))

    def node_impedance(self, node: str) -> Transfer:
        """Return the impedance of a node to ground with all sources at zero, ohm.

        Parameters
        ----------
        node : str
            For instance ``"bias"`` or ``"output"`` (the load is part of the network).

        Raises
        ------
        UnknownNameError
            If the node does not exist.
        """
        name = self.circuit.node(node)
        function = transfer_function(self.circuit, Injection(name), name, self.model)
        return self._transfer(function, f"current into {node}", node)

    def derivation(self) -> Derivation:
        """Return the algebra of the stage with ideal op-amps, step by step."""
        return derivation(self.circuit)

    def bias_filter(self) -> Transfer:
        """Return the transfer from the supply to the bias node with nothing drawing on it."""
        function = transfer_function(bias_alone(self.circuit), "supply", "bias", self.model)
        return self._transfer(function, "supply", "bias")

    def divider_current(self) -> float:
        """Return the current that the parts of the bias source draw from the supply at rest, A."""
        alone = bias_alone(self.circuit)
        levels = {"supply": self.supply, **self.levels}

        def resting(node: str) -> float:
            functions = {name: transfer_function(alone, name, node, self.model) for name in levels}
            return sum(v * float(self._transfer(functions[n], n, node)(0.0).real) for n, v in levels.items())

        fed = [part for part in alone.resistors if "supply" in part.nodes]
        far = [next(node for node in part.nodes if node != "supply") for part in fed]
        return sum(
            (self.supply - (resting(node) if node != GROUND else 0.0)) / self.values[part.name]
            for part, node in zip(fed, far, strict=True)
        )

    def with_parts(self, **values: float | str) -> Stage:
        """Return the stage with some values changed or optional parts added.

        Parameters
        ----------
        **values : float or str
            New values and levels, SI numbers or quantity text.

        Raises
        ------
        UnknownNameError
            If the stage has no such part.
        QuantityError
            If a value cannot be read.
        """
        circuit = build_circuit(self.name, self.bias)
        parts, levels = read_values(circuit, values)
        return replace(self, values={**self.values, **parts}, levels={**self.levels, **levels})

    def with_bias(self, bias: str, **values: float | str) -> Stage:
        """Return the stage with another bias source; the parts of the old one are taken out.

        Parameters
        ----------
        bias : str
            Name of the bias source.
        **values : float or str
            Values and levels of its parts, SI numbers or quantity text.

        Raises
        ------
        UnknownNameError
            If the bias source or one of its parts does not exist.
        QuantityError
            If a value cannot be read.
        CircuitError
            If a part of the new source is missing.
        """
        circuit, old = build_circuit(self.name, bias), bias_circuit(self.bias)
        kept = {name: value for name, value in self.values.items() if name not in old.part_names}
        own = {source.name for source in old.level_sources}
        held = {name: value for name, value in self.levels.items() if name not in own}
        parts, levels = read_values(circuit, values)
        return replace(self, bias=bias, values={**kept, **parts}, levels={**held, **levels})

    def without_parts(self, *names: str) -> Stage:
        """Return the stage without some optional parts.

        Parameters
        ----------
        *names : str
            Part names.

        Raises
        ------
        CircuitError
            If the stage cannot do without one of them.
        UnknownNameError
            If the stage has no such part.
        """
        circuit = build_circuit(self.name, self.bias)
        gone = {circuit.part(name).name for name in names}
        return replace(self, values={n: v for n, v in self.values.items() if n not in gone})


def stage(
    name: str,
    *,
    supply: float | str,
    opamp: OpAmp | None = None,
    bias: str | None = None,
    **parts: float | str | None,
) -> Stage:
    """Return a stage of the registry with values.

    Parameters
    ----------
    name : str
        A name from `stages`.
    supply : float or str
        Supply voltage: volts, or text such as ``"9 V"``.
    opamp : OpAmp, optional
        The amplifier; ideal unless given.
    bias : str, optional
        Name of the bias source; the usual one of the stage unless given.  A stage that takes its
        level from a reference has none.
    **parts : float or str
        Value of each part: ohm or farad, or text such as ``"4k7"`` or ``"220 nF"``.  None leaves
        an optional part out.  ``r_source``, ``r_source_2`` ... may be 0.  Of a source with a level of its own
        (``zener``, ``reference``): volts, or text such as ``"4.7 V"``.

    Returns
    -------
    Stage
        Immutable; see `Stage`.

    Raises
    ------
    UnknownNameError
        If the stage, the bias source or a part does not exist.
    QuantityError
        If a value cannot be read or is implausible.
    CircuitError
        If a part is missing, or the circuit has a floating node, no DC path or a shorted source.
    """
    circuit = build_circuit(name, bias)
    volts = read_quantity(supply, "V", name="supply", low=SUPPLY_LOWEST, high=SUPPLY_HIGHEST)
    given = {part: value for part, value in parts.items() if value is not None}
    values, levels = read_values(circuit, given)
    return Stage(name, volts, values, opamp, bias or "", levels)
