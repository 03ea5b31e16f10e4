"""From polynomials to a straight-line program.

A set of polynomials in the parts is written as one short list of additions and
multiplications: Horner's scheme variable by variable, with equal remainders shared.  The
list is independent of any language; `emit_numpy` and `emit_javascript` print it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

Operation = Literal["add", "multiply", "reciprocal"]
Operand = int | str
"""A whole number (constant) or the name of an input or an earlier line."""
Terms = Mapping[tuple[int, ...], int]
"""Exponents of the variables -> integer coefficient."""


@dataclass(frozen=True, slots=True)
class Line:
    """One step: ``name = operation(operands)``.

    Attributes
    ----------
    name : str
        Name of the result.
    operation : "add", "multiply" or "reciprocal"
        What is done.
    operands : tuple of int or str
        Two operands, or one for the reciprocal.
    """

    name: str
    operation: Operation
    operands: tuple[Operand, ...]


@dataclass(frozen=True, slots=True)
class Program:
    """A straight-line program that computes lists of coefficients.

    Attributes
    ----------
    inputs : tuple of str
        Argument names in fixed order.
    lines : tuple of Line
        Steps in order; each uses inputs and earlier lines only.
    outputs : tuple of tuple of int or str
        One list of coefficients per polynomial in s, ascending powers.
    """

    inputs: tuple[str, ...]
    lines: tuple[Line, ...]
    outputs: tuple[tuple[Operand, ...], ...]


class _Writer:
    """Writes lines, each distinct one once."""

    def __init__(self, variables: Sequence[str], reciprocals: frozenset[str]) -> None:
        self.lines: list[Line] = []
        self._known: dict[tuple[Operation, tuple[Operand, ...]], str] = {}
        self._variables = list(variables)
        self._reciprocals = reciprocals

    def step(self, operation: Operation, *operands: Operand) -> str:
        key = (operation, tuple(sorted(operands, key=str)))
        if key not in self._known:
            name = f"t{len(self.lines)}"
            self.lines.append(Line(name, operation, operands))
            self._known[key] = name
        return self._known[key]

    def variable(self, index: int) -> Operand:
        name = self._variables[index]
        return self.step("reciprocal", name) if name in self._reciprocals else name

    def add(self, one: Operand, other: Operand) -> Operand:
        if one == 0:
            return other
        if other == 0:
            return one
        if isinstance(one, int) and isinstance(other, int):
            return one + other
        return self.step("add", one, other)

    def multiply(self, one: Operand, other: Operand) -> Operand:
        if one == 0 or other == 0:
            return 0
        if one == 1:
            return other
        if other == 1:
            return one
        if isinstance(one, int) and isinstance(other, int):
            return one * other
        return self.step("multiply", one, other)

    def polynomial(self, terms: Terms) -> Operand:
        """Return the operand that holds a polynomial, by Horner's rule from the last variable to the first.

        Terms that agree in all earlier exponents are joined; so few are left after some variables.
        """
        operands: dict[tuple[int, ...], Operand] = dict(terms)
        for index in range(len(self._variables) - 1, -1, -1):
            by_power: defaultdict[tuple[int, ...], dict[int, Operand]] = defaultdict(dict)
            for exponents, operand in operands.items():
                by_power[exponents[:-1]][exponents[-1]] = operand
            operands = {earlier: self._horner(powers, index) for earlier, powers in by_power.items()}
        return operands.get((), 0)

    def _horner(self, by_power: Mapping[int, Operand], index: int) -> Operand:
        highest = max(by_power)
        if not highest:  # most often the variable does not occur
            return by_power[0]
        result = by_power[highest]
        for power in range(highest - 1, -1, -1):
            result = self.multiply(result, self.variable(index))
            result = self.add(result, by_power.get(power, 0))
        return result


def write_program(
    polynomials: Sequence[Sequence[Terms]], variables: Sequence[str], reciprocals: frozenset[str]
) -> Program:
    """Return the program for some polynomials in s whose coefficients are polynomials in the parts.

    Parameters
    ----------
    polynomials : sequence of sequence of mapping
        For each polynomial in s, its coefficients in ascending powers; each coefficient maps
        exponents of the variables to an integer.
    variables : sequence of str
        The variables, in the order of the exponents; also the inputs of the program.
    reciprocals : frozenset of str
        Inputs that enter as 1/x: resistors, whose variable is the conductance.
    """
    writer = _Writer(variables, reciprocals)
    distinct = {id(c): c for coefficients in polynomials for c in coefficients}  # many functions share some
    written = {key: writer.polynomial(terms) for key, terms in distinct.items()}
    outputs = tuple(tuple(written[id(c)] for c in coefficients) for coefficients in polynomials)
    return Program(tuple(variables), tuple(writer.lines), outputs)
