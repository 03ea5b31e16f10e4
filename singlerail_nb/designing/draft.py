"""A stage in the making: part values so far, and the record of how each was found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

import sympy

from ..analysis.stage import Stage
from ..circuit.circuit import Circuit
from ..circuit.derivation import derivation
from ..circuit.derivation_steps import DerivationStep
from ..circuit.printed_names import symbol_name
from ..circuit.stages import build_circuit
from ..circuit.symbols import part_symbol
from .practical import require_practical
from .preferred_values import Rounding, preferred
from .requirements import Requirements
from .steps import DesignStep, Figure

_OPTIONAL = ("c_f", "c_out", "r_load")


@dataclass(frozen=True)
class Rule:
    """Why a part is sized as it is; the words of a design step.

    Attributes
    ----------
    question, reason, rejected, source : str
        As in `DesignStep`.
    """

    question: str
    reason: str
    rejected: str
    source: str


@lru_cache(maxsize=32)
def circuit_and_derivation(topology: str, loaded: bool) -> tuple[Circuit, dict[str, DerivationStep]]:
    """Return the circuit of a design and its derivation by step key.

    Parameters
    ----------
    topology : str
        Name of the stage.
    loaded : bool
        Whether an output coupling and a load are present.
    """
    circuit = build_circuit(topology)
    absent = [n for n in _OPTIONAL if n in circuit.part_names and not (loaded and n != "c_f")]
    circuit = circuit.opened(*(n for n in absent if n != "c_out"))
    circuit = circuit.shorted(*(n for n in absent if n == "c_out"))
    return circuit, {step.key: step for step in derivation(circuit)}


@lru_cache(maxsize=256)
def solved_for(part: str, expression: sympy.Expr, target: str) -> sympy.Expr:
    """Return the formula of a part that makes an expression equal to a named target.

    Parameters
    ----------
    part : str
        The part that is wanted.
    expression : sympy expression
        A ratio in which the part occurs to the first power.
    target : str
        Printed name of the target.
    """
    goal = sympy.Symbol(target, positive=True)
    balance = sympy.numer(sympy.together(expression - goal))
    slope, rest = sympy.Poly(balance, part_symbol(part)).all_coeffs()
    return sympy.factor(-rest / slope)


@dataclass
class Draft:
    """Values chosen so far.

    Attributes
    ----------
    needed : Requirements
        What the stage must do.
    topology : str
        Its name in the registry.
    values : dict of str to float
        Part values so far, SI units.
    steps : list of DesignStep
        The records so far.
    """

    needed: Requirements
    topology: str
    values: dict[str, float] = field(default_factory=dict)
    steps: list[DesignStep] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.circuit, self.derivation = circuit_and_derivation(self.topology, self.needed.load is not None)
        self.values["r_source"] = self.needed.source_resistance
        if self.needed.load is not None:
            self.values["r_load"] = self.needed.load

    def stage(self, **changes: float) -> Stage:
        """Return the stage with the values so far and some changes; every part must have one.

        Parameters
        ----------
        **changes : float
            Further values, SI units.
        """
        return Stage(self.topology, self.needed.supply, {**self.values, **changes}, self.needed.opamp)

    def equation(self, key: str, name: str) -> sympy.Expr:
        """Return the right side of an equation of the derivation.

        Parameters
        ----------
        key, name : str
            Key of the step and LaTeX of the left side.

        Raises
        ------
        KeyError
            If there is no such equation.
        """
        return self.derivation[key].equation(name).expression

    def number(self, expression: sympy.Expr, **given: float) -> float:
        """Return an expression with the values so far put in.

        Parameters
        ----------
        expression : sympy expression
            In part symbols.
        **given : float
            Further values by printed symbol name.
        """
        known = {symbol_name(name): value for name, value in self.values.items()} | given
        return float(expression.xreplace({x: sympy.Float(known[x.name]) for x in expression.free_symbols}))

    def solve_for(self, part: str, expression: sympy.Expr, target: str) -> sympy.Expr:
        """Return the formula of a part that makes an expression equal to a named target.

        Parameters
        ----------
        part : str
            The part that is wanted.
        expression : sympy expression
            Contains the part to the first power.
        target : str
            Printed name of the target.
        """
        return solved_for(part, expression, target)

    def record(
        self,
        part: str,
        formula: sympy.Expr,
        given: Mapping[str, tuple[float, str]],
        chosen: float,
        rounding: str,
        figure: Figure,
        rule: Rule,
    ) -> None:
        """Take a value for a part and write down how it came about.

        Parameters
        ----------
        part : str
            Name of the part.
        formula : sympy expression
            Its exact value.
        given : mapping of str to (float, str)
            Values and units of the symbols that are not parts.
        chosen : float
            The value taken.
        rounding : str
            How it was rounded.
        figure : Figure
            What it gives.
        rule : Rule
            The words.

        Raises
        ------
        RequirementError
            If no board carries such a value well.
        """
        unit = self.circuit.part(part).unit
        require_practical(part, chosen, unit)
        parts = {symbol_name(n): (v, self.circuit.part(n).unit) for n, v in self.values.items()} | dict(given)
        known = {name: parts[name] for name in sorted(x.name for x in formula.free_symbols)}
        exact = self.number(formula, **{name: value for name, (value, _) in given.items()})
        self.values[part] = chosen
        self.steps.append(
            DesignStep(
                part=part,
                question=rule.question,
                formula=formula,
                known=known,
                exact=exact,
                chosen=chosen,
                unit=unit,
                rounding=rounding,
                recomputed=figure,
                reason=rule.reason,
                rejected=rule.rejected,
                source=rule.source,
            )
        )

    def rounded(self, part: str, exact: float, rounding: Rounding) -> tuple[float, str]:
        """Return the preferred value of a part and how it was rounded, in words.

        Parameters
        ----------
        part : str
            Name of the part; resistors and capacitors have their own series.
        exact : float
            Exact value, SI units.
        rounding : "nearest", "up" or "down"
            Which way.
        """
        name = self.needed.resistor_series if part.startswith("r_") else self.needed.capacitor_series
        return preferred(exact, name, rounding), f"{rounding}, {name}"
