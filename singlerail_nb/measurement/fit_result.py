"""What a fit found, and what the data can tell."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from ..circuit.printed_names import symbol_name
from ..circuit.symbols import part_symbol
from ..circuit.typeset import latex, sentence
from ..quantities import write_quantity
from ..quantities.tables import markdown_table, text_table
from .measured import Floats

Verdict = Literal["inside tolerance", "outside tolerance", "may be either", "cannot be told"]


@dataclass(frozen=True)
class FittedPart:
    """One part after the fit.

    Attributes
    ----------
    name : str
        The part.
    unit : str
        "ohm", "F", or "s" and "ratio" for the two op-amp parameters.
    nominal, value : float
        Before and after, SI units.
    interval : (float, float)
        Confidence interval of the value, tolerances of the parts not fitted included; (0, infinity)
        if the data cannot tell it.
    limits : (float, float)
        What its tolerance allows.
    """

    name: str
    unit: str
    nominal: float
    value: float
    interval: tuple[float, float]
    limits: tuple[float, float]

    @property
    def verdict(self) -> Verdict:
        """Where the confidence interval lies against the tolerance."""
        low, high = self.interval
        if math.isinf(high):
            return "cannot be told"
        if self.limits[0] <= low and high <= self.limits[1]:
            return "inside tolerance"
        if high < self.limits[0] or low > self.limits[1]:
            return "outside tolerance"
        return "may be either"

    @property
    def cells(self) -> tuple[str, ...]:
        """Symbol, nominal value, fitted value, change, interval, tolerance and verdict, as text."""
        told = self.verdict != "cannot be told"
        interval, limits = (
            " to ".join(write_quantity(v, self.unit) for v in pair) for pair in (self.interval, self.limits)
        )
        change = f"{self.value / self.nominal - 1.0:+.1%}"
        return (
            symbol_name(self.name), write_quantity(self.nominal, self.unit),
            write_quantity(self.value, self.unit) if told else "-", change if told else "-",
            interval if told else "-", limits, self.verdict,
        )  # fmt: skip


@dataclass(frozen=True)
class Fit:
    """Parts fitted to a measurement.

    Attributes
    ----------
    parts : tuple of FittedPart
        In the order asked.
    confidence : float
        Of the intervals, such as 0.95.
    rms_before, rms_after : float
        Root mean square of the residuals, in ``unit``.
    unit : str
        "dB" or "V".
    singular_values : array, shape (parts,)
        Of the slopes, largest first: how strongly the data hold each direction.
    untold : tuple of tuple of str
        Groups of parts that the data cannot tell from each other, or at all.
    hidden : tuple of str
        Parts that the data would tell, if the tolerances of the parts not fitted did not hide them.
    """

    parts: tuple[FittedPart, ...]
    confidence: float
    rms_before: float
    rms_after: float
    unit: str
    singular_values: Floats
    untold: tuple[tuple[str, ...], ...]
    hidden: tuple[str, ...] = ()

    header = ("part", "nominal", "fitted", "change", "interval", "tolerance", "verdict")

    @property
    def values(self) -> dict[str, float]:
        """Fitted value of every part that the data can tell, ohm or farad."""
        return {part.name: part.value for part in self.parts if part.verdict != "cannot be told"}

    @property
    def notes(self) -> tuple[str, ...]:
        """What the data cannot tell, and what to do."""
        found = []
        for group in self.untold:
            symbols = [symbol_name(name) for name in group]
            if len(group) == 1:
                found.append(f"{symbols[0]} cannot be told from this data: measure where it has an effect.")
            else:
                each = " and ".join([", ".join(symbols[:-1]), symbols[-1]])
                found.append(f"{each} cannot be told apart from this data: measure one of them alone.")
        found += [
            f"{symbol_name(name)} is hidden by the tolerances of parts not fitted: fit or measure them too."
            for name in self.hidden
        ]
        return tuple(found)

    @property
    def text(self) -> str:
        """The table and what the data cannot tell, as plain text."""
        lines = [text_table(self.header, (part.cells for part in self.parts))]
        before, after = (f"{value:.3g} {self.unit}" for value in (self.rms_before, self.rms_after))
        lines.append(f"{self.confidence:.0%} intervals, parts not fitted anywhere within tolerance")
        lines.append(f"rms difference {before} before, {after} after")
        return "\n".join([*lines, *self.notes])

    def __repr__(self) -> str:
        return self.text

    def _repr_markdown_(self) -> str:
        cells = ((f"${latex(part_symbol(part.name))}$", *part.cells[1:]) for part in self.parts)
        below = self.text.splitlines()[len(self.parts) + 1 :]
        return "\n\n".join([markdown_table(self.header, cells), *(sentence(line) for line in below)])
