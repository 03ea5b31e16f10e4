"""Where the nodes rest when there is no signal."""

from __future__ import annotations

from dataclasses import dataclass

from ..circuit.elements import GROUND
from ..errors import QuantityError
from .stage import Stage


@dataclass(frozen=True)
class OperatingPoint:
    """Resting voltages of an idle stage whose op-amp obeys its loop.

    Attributes
    ----------
    stage : Stage
        The stage.
    voltages : dict of str to float
        Node -> voltage to ground, V.  A node without a DC path has no entry.
    """

    stage: Stage
    voltages: dict[str, float]

    def voltage(self, node: str) -> float:
        """Return the resting voltage of a node, V.

        A value outside the rail means that the real output rests against that rail.

        Parameters
        ----------
        node : str
            A node name.

        Raises
        ------
        UnknownNameError
            If the node does not exist.
        QuantityError
            If nothing fixes the voltage of the node.
        """
        name = self.stage.circuit.node(node)
        if name not in self.voltages:
            raise QuantityError(
                f"resting voltage of {node}",
                "undefined",
                allowed="a node with a DC path",
                remedy="Give the node a resistor to the mid-rail bias node; without it the node drifts.",
            )
        return self.voltages[name]


def operating_point(stage: Stage) -> OperatingPoint:
    """Return the resting voltage of every node, the supply on and the signal source at 0 V.

    Parameters
    ----------
    stage : Stage
        The stage.
    """
    undefined = _drifting_nodes(stage)
    voltages = {GROUND: 0.0}
    levels = {"supply": stage.supply, **stage.levels}
    for node in stage.circuit.nodes:
        if node not in undefined:
            voltages[node] = sum(
                volts * stage.transfer(source, node)(0.0).real for source, volts in levels.items()
            )
    return OperatingPoint(stage, voltages)


def _drifting_nodes(stage: Stage) -> set[str]:
    """Return the nodes without a DC path and all that follow from them."""
    circuit = stage.circuit
    driven = {GROUND, *(source.name for source in circuit.sources)}
    undefined = {finding.node for finding in stage.findings}
    grown = set(undefined)
    while grown:
        pins = [{o.plus, o.minus, o.output} for o in circuit.opamps if undefined & {o.plus, o.minus}]
        joined = [set(part.nodes) for part in circuit.resistors if undefined & set(part.nodes)]
        grown = set().union(*pins, *joined) - undefined - driven
        undefined |= grown
    return undefined
