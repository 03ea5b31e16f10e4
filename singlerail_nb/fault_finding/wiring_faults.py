"""Faults between parts: a rail that sags, a bias node that is loaded, ends on the wrong node."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ..analysis.stage import Stage
from ..circuit.elements import GROUND, Part
from ..quantities import write_quantity
from .board import Board
from .faults import Change, Fault, fault_kind

SAGGED = 2.0 / 3.0
"""A 9 V battery at its end, or a long thin supply wire (common practice, no published source)."""


@fault_kind("rail")
def sagging_rail(stage: Stage) -> Iterator[Fault]:
    """Yield the rail at two thirds of its voltage.

    Parameters
    ----------
    stage : Stage
        The sound stage.
    """
    volts = SAGGED * stage.supply
    yield Fault(
        "supply sags", "rail", "supply",
        f"The rail is at {write_quantity(volts, 'V')} instead of {write_quantity(stage.supply, 'V')}.",
        "A battery at its end, a long thin wire, or a diode in the supply lead.",
        "It stays at that voltage; a Zener or reference above it no longer holds.",
        _sagging(volts),
    )  # fmt: skip


def _sagging(volts: float) -> Change:
    def change(board: Board) -> Board:
        regulated = {source.name for source in board.circuit.sources if source.kind == "regulated"}
        levels = {n: min(v, volts) if n in regulated else v for n, v in board.levels.items()}
        return replace(board, supply=volts, levels=levels)

    return change


@fault_kind("loaded")
def loaded_bias(stage: Stage) -> Iterator[Fault]:
    """Yield the bias node with a load to ground as large as its own resistance.

    Parameters
    ----------
    stage : Stage
        The sound stage.
    """
    if not stage.circuit.has_node("bias"):
        return
    own = abs(stage.node_impedance("bias")(0.0))
    if not own > 0.0:
        return
    yield Fault(
        "bias loaded", "loaded", "bias",
        f"Something else draws on the bias node: {write_quantity(own, 'ohm', 3)} to ground.",
        "The bias was used as the return of another load: an indicator, a converter input, a second board.",
        "The load is as large as the node's own resistance, so the voltage of a divider halves.",
        _with_load(own),
    )  # fmt: skip


def _with_load(value: float) -> Change:
    def change(board: Board) -> Board:
        part = Part("r_extra", "resistor", ("bias", GROUND), "Foreign load on the bias node")
        circuit = replace(board.circuit, parts=(*board.circuit.parts, part))
        return board.changed(circuit, r_extra=value)

    return change


@fault_kind("wrong node")
def wrong_node(stage: Stage) -> Iterator[Fault]:
    """Yield ends that should go to ground and go elsewhere.

    Parameters
    ----------
    stage : Stage
        The sound stage.
    """
    parts = {part.name: part for part in stage.circuit.parts}
    if "c_bias" in parts and GROUND in parts["c_bias"].nodes:
        yield Fault(
            "c_bias to the rail", "wrong node", "c_bias",
            "c_bias goes to the rail instead of ground, so it hands the ripple of the rail to the bias.",
            "It is the next row of the breadboard, and at DC nothing changes.",
            change=_moved("c_bias", "supply"),
        )  # fmt: skip
    leg = "c_g" if "c_g" in parts else "r_g"
    if leg in parts and stage.circuit.has_node("bias") and GROUND in parts[leg].nodes:
        yield Fault(
            f"{leg} to bias", "wrong node", leg,
            f"The gain leg ends on the bias node instead of ground: {leg} goes to bias.",
            "A drawing for two rails was copied, and its ground was read as the mid-rail bias.",
            change=_moved(leg, "bias"),
        )  # fmt: skip


def _moved(name: str, to: str) -> Change:
    def change(board: Board) -> Board:
        def ends(part: Part) -> Part:
            one, other = (to if node == GROUND else node for node in part.nodes)
            return replace(part, nodes=(one, other)) if part.name == name else part

        return board.changed(replace(board.circuit, parts=tuple(ends(p) for p in board.circuit.parts)))

    return change
