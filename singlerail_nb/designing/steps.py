"""A design decision as a record: question, formula, numbers, choice, reason."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import sympy

from ..circuit.printed_names import symbol_name
from ..circuit.symbols import part_symbol
from ..circuit.typeset import latex, sentence
from ..quantities import write_code, write_quantity

COMMON_PRACTICE = "common practice, no published source"
FROM_CIRCUIT = "derived from the circuit"


@dataclass(frozen=True)
class Figure:
    """A number with a name and a unit.

    Attributes
    ----------
    name : str
        What it is.
    value : float
        SI units.
    unit : str
        Unit as `write_quantity` knows it.
    """

    name: str
    value: float
    unit: str

    def __str__(self) -> str:
        return f"{self.name} {write_quantity(self.value, self.unit)}"


@dataclass(frozen=True)
class DesignStep:
    """One decision of a design.

    Attributes
    ----------
    part : str
        Name of the part that was chosen, such as ``"c_in"``.
    question : str
        What was asked.
    formula : sympy expression
        The exact value as a formula of known quantities.
    known : mapping of str to (float, str)
        Value and unit of every symbol in the formula, by printed symbol name.
    exact : float
        The exact value, ohm or farad.
    chosen : float
        The preferred value taken.
    unit : str
        "ohm" or "F".
    rounding : str
        How the exact value became the chosen one, such as "up, E6".
    recomputed : Figure
        The figure of the step with the chosen value.
    reason : str
        Why.
    rejected : str
        The alternative that was not taken, and why.
    source : str
        Where the rule comes from.
    """

    part: str
    question: str
    formula: sympy.Expr
    known: Mapping[str, tuple[float, str]]
    exact: float
    chosen: float
    unit: str
    rounding: str
    recomputed: Figure
    reason: str
    rejected: str
    source: str

    @property
    def symbol(self) -> str:
        """Printed symbol of the part, such as "C_in"."""
        return symbol_name(self.part)

    @property
    def row(self) -> tuple[str, ...]:
        """Symbol, chosen value, code, exact value, rounding and what it gives, for a table."""
        return (
            f"${latex(part_symbol(self.part))}$",
            write_quantity(self.chosen, self.unit),
            self.code,
            write_quantity(self.exact, self.unit),
            sentence(self.rounding),
            sentence(str(self.recomputed)),
        )

    def __repr__(self) -> str:
        return f"{self.question}\n{self.text}\n{self.recomputed}. {self.reason}"

    def _repr_markdown_(self) -> str:
        taken = sentence(
            f"Taken: **{write_quantity(self.chosen, self.unit)}** ({self.rounding}), which gives "
            f"{self.recomputed}. {self.reason} *Rejected:* {self.rejected} *Source:* {self.source}."
        )
        return f"**{self.question}**\n\n$${self.formula_latex}$$\n\n$${self.substituted_latex}$$\n\n{taken}"

    @property
    def code(self) -> str:
        """The chosen value as an IEC 60062 code."""
        return write_code(self.chosen, self.unit)

    @property
    def formula_latex(self) -> str:
        """Symbol and formula as LaTeX."""
        return f"{latex(part_symbol(self.part))} = {latex(self.formula)}"

    @property
    def substituted_latex(self) -> str:
        """The formula with numbers and units, and its result, as LaTeX."""
        numbers = {
            symbol: sympy.Symbol(_latex_quantity(*self.known[symbol.name]))
            for symbol in self.formula.free_symbols
        }
        result = _latex_quantity(self.exact, self.unit)
        left = latex(part_symbol(self.part))
        middle = latex(self.formula.xreplace(numbers), dots=True)
        return f"{left} = {middle} = {result}"

    @property
    def text(self) -> str:
        """Formula, numbers and result on one line of plain text."""
        known = ", ".join(
            f"{name} = {write_quantity(*self.known[name])}"
            for name in sorted(symbol.name for symbol in self.formula.free_symbols)
        )
        exact, chosen = write_quantity(self.exact, self.unit), write_quantity(self.chosen, self.unit)
        return f"{self.symbol} = {self.formula} with {known}: {exact} -> {chosen} ({self.rounding})"


def _latex_quantity(value: float, unit: str) -> str:
    number, _, rest = write_quantity(value, unit).partition(" ")
    return rf"{number}\,\mathrm{{{_latex_unit(rest)}}}" if rest else number


def _latex_unit(unit: str) -> str:
    return unit.replace("µ", r"\mu ").replace("Ω", r"\Omega ").replace("%", r"\% ").strip()
