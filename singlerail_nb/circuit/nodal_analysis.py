"""Nodal analysis over a polynomial ring: exact network functions by Cramer's rule.

Resistors are stamped as conductances, so every matrix entry is a polynomial.  A node that
a source drives is known; the current balance of a node that an op-amp drives is replaced by
the op-amp's own equation ``v+ - v- = v_out (1/A_0 + s/omega_t)`` (right side zero when
ideal).  Determinants are expanded by rows with a memo on the columns left, so all network
functions of a circuit share their minors.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any, Literal

from sympy import ZZ
from sympy.polys.rings import ring

from ..errors import CircuitError
from .circuit import Circuit
from .elements import GROUND, OpAmpPart, Part

OpAmpModel = Literal["ideal", "single_pole"]
Poly = Any
"""A sympy ring element: a polynomial in s (generator 0) and the parameters of the circuit."""


@dataclass(frozen=True, slots=True)
class Injection:
    """A unit current that leaves node ``out_of`` and enters node ``into``, all sources at zero.

    Attributes
    ----------
    into, out_of : str
        Nodes; ``out_of`` is ground unless given.
    """

    into: str
    out_of: str = GROUND


@dataclass(frozen=True, slots=True)
class InputError:
    """A unit voltage in series with the + input of an op-amp, all sources at zero.

    Its transfer is the noise gain to a node: offset, input noise voltage and the op-amp's own
    supply rejection enter here.

    Attributes
    ----------
    opamp : str
        Name of the op-amp.
    """

    opamp: str


Excitation = str | Injection | InputError
"""The name of a voltage source (volt), an injected current (ampere) or an input error (volt)."""


class NodalSystem:
    """The equations of one circuit.

    Parameters
    ----------
    circuit : Circuit
        Sound circuit; shorts and opens already carried out.
    model : "ideal" or "single_pole"
        How its op-amps behave.

    Raises
    ------
    CircuitError
        If a node is driven twice, or the equations have no unique solution.
    """

    def __init__(self, circuit: Circuit, model: OpAmpModel = "ideal") -> None:
        self.circuit = circuit
        self.model = model
        self.parameters = parameter_names(circuit, model)
        self.ring = ring(["s", *self.parameters], ZZ)[0]
        self.s = self.ring.gens[0]
        self._generator = dict(zip(self.parameters, self.ring.gens[1:], strict=True))
        self.sources = tuple(source.name for source in circuit.sources)
        self.unknowns = tuple(node for node in circuit.nodes if node not in self.sources)
        self._column = {node: i for i, node in enumerate(self.unknowns)}
        self._all = (1 << len(self.unknowns)) - 1
        self._driver = self._drivers()
        self._rows = [self._row(node) for node in self.unknowns]
        self._minor = cache(self._expanded)
        self._minor_without = cache(self._expanded_without)
        self._sign = 1
        self._sign = -1 if self._solved_determinant().LC < 0 else 1
        self.determinant = self._signed(self._minor(0, self._all))

    def _drivers(self) -> dict[str, OpAmpPart]:
        drivers: dict[str, OpAmpPart] = {}
        for opamp in self.circuit.opamps:
            if opamp.output in drivers or opamp.output not in self._column:
                raise CircuitError(
                    f"node {opamp.output}",
                    "driven twice",
                    allowed="one source or op-amp output per node",
                    remedy="Put a resistance between the two outputs.",
                )
            drivers[opamp.output] = opamp
        return drivers

    def admittance(self, part: Part) -> Poly:
        """Return the admittance of a part as a polynomial: g, or s C.

        Parameters
        ----------
        part : Part
            A part of the circuit.
        """
        value = self._generator[part.name]
        return value if part.kind == "resistor" else self.s * value

    def _row(self, node: str) -> dict[int, Poly]:
        """Return the equation of a node: column -> coefficient; sources sit behind the unknowns."""
        opamp = self._driver.get(node)
        return self._current_balance(node) if opamp is None else self._opamp_equation(opamp)

    def _current_balance(self, node: str) -> dict[int, Poly]:
        row: dict[int, Poly] = {}
        for part in self.circuit.parts:
            if node in part.nodes and part.nodes[0] != part.nodes[1]:
                other = part.nodes[1] if part.nodes[0] == node else part.nodes[0]
                self._accumulate(row, node, self.admittance(part))
                self._accumulate(row, other, -self.admittance(part))
        return row

    def _opamp_equation(self, opamp: OpAmpPart) -> dict[int, Poly]:
        row: dict[int, Poly] = {}
        self._accumulate(row, opamp.plus, self.ring.one)
        self._accumulate(row, opamp.minus, -self.ring.one)
        if self.model == "single_pole":
            lag = self._generator[opamp.inverse_gain] + self.s * self._generator[opamp.unity_time]
            self._accumulate(row, opamp.output, -lag)
        return row

    def _accumulate(self, row: dict[int, Poly], node: str, coefficient: Poly) -> None:
        if node == GROUND:
            return
        if node in self._column:
            column = self._column[node]
        else:
            column = len(self.unknowns) + self.sources.index(node)
            coefficient = -coefficient  # a known voltage belongs on the right side
        total = row.get(column, self.ring.zero) + coefficient
        if total:
            row[column] = total
        else:
            row.pop(column, None)

    def _expanded(self, row: int, columns: int) -> Poly:
        """Return the determinant of rows ``row...`` over the set bits of ``columns``."""
        if row == len(self._rows):
            return self.ring.one
        return self._along(row, columns, lambda left: self._minor(row + 1, left))

    def _expanded_without(self, skipped: int, row: int, columns: int) -> Poly:
        """Return the same with one row left out; below it the shared minors serve."""
        if row == skipped:
            return self._minor(row + 1, columns)
        return self._along(row, columns, lambda left: self._minor_without(skipped, row + 1, left))

    def _along(self, row: int, columns: int, minor_of: Callable[[int], Poly]) -> Poly:
        total = self.ring.zero
        for column, entry in self._rows[row].items():
            if columns >> column & 1:
                minor = minor_of(columns & ~(1 << column))
                if minor:
                    before = (columns & ((1 << column) - 1)).bit_count()
                    total += -entry * minor if before & 1 else entry * minor
        return total

    def _solved_determinant(self) -> Poly:
        determinant = self._minor(0, self._all)
        if not determinant:
            raise CircuitError(
                f"{self.circuit.name} stage",
                "no unique solution",
                allowed="equations that fix every node voltage",
                remedy="Look for an op-amp without feedback, or with both inputs on one node.",
            )
        return determinant

    def _signed(self, polynomial: Poly) -> Poly:
        """Return a minor with the sign that makes the determinant positive."""
        return polynomial if self._sign > 0 else -polynomial

    def _replaced(self, unknown: int, column: int) -> Poly:
        """Return Cramer's numerator: column ``unknown`` replaced by right-side column ``column``."""
        size = len(self.unknowns)
        minor = self._signed(self._minor(0, self._all & ~(1 << unknown) | (1 << column)))
        return -minor if (size - 1 - unknown) & 1 else minor

    def voltage(self, excitation: Excitation, node: str) -> Poly:
        """Return the numerator N of the node voltage N/D, D being `determinant`.

        Parameters
        ----------
        excitation : str, Injection or InputError
            Source name or input error (N/D in V/V), or injected current (N/D in ohm).
        node : str
            The node whose voltage is wanted; merged names are followed.

        Raises
        ------
        UnknownNameError
            If the source or node does not exist.
        """
        node = self.circuit.node(node)
        if isinstance(excitation, Injection):
            return self._injected(excitation.into, node) - self._injected(excitation.out_of, node)
        if isinstance(excitation, InputError):
            return self._input_error(excitation.opamp, node)
        source = self.circuit.source(excitation).name
        if node not in self._column:
            return self.determinant if node == source else self.ring.zero
        return self._replaced(self._column[node], len(self.unknowns) + self.sources.index(source))

    def _injected(self, into: str, node: str) -> Poly:
        into = self.circuit.node(into)
        if into not in self._column or into in self._driver or node not in self._column:
            return self.ring.zero
        row, unknown = self._column[into], self._column[node]
        return self._cofactor(row, unknown)

    def _input_error(self, name: str, node: str) -> Poly:
        opamp = self.circuit.opamp(name)
        if node not in self._column:
            return self.ring.zero
        return -self._cofactor(self._column[opamp.output], self._column[node])

    def _cofactor(self, row: int, column: int) -> Poly:
        minor = self._signed(self._minor_without(row, 0, self._all & ~(1 << column)))
        return -minor if (row + column) & 1 else minor

    def output_current(self, excitation: Excitation, name: str) -> Poly:
        """Return the numerator of the current out of an op-amp's output, N/D per unit of the excitation.

        Parameters
        ----------
        excitation : str, Injection or InputError
            What drives the circuit.
        name : str
            Name of the op-amp.

        Raises
        ------
        UnknownNameError
            If the op-amp or the source does not exist.
        """
        node = self.circuit.opamp(name).output
        total = self.ring.zero
        for part in self.circuit.parts:
            if node in part.nodes and part.nodes[0] != part.nodes[1]:
                other = part.nodes[1] if part.nodes[0] == node else part.nodes[0]
                far = self.ring.zero if other == GROUND else self.voltage(excitation, other)
                total += self.admittance(part) * (self.voltage(excitation, node) - far)
        return total

    def source_current(self, source: str) -> Poly:
        """Return the numerator of the current a source delivers per volt, N/D in siemens.

        Parameters
        ----------
        source : str
            Name of the source.

        Raises
        ------
        UnknownNameError
            If the source does not exist.
        """
        name = self.circuit.source(source).name
        total = self.ring.zero
        for part in self.circuit.parts:
            if name in part.nodes and part.nodes[0] != part.nodes[1]:
                other = part.nodes[1] if part.nodes[0] == name else part.nodes[0]
                far = self.ring.zero if other == GROUND else self.voltage(name, other)
                total += self.admittance(part) * (self.determinant - far)
        return total


def parameter_names(circuit: Circuit, model: OpAmpModel) -> tuple[str, ...]:
    """Return the names of all numbers a solution depends on, in their fixed order.

    Parameters
    ----------
    circuit : Circuit
        The circuit.
    model : "ideal" or "single_pole"
        The op-amp model; a single pole adds 1/A_0 and 1/omega_t of each amplifier.
    """
    names = list(circuit.part_names)
    if model == "single_pole":
        for opamp in circuit.opamps:
            names += [opamp.inverse_gain, opamp.unity_time]
    return tuple(names)


@lru_cache(maxsize=256)
def nodal_system(circuit: Circuit, model: OpAmpModel = "ideal") -> NodalSystem:
    """Return the equations of a circuit, made once per topology.

    Parameters
    ----------
    circuit : Circuit
        Sound circuit.
    model : "ideal" or "single_pole"
        How its op-amps behave.

    Raises
    ------
    CircuitError
        If the equations have no unique solution.
    """
    return NodalSystem(circuit, model)
