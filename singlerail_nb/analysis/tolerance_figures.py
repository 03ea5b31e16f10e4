"""Figures of a stage that tolerances move: each knows how to find itself on many boards at once.

A figure is one of five kinds, and the kind says how it depends on the parts: the magnitude of a
network function at a frequency, a cut-off, a resting voltage, the output swing, or the settling
time of a start-up.  Sensitivities and proofs of extremes read the kind.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal, Protocol

import numpy as np

from .boards import BoardFigures, Floats, evaluate_boards, evaluate_midband, evaluate_top_cutoffs
from .stage import Stage
from .supply_rejection import supply_rejection
from .tolerance_boards import Boards
from .transfer import Transfer


class Figure(Protocol):
    """A number of a stage that depends on its parts."""

    @property
    def name(self) -> str:
        """Its name as an attribute of results."""

    @property
    def label(self) -> str:
        """What it is, for tables."""

    @property
    def unit(self) -> str:
        """Unit as `write_quantity` knows it."""

    def on(self, boards: Measured) -> Floats:
        """Return the figure of every board, shape (boards,).

        Parameters
        ----------
        boards : Measured
            The boards.
        """


class Measured(Boards):
    """Boards that remember what several figures share."""

    @cached_property
    def signal(self) -> BoardFigures:
        """Mid-band gain and low-end cut-off: one run gives both."""
        return evaluate_boards(self.stage, self.network_values)


@dataclass(frozen=True)
class Magnitude:
    """The magnitude of a network function in mid-band or at one frequency.

    Attributes
    ----------
    name, label, unit : str
        For results and tables.
    of : "signal", "input" or "supply"
        Signal to output, input impedance, or supply to output.
    frequency : float, optional
        Hz; mid-band unless given.
    """

    name: str
    label: str
    unit: str
    of: Literal["signal", "input", "supply"]
    frequency: float | None = None

    def transfer(self, stage: Stage) -> Transfer:
        """Return the network function of a stage.

        Parameters
        ----------
        stage : Stage
            The stage.
        """
        return stage.input_impedance() if self.of == "input" else stage.transfer(self.of, "output")

    def on(self, boards: Measured) -> Floats:
        """Return the magnitude on every board, shape (boards,).

        Parameters
        ----------
        boards : Measured
            The boards.
        """
        if self.frequency is not None:
            response = boards.response(self.transfer(boards.stage).function, self.frequency)
            return np.asarray(np.abs(response))
        if self.of == "signal":
            return boards.signal.midband_gain
        return evaluate_midband(boards.stage, boards.network_values, self.transfer(boards.stage))


@dataclass(frozen=True)
class Cutoff:
    """A cut-off at half power relative to the board's own mid-band gain.

    Attributes
    ----------
    name, label : str
        For results and tables.
    edge : "low" or "high"
        Which one.
    unit : str
        Hz.
    """

    name: str
    label: str
    edge: Literal["low", "high"]
    unit: str = "Hz"

    def transfer(self, stage: Stage) -> Transfer:
        """Return the network function of a stage.

        Parameters
        ----------
        stage : Stage
            The stage.
        """
        return stage.transfer("signal", "output")

    def on(self, boards: Measured) -> Floats:
        """Return the cut-off of every board, Hz, shape (boards,).

        Parameters
        ----------
        boards : Measured
            The boards.
        """
        if self.edge == "low":
            return boards.signal.low_cutoff
        return evaluate_top_cutoffs(boards.stage, boards.network_values)


@dataclass(frozen=True)
class DroopAt:
    """How far the gain has dropped below the board's own mid-band at a frequency.

    Attributes
    ----------
    frequency : float
        Hz.
    name, label, unit : str
        For results and tables.
    """

    frequency: float
    name: str = "droop"
    label: str = "droop"
    unit: str = "dB"

    def on(self, boards: Measured) -> Floats:
        """Return the droop of every board, dB, shape (boards,).

        Parameters
        ----------
        boards : Measured
            The boards.
        """
        there = np.abs(boards.transfer("signal", "output", self.frequency))
        return np.asarray(20.0 * np.log10(boards.signal.midband_gain / there))


@dataclass(frozen=True)
class Ripple:
    """From rail to output by both ways: the bias, and the op-amp's own finite supply rejection.

    Attributes
    ----------
    frequency : float
        Hz.
    name, label, unit : str
        For results and tables.
    """

    frequency: float
    name: str = "ripple"
    label: str = "ripple by both paths"
    unit: str = "V/V"

    def on(self, boards: Measured) -> Floats:
        """Return the magnitude of the phasor sum on every board, V/V, shape (boards,).

        Parameters
        ----------
        boards : Measured
            The boards.
        """
        total = np.zeros(len(boards), dtype=np.complex128)
        for transfer, rejection in supply_rejection(boards.stage).total.terms:
            share = 1.0 if rejection is None else rejection(self.frequency)
            total += share * boards.response(transfer.function, self.frequency)
        return np.asarray(np.abs(total))
