"""Figures of a stage that a panel shows and requirements limit, by one vocabulary of measures.

The browser has the same measures; both compute from the network functions of the circuit.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import asdict, dataclass
from typing import Any, Literal

from ..analysis.operating_point import operating_point
from ..analysis.stage import Stage
from ..analysis.transfer import Transfer
from ..circuit.nodal_analysis import InputError
from ..errors import QuantityError, UnknownNameError
from ..quantities import write_quantity
from .functions import transfer_named

Relation = Literal["at most", "at least", "within"]
RIPPLE_FREQUENCY = 100.0
"""Hz; twice the frequency of a 50 Hz mains, where a rectified supply ripples."""

_AMPLIFIES_DC = 1.01
"""Noise gain at DC from which the resting output is more than the bias passed on."""


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
        One of `MEASURES`; "rest_voltage" with a node as ``output``; or "supply_current", which the
        bias source draws.
    output : str
        Name of the network function that it is read from.
    frequency : float or None
        Hz, for measures at one frequency.
    hidden : bool
        True if only pictures or requirements need it.
    """

    id: str
    label: str
    unit: str
    measure: str
    output: str = "signal->output"
    frequency: float | None = None
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
        if self.measure == "rest_voltage":
            return _rest(stage, self.output)
        if self.measure == "supply_current":
            return stage.divider_current()
        if self.measure not in MEASURES:
            raise UnknownNameError(
                "measure", self.measure, allowed=", ".join(MEASURES), remedy="Use one of these."
            )
        return MEASURES[self.measure](transfer_named(stage, self.output), self.frequency or 0.0)

    def describe(self, stage: Stage) -> dict[str, Any]:
        """Return what the browser needs to compute the figure.

        Parameters
        ----------
        stage : Stage
            The stage: its supply and levels enter resting voltages and currents.
        """
        terms = [(self.output, stage.supply)]
        if self.measure == "rest_voltage":
            held = {"supply": stage.supply, **stage.levels}
            exists = self.value(stage) is not None
            terms = [(f"{source}->{self.output}", volts) for source, volts in held.items() if exists]
        return asdict(self) | {"terms": terms}


_ROUNDING = 1e-12


def _rest(stage: Stage, node: str) -> float | None:
    try:
        return operating_point(stage).voltage(node)
    except QuantityError:  # nothing fixes the voltage of this node: the teaching stage without bias path
        return None


def _decibels(ratio: float) -> float:
    return 20.0 * math.log10(ratio) if ratio > 0 else -math.inf


MEASURES: dict[str, Callable[[Transfer, float], float]] = {
    "midband_gain": lambda h, _: h.midband_gain(),
    "midband_gain_db": lambda h, _: _decibels(h.midband_gain()),
    "low_cutoff": lambda h, _: h.low_cutoff(),
    "high_cutoff": lambda h, _: h.high_cutoff(),
    "dc_gain": lambda h, _: float(abs(h(0.0))),
    "gain": lambda h, f: float(abs(h(f))),
    "gain_db": lambda h, f: _decibels(abs(h(f))),
    "droop_db": lambda h, f: _decibels(h.midband_gain() / abs(h(f))),
}
"""How each measure is read from a network function at a frequency in Hz; results in SI units or dB."""


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
        low, high = self.limit if isinstance(self.limit, tuple) else (self.limit, self.limit)
        slack = _ROUNDING * max(abs(low), abs(high))
        not_below = self.relation == "at most" or value >= low - slack
        return not_below and (self.relation == "at least" or value <= high + slack)

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
    at = write_quantity(RIPPLE_FREQUENCY, "Hz")
    figures = [Figure("midband_gain", "Mid-band gain", "V/V", "midband_gain")]
    figures.append(Figure("low_cutoff", "Low-end cut-off", "Hz", "low_cutoff"))
    if math.isfinite(stage.transfer("signal", "output").high_cutoff()):
        figures.append(Figure("high_cutoff", "Top-end cut-off", "Hz", "high_cutoff"))
    nodes = ("bias", "output") if stage.type.uses_bias else ("output",)
    for node in nodes:
        text = f"Ripple at {node}, {at}"
        figures.append(Figure(f"ripple_{node}", text, "dB", "gain_db", f"supply->{node}", RIPPLE_FREQUENCY))
    figures.append(Figure("rest", "Output at rest", "V", "rest_voltage", "amp_out"))
    hidden = Figure("midband_gain_db", "Mid-band gain in decibels", "dB", "midband_gain_db", hidden=True)
    return (*figures, hidden)


def natural_limits(stage: Stage) -> tuple[Limit, ...]:
    """Return what holds for every stage: an output that amplifies DC must rest between ground and the rail.

    Parameters
    ----------
    stage : Stage
        The stage; of one that passes its bias on unamplified nothing needs to be asked.
    """
    gain = abs(stage.transfer(InputError("opamp"), "amp_out")(0.0))
    if gain < _AMPLIFIES_DC:
        return ()
    return (Limit("rest", "within", (0.0, stage.supply), "output at rest, between ground and rail"),)
