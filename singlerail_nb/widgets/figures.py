"""Figures of a stage that a panel shows and requirements limit, by one vocabulary of measures.

The browser has the same measures; both compute from the network functions of the circuit.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

from ..analysis.stage import Stage
from ..analysis.transfer import Transfer
from ..errors import UnknownNameError
from ..quantities import write_quantity

Relation = Literal["at most", "at least", "within"]
RIPPLE_FREQUENCY = 100.0
"""Hz; twice the frequency of a 50 Hz mains, where a rectified supply ripples."""


@dataclass(frozen=True)
class Figure:
    """One number of a stage.

    Attributes
    ----------
    id : str
        Name for code and for requirements.
    label : str
        Name for readers.
    unit : str
        A name of the table of units.
    measure : str
        One of `MEASURES`.
    source, node : str
        Which network function it is read from.
    frequency : float or None
        Hz, for measures at one frequency.
    supply : float or None
        V, for resting voltages.
    hidden : bool
        True if only pictures need it.
    """

    id: str
    label: str
    unit: str
    measure: str
    source: str = "signal"
    node: str = "output"
    frequency: float | None = None
    supply: float | None = None
    hidden: bool = False

    def value(self, stage: Stage) -> float | None:
        """Return the figure of a stage in SI units; None where it does not exist.

        Parameters
        ----------
        stage : Stage
            The stage.

        Raises
        ------
        UnknownNameError
            If there is no such measure.
        """
        if self.measure not in MEASURES:
            raise UnknownNameError("measure", self.measure, allowed=", ".join(MEASURES), remedy="Use one of these.")
        number = MEASURES[self.measure](stage.transfer(self.source, self.node), self)
        return None if math.isnan(number) else number

    def describe(self) -> dict[str, Any]:
        """Return what the browser needs to compute the figure."""
        return {
            "id": self.id, "label": self.label, "unit": self.unit, "measure": self.measure,
            "output": f"{self.source}->{self.node}", "frequency": self.frequency,
            "supply": self.supply, "hidden": self.hidden,
        }  # fmt: skip


def _decibels(ratio: float) -> float:
    return 20.0 * math.log10(ratio) if ratio > 0 else -math.inf


def _rest(transfer: Transfer, figure: Figure) -> float:
    return float((figure.supply or math.nan) * transfer(0.0).real)


MEASURES: dict[str, Callable[[Transfer, Figure], float]] = {
    "midband_gain": lambda h, _: h.midband_gain(),
    "midband_gain_db": lambda h, _: _decibels(h.midband_gain()),
    "low_cutoff": lambda h, _: h.low_cutoff(),
    "high_cutoff": lambda h, _: h.high_cutoff(),
    "gain": lambda h, figure: float(abs(h(figure.frequency))),
    "gain_db": lambda h, figure: _decibels(abs(h(figure.frequency))),
    "relative_gain_db": lambda h, figure: _decibels(abs(h(figure.frequency)) / h.midband_gain()),
    "rest_voltage": _rest,
}
"""How each measure is read from a network function; results in SI units or dB."""


@dataclass(frozen=True)
class Limit:
    """A requirement on one figure.

    Attributes
    ----------
    figure : str
        Id of the figure.
    relation : "at most", "at least" or "within"
        How the figure must lie to the limit.
    limit : float or tuple of two float
        In the unit of the figure; a pair (lowest, highest) for "within".
    text : str
        The requirement in words; the label of the figure unless given.
    """

    figure: str
    relation: Relation
    limit: float | tuple[float, float]
    text: str = ""

    def keeps(self, value: float | None) -> bool | None:
        """Return whether a value keeps the limit; None where there is no value.

        Parameters
        ----------
        value : float or None
            In the unit of the figure.
        """
        if value is None:
            return None
        if isinstance(self.limit, tuple):
            return self.limit[0] <= value <= self.limit[1]
        return value <= self.limit if self.relation == "at most" else value >= self.limit

    def in_words(self, unit: str) -> str:
        """Return the limit as text, such as "at most 16 Hz".

        Parameters
        ----------
        unit : str
            Unit of the figure.
        """
        if isinstance(self.limit, tuple):
            return " to ".join(write_quantity(end, unit) for end in self.limit)
        return f"{self.relation} {write_quantity(self.limit, unit)}"


def standard_figures(stage: Stage) -> tuple[Figure, ...]:
    """Return the figures that every panel of a stage shows.

    Parameters
    ----------
    stage : Stage
        The stage.
    """
    figures = [
        Figure("midband_gain", "Mid-band gain", "V/V", "midband_gain"),
        Figure("low_cutoff", "Low-end cut-off", "Hz", "low_cutoff"),
    ]
    if math.isfinite(stage.transfer("signal", "output").high_cutoff()):
        figures.append(Figure("high_cutoff", "Top-end cut-off", "Hz", "high_cutoff"))
    at = write_quantity(RIPPLE_FREQUENCY, "Hz")
    return (
        *figures,
        Figure("ripple_bias", f"Rail ripple at bias, {at}", "dB", "gain_db", "supply", "bias", RIPPLE_FREQUENCY),
        Figure("ripple_output", f"Rail ripple at output, {at}", "dB", "gain_db", "supply", "output", RIPPLE_FREQUENCY),
        Figure("rest", "Output at rest", "V", "rest_voltage", "supply", "amp_out", supply=stage.supply),
        Figure("midband_gain_db", "Mid-band gain in decibels", "dB", "midband_gain_db", hidden=True),
    )
