"""Network functions of a circuit: transfers, ratios and impedances as ratios of polynomials."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

import sympy
from sympy import ZZ
from sympy.polys.rings import ring

from ..errors import CircuitError
from .circuit import Circuit
from .factors import factored, without_common_factor
from .nodal_analysis import Excitation, Injection, InputError, NodalSystem, OpAmpModel, Poly, nodal_system
from .program import Program, Terms, write_program
from .standard_forms import limit_large
from .symbols import S, part_symbol

A_0 = sympy.Symbol("A_0", positive=True)
OMEGA_T = sympy.Symbol("omega_t", positive=True)


@dataclass(frozen=True)
class NetworkFunction:
    """A ratio N(s)/D(s) of polynomials in s and the parts of one circuit.

    Attributes
    ----------
    system : NodalSystem
        The equations it comes from.
    numerator, denominator : polynomial
        Elements of ``system.ring``; resistors enter as conductances.
    unit : str
        "V/V" or "ohm".
    label : str
        What it is, in words.
    """

    system: NodalSystem
    numerator: Poly
    denominator: Poly
    unit: str
    label: str

    @cached_property
    def reduced(self) -> NetworkFunction:
        """The same function without common factors."""
        numerator, denominator = without_common_factor(self.numerator, self.denominator)
        return NetworkFunction(self.system, numerator, denominator, self.unit, self.label)

    @cached_property
    def steady(self) -> NetworkFunction:
        """The same function at DC, where it has a value: without s it is much smaller; else itself."""
        numerator, denominator = (_coefficient(half, 0, 0) for half in (self.numerator, self.denominator))
        if not denominator:
            return self
        return NetworkFunction(self.system, numerator, denominator, self.unit, self.label)

    @cached_property
    def expression(self) -> sympy.Expr:
        """The function as a sympy expression in s and the part symbols, fully cancelled."""
        numerator, denominator = _in_resistances(self.system, self.reduced)
        return numerator / denominator

    @cached_property
    def factors(self) -> tuple[tuple[Poly, ...], tuple[Poly, ...]]:
        """Factors of numerator and denominator after cancelling; roots are taken one factor at a time."""
        reduced = self.reduced
        top = tuple(factored(reduced.numerator)) if reduced.numerator else ()
        return top, tuple(factored(reduced.denominator))

    def with_firm(self, part: str) -> NetworkFunction:
        """Return the limit for a part that holds its nodes together: C without bound, or R to 0.

        Parameters
        ----------
        part : str
            A part of the circuit.
        """
        place = self.system.parameters.index(part) + 1
        reduced = self.reduced
        halves = (reduced.numerator, reduced.denominator)
        highest = max(half.degree(place) for half in halves)
        top, bottom = (_coefficient(half, place, highest) for half in halves)
        return NetworkFunction(self.system, top, bottom, self.unit, f"{self.label}, firm {part}")

    def at_infinity(self) -> sympy.Expr:
        """Return the limit for s to infinity as a sympy expression (may be 0 or oo)."""
        return limit_large(self.expression, S)


def _coefficient(polynomial: Poly, place: int, power: int) -> Poly:
    """Return what stands before a power of one generator."""
    terms = {
        (*exponents[:place], 0, *exponents[place + 1 :]): coefficient
        for exponents, coefficient in polynomial.items()
        if exponents[place] == power
    }
    return polynomial.ring.from_dict(terms)


def _by_power_of_s(polynomial: Poly) -> tuple[Terms, ...]:
    """Split a polynomial by the power of s; the exponents keep the other generators only."""
    by_power: defaultdict[int, dict[tuple[int, ...], int]] = defaultdict(dict)
    for exponents, coefficient in polynomial.items():
        by_power[exponents[0]][exponents[1:]] = int(coefficient)
    return tuple(by_power[power] for power in range(max(by_power, default=0) + 1))


def _in_resistances(system: NodalSystem, function: NetworkFunction) -> tuple[sympy.Expr, sympy.Expr]:
    """Turn conductances into resistances: both polynomials are linear in each conductance."""
    resistors = [i for i, name in enumerate(system.parameters, 1) if name.startswith("r_")]
    top, bottom = (_turned(p, resistors) for p in (function.numerator, function.denominator))
    top, bottom = without_common_factor(top, bottom)
    symbols = [S, *(_display_symbol(name) for name in system.parameters)]
    return _as_expression(top, symbols), _as_expression(bottom, symbols)


def _turned(polynomial: Poly, resistors: list[int]) -> Poly:
    target = ring(polynomial.ring.symbols, ZZ)[0]
    result: dict[tuple[int, ...], Any] = {}
    for exponents, coefficient in polynomial.terms():
        turned = list(exponents)
        for i in resistors:
            turned[i] = 1 - exponents[i]
        result[tuple(turned)] = coefficient
    return target.from_dict(result)


def _as_expression(polynomial: Poly, symbols: list[sympy.Expr]) -> sympy.Expr:
    if not polynomial:
        return sympy.Integer(0)
    return sympy.Mul(*(_collected(factor, symbols) for factor in factored(polynomial)))


def _collected(polynomial: Poly, symbols: list[sympy.Expr]) -> sympy.Expr:
    """Return a polynomial as a sum of powers of s, each coefficient factored."""
    total = sympy.Integer(0)
    for power, terms in enumerate(_by_power_of_s(polynomial)):
        if terms:
            alone = polynomial.ring.from_dict({(0, *e): c for e, c in terms.items()})
            total += sympy.Mul(*(_plain(factor, symbols) for factor in factored(alone))) * S**power
    return total


def _plain(polynomial: Poly, symbols: list[sympy.Expr]) -> sympy.Expr:
    return sympy.Add(*(_term(exponents, int(c), symbols) for exponents, c in polynomial.terms()))


def _term(exponents: tuple[int, ...], coefficient: int, symbols: list[sympy.Expr]) -> sympy.Expr:
    return sympy.Mul(coefficient, *(x**e for x, e in zip(symbols, exponents, strict=True) if e))


def _display_symbol(name: str) -> sympy.Expr:
    if name.endswith("_inverse_gain"):
        return 1 / A_0
    if name.endswith("_unity_time"):
        return 1 / OMEGA_T
    return part_symbol(name)


@lru_cache(maxsize=1024)
def transfer_function(
    circuit: Circuit, source: Excitation, node: str, model: OpAmpModel = "ideal"
) -> NetworkFunction:
    """Return the voltage at a node per unit of an excitation.

    Parameters
    ----------
    circuit : Circuit
        Sound circuit.
    source : str, Injection or InputError
        A voltage source or op-amp input error (result in V/V), or an injected current (in ohm).
    node : str
        Where the voltage is taken, to ground.
    model : "ideal" or "single_pole"
        The op-amp model.

    Raises
    ------
    UnknownNameError
        If the source or node does not exist.
    """
    system = nodal_system(circuit, model)
    numerator = system.voltage(source, node)
    unit = "ohm" if isinstance(source, Injection) else "V/V"
    return NetworkFunction(system, numerator, system.determinant, unit, f"{_origin(source)} to {node}")


def _origin(source: Excitation) -> str:
    if isinstance(source, Injection):
        return f"current into {source.into}"
    return f"input error of {source.opamp}" if isinstance(source, InputError) else source


@lru_cache(maxsize=1024)
def node_ratio(
    circuit: Circuit, source: str, node: str, reference: str, model: OpAmpModel = "ideal"
) -> NetworkFunction:
    """Return the voltage at one node over that at another, inside the whole network.

    Parameters
    ----------
    circuit : Circuit
        Sound circuit.
    source : str
        The voltage source that drives both.
    node, reference : str
        Numerator and denominator node.
    model : "ideal" or "single_pole"
        The op-amp model.

    Raises
    ------
    UnknownNameError
        If the source or a node does not exist.
    """
    system = nodal_system(circuit, model)
    top, bottom = system.voltage(source, node), system.voltage(source, reference)
    return NetworkFunction(system, top, bottom, "V/V", f"{reference} to {node}")


@lru_cache(maxsize=256)
def source_impedance_seen(circuit: Circuit, source: str, model: OpAmpModel = "ideal") -> NetworkFunction:
    """Return the impedance that a voltage source sees, in ohm.

    Parameters
    ----------
    circuit : Circuit
        Sound circuit; short ``r_source`` first to look past the source resistance.
    source : str
        Name of the source.
    model : "ideal" or "single_pole"
        The op-amp model.

    Raises
    ------
    UnknownNameError
        If the source does not exist.
    CircuitError
        If it delivers no current: the impedance is infinite.
    """
    system = nodal_system(circuit, model)
    current = system.source_current(source)
    if not current:
        raise CircuitError(
            f"impedance seen by {source}",
            "infinite",
            allowed="a source that delivers a current",
            remedy="The source ends on inputs that take no current: give them a resistor to the bias node.",
        )
    return NetworkFunction(system, system.determinant, current, "ohm", f"impedance seen by {source}")


def polynomials_program(system: NodalSystem, polynomials: Sequence[Poly]) -> Program:
    """Return a program for the coefficients of s of some polynomials of one system.

    Parameters
    ----------
    system : NodalSystem
        The equations they come from.
    polynomials : sequence of polynomial
        Elements of ``system.ring``.
    """
    reciprocals = frozenset(name for name in system.parameters if name.startswith("r_"))
    split = {id(p): _by_power_of_s(p) for p in polynomials}  # functions share their denominator
    return write_program([split[id(p)] for p in polynomials], system.parameters, reciprocals)


def functions_program(functions: tuple[NetworkFunction, ...]) -> Program:
    """Return one program for several functions of one circuit: numerator, denominator, ...

    Parameters
    ----------
    functions : tuple of NetworkFunction
        All of the same system.
    """
    return polynomials_program(
        functions[0].system, [half for f in functions for half in (f.numerator, f.denominator)]
    )
