"""A DC load on the bias node: every stage that draws current there moves the rest of all others."""

from __future__ import annotations

from dataclasses import dataclass

from ..errors import QuantityError
from ..quantities import QuantityLike, read_quantity, write_quantity
from .operating_point import operating_point
from .stage import Stage


@dataclass(frozen=True)
class BiasLoad:
    """The bias node with a DC current drawn from it.

    Attributes
    ----------
    resting, loaded : float
        Voltage of the bias node without and with the current, V.
    resistance : float
        Of the bias node at DC, ohm.
    current : float
        Drawn from the node, A; negative if it is pushed into it.
    """

    resting: float
    loaded: float
    resistance: float
    current: float

    @property
    def moved(self) -> float:
        """How far the node moves, V; negative is down."""
        return self.loaded - self.resting

    def __repr__(self) -> str:
        volts = [write_quantity(v, "V") for v in (self.resting, self.loaded)]
        drawn, ohms = write_quantity(self.current, "A"), write_quantity(self.resistance, "ohm")
        return f"bias at {volts[0]}; with {drawn} drawn through {ohms} at {volts[1]}"

    def largest_current(self, allowed: QuantityLike) -> float:
        """Return the current at which the node has moved by so much, A.

        Parameters
        ----------
        allowed : float or str
            How far it may move, V.

        Raises
        ------
        QuantityError
            If the voltage cannot be read or is not positive.
        """
        volts = read_quantity(allowed, "V", name="allowed", low=0.0)
        if not self.resistance > 0:
            raise QuantityError(
                "bias node", "0 ohm", allowed="a node with a resistance", remedy="A firm node does not move."
            )
        return volts / self.resistance


def bias_load(stage: Stage, current: QuantityLike = 0.0) -> BiasLoad:
    """Return what a DC current drawn from the bias node does to its voltage.

    Parameters
    ----------
    stage : Stage
        A stage with a mid-rail bias.
    current : float or str
        Drawn from the node, A.

    Raises
    ------
    UnknownNameError
        If the stage has no bias node.
    QuantityError
        If the current cannot be read.
    """
    drawn = read_quantity(current, "A", name="current")
    ohms = float(stage.node_impedance("bias")(0.0).real)
    resting = operating_point(stage).voltage("bias")
    return BiasLoad(resting, resting - drawn * ohms, ohms, drawn)
