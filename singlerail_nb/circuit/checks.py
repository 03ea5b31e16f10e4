"""Questions asked of the graph before anything is solved."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from ..errors import CircuitError, UnknownNameError
from .circuit import Circuit, closest
from .elements import GROUND

FindingKind = Literal["floating node", "no DC path", "shorted source"]


@dataclass(frozen=True, slots=True)
class Finding:
    """Something wrong with a circuit, found without solving it.

    Attributes
    ----------
    kind : "floating node", "no DC path" or "shorted source"
        The kind of fault.
    node : str
        Where it is.
    opamp_pin : bool
        True if an op-amp input sits on the node.
    capacitors : tuple of str
        Capacitors that hold the charge of the node (for "no DC path").
    message : str
        One sentence, with what follows from it.
    remedy : str
        What to do.
    """

    kind: FindingKind
    node: str
    opamp_pin: bool
    capacitors: tuple[str, ...]
    message: str
    remedy: str


def drift_rate(capacitance: float, input_current: float) -> float:
    """Return how fast a node without a DC path drifts, in volts per second: dV/dt = I/C.

    Parameters
    ----------
    capacitance : float
        Total capacitance that holds the node, farad.
    input_current : float
        Current that flows into the node, ampere.

    Raises
    ------
    CircuitError
        If the capacitance is not positive.
    """
    if not capacitance > 0:
        raise CircuitError(
            "capacitance", capacitance, allowed="> 0 F", remedy="Give the capacitance at the node."
        )
    return input_current / capacitance


def check_circuit(circuit: Circuit) -> tuple[Finding, ...]:
    """Return everything wrong with the graph of a circuit; empty when sound.

    Parameters
    ----------
    circuit : Circuit
        The circuit as it will be solved, absent parts already removed.
    """
    return (*_shorted_sources(circuit), *_floating_nodes(circuit), *_nodes_without_dc_path(circuit))


def _driven(circuit: Circuit) -> list[str]:
    return [GROUND, *(s.name for s in circuit.sources), *(o.output for o in circuit.opamps)]


def _shorted_sources(circuit: Circuit) -> Iterable[Finding]:
    """Find op-amp outputs on a node that is driven already (`Circuit.merged` refuses such wires)."""
    driven = {GROUND: "ground", **{source.name: f"source {source.name!r}" for source in circuit.sources}}
    for opamp in circuit.opamps:
        if opamp.output in driven:
            yield Finding(
                "shorted source",
                opamp.output,
                opamp_pin=_is_input(circuit, opamp.output),
                capacitors=(),
                message=f"the output of {opamp.name!r} is wired to {driven[opamp.output]}",
                remedy="Put a resistance in between.",
            )
        driven[opamp.output] = f"the output of {opamp.name!r}"


def _reached(circuit: Circuit, kinds: set[str], start: Iterable[str]) -> set[str]:
    reached = set(start)
    edges = [part.nodes for part in circuit.parts if part.kind in kinds]
    grown = True
    while grown:
        new = {b for a, b in edges if a in reached} | {a for a, b in edges if b in reached}
        grown = not new <= reached
        reached |= new
    return reached


def _floating_nodes(circuit: Circuit) -> Iterable[Finding]:
    reached = _reached(circuit, {"resistor", "capacitor"}, _driven(circuit))
    for node in circuit.nodes:
        if node not in reached:
            yield Finding(
                "floating node",
                node,
                opamp_pin=_is_input(circuit, node),
                capacitors=(),
                message=f"node {node!r} is joined to nothing that fixes its voltage",
                remedy="Join it through a part to ground, a source or an op-amp output.",
            )


def _nodes_without_dc_path(circuit: Circuit) -> Iterable[Finding]:
    anywhere = _reached(circuit, {"resistor", "capacitor"}, _driven(circuit))
    by_resistors = _reached(circuit, {"resistor"}, _driven(circuit))
    for node in circuit.nodes:
        if node in by_resistors or node not in anywhere:
            continue
        group = _reached(circuit, {"resistor"}, [node])
        held_by = tuple(p.name for p in circuit.capacitors if (p.nodes[0] in group) != (p.nodes[1] in group))
        pin = _is_input(circuit, node)
        yield Finding(
            "no DC path",
            node,
            opamp_pin=pin,
            capacitors=held_by,
            message=(
                f"node {node!r}{' (an op-amp input)' if pin else ''} has no DC path: any input or leakage "
                f"current charges {' and '.join(held_by)} and the node drifts at I/C"
            ),
            remedy="Give it a resistor to the mid-rail bias node or to ground.",
        )


def _is_input(circuit: Circuit, node: str) -> bool:
    return any(node in (opamp.plus, opamp.minus) for opamp in circuit.opamps)


def require_levels(circuit: Circuit, supply: float, levels: Mapping[str, float]) -> None:
    """Raise unless every source with a level of its own has one that the rail can provide.

    Where no mid-rail bias hangs on it, a reference may be the rail itself: its level equals the rail.

    Parameters
    ----------
    circuit : Circuit
        The circuit.
    supply : float
        Supply voltage, V.
    levels : mapping of str to float
        Level of each such source, V.

    Raises
    ------
    CircuitError
        If a level is missing, or not between ground and the rail.
    UnknownNameError
        If a level belongs to no source.
    """
    names = [source.name for source in circuit.level_sources]
    for name in levels:
        if name not in names:
            raise UnknownNameError(
                "level", name, allowed=f"a source of the {circuit.name} stage", remedy=closest(name, names)
            )
    for source in circuit.level_sources:
        if source.name not in levels:
            raise CircuitError(
                f"{circuit.name} stage",
                f"no level for {source.name}",
                allowed="a voltage for every Zener and reference",
                remedy=f'Give {source.name} ({source.label.lower()}), such as {source.name}="2.5 V".',
            )
        level = levels[source.name]
        is_the_rail = level == supply and source.kind == "regulated" and not circuit.has_node("bias")
        if not (0 < level < supply or is_the_rail):
            raise CircuitError(
                source.name,
                f"{level:g} V on a rail of {supply:g} V",
                allowed=f"above 0 V and below the rail ({supply:g} V)",
                remedy="It cannot work at or above the rail: choose one near half the lowest rail.",
            )


def require_sound(circuit: Circuit, allowed: Iterable[str] = ()) -> tuple[Finding, ...]:
    """Return the findings of a circuit, or raise if any of them is not expected.

    Parameters
    ----------
    circuit : Circuit
        The circuit as it will be solved.
    allowed : iterable of str
        Nodes whose findings are the point of the stage (teaching stages).

    Raises
    ------
    CircuitError
        On the first finding at any other node.
    """
    findings = check_circuit(circuit)
    expected = set(allowed)
    for finding in findings:
        if finding.node not in expected:
            raise CircuitError(
                f"{circuit.name} stage, {finding.kind}",
                finding.message,
                allowed="every node joined, with a DC path to ground, a source or an op-amp output",
                remedy=finding.remedy,
            )
    return findings
