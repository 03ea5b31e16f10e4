"""What one channel hears of another through the bias node that they share."""

from __future__ import annotations

from typing import Literal

from ..circuit.blocks import numbered
from ..circuit.network_functions import node_ratio
from ..errors import QuantityError, UnknownNameError
from .network import Network, Solvable, require_stage
from .transfer import Transfer

SourceState = Literal["connected", "open"]


def crosstalk(
    stage: Solvable,
    heard: int = 1,
    speaking: int = 2,
    *,
    source: SourceState = "connected",
    node: str = "output",
) -> Transfer:
    """Return what comes out of one channel per volt at the output of the channel that speaks, V/V.

    Parameters
    ----------
    stage : Stage or Network
        With several channels.
    heard, speaking : int
        Channels, counted from 1.
    source : "connected" or "open"
        Whether the heard channel has its signal source; "open" is an open jack.
    node : str
        Where both are taken: ``"output"``, ``"plus"`` or another node that every channel has.

    Raises
    ------
    QuantityError
        If both channels are the same, or ``stage`` is no stage.
    UnknownNameError
        If there is no such channel, or the state of the source is unknown.
    """
    require_stage(stage)
    if heard == speaking:
        raise QuantityError(
            "speaking", speaking, allowed="another channel than the heard one", remedy="Choose two channels."
        )
    if source not in ("connected", "open"):
        raise UnknownNameError(
            "source", source, allowed="connected or open", remedy='"open" is an open jack.'
        )
    network = stage if source == "connected" else _unplugged(stage, heard)
    drive, far, near = numbered("signal", speaking), numbered(node, speaking), numbered(node, heard)
    network.circuit.source(drive)
    function = node_ratio(network.circuit, drive, near, far, network.model)
    return Transfer(function, dict(network.parameters), far, near)


def _unplugged(stage: Solvable, channel: int) -> Network:
    """Return the network with the source of a channel and its resistance taken off."""
    circuit, resistance = stage.circuit, numbered("r_source", channel)
    if resistance not in circuit.part_names:
        raise QuantityError(
            resistance, "0 ohm", allowed="> 0 ohm, if the source is to be taken off",
            remedy="Give the source a resistance, such as 1 ohm: a jack opens between the two.",
        )  # fmt: skip
    opened = circuit.opened(resistance)
    values = {name: stage.parameters[name] for name in opened.part_names}
    return Network(opened, values, stage.opamp, stage.supply)
