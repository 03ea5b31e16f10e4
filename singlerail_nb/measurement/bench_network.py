"""A stage as it is while somebody measures: with an instrument at one of its nodes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from ..analysis.network import Network
from ..analysis.stage import Stage
from .instruments import PROBE, Instrument, loaded


@dataclass(frozen=True)
class BenchNetwork(Network):
    """A stage with an instrument at one of its nodes.

    Attributes
    ----------
    levels : mapping of str to float
        DC value of every source that has one of its own, V.
    """

    levels: Mapping[str, float] = field(default_factory=dict)


def on_the_bench(stage: Stage, node: str, probe: Instrument | None) -> tuple[BenchNetwork, str]:
    """Return the circuit as it is while somebody measures, and the node that the instrument shows.

    Parameters
    ----------
    stage : Stage
        The stage.
    node : str
        Where the instrument looks.
    probe : Instrument or None
        The instrument; None draws nothing.

    Raises
    ------
    UnknownNameError
        If the node does not exist.
    """
    if probe is None:
        values = {part.name: stage.values[part.name] for part in stage.circuit.parts}
        network = Network(stage.circuit, values, stage.opamp, stage.supply)
        shown = stage.circuit.node(node)
    else:
        network, shown = loaded(stage, node, probe), PROBE
    return BenchNetwork(network.circuit, network.values, network.opamp, network.supply, stage.levels), shown
