"""Cut a circuit at its chief nodes into branches, and say what impedance each branch is."""

from __future__ import annotations

from dataclasses import dataclass, replace

import sympy

from .circuit import Circuit
from .elements import GROUND, Part
from .network_functions import transfer_function
from .nodal_analysis import Injection


@dataclass(frozen=True)
class Branch:
    """Parts that hang together without passing a chief node.

    Attributes
    ----------
    parts : tuple of Part
        Its parts, in order.
    ends : tuple of str
        The chief nodes it touches, in the order of the circuit.
    """

    parts: tuple[Part, ...]
    ends: tuple[str, ...]


def chief_nodes(circuit: Circuit) -> tuple[str, ...]:
    """Return the nodes at which a reader cuts the circuit: ground, sources, op-amp pins, bias.

    Parameters
    ----------
    circuit : Circuit
        Any circuit.
    """
    pins = [node for opamp in circuit.opamps for node in (opamp.plus, opamp.minus, opamp.output)]
    bias = [circuit.node("bias")] if "bias" in (*circuit.nodes, *dict(circuit.aliases)) else []
    ends = [circuit.path[-1]]
    return tuple(dict.fromkeys([GROUND, *(s.name for s in circuit.sources), *bias, *pins, *ends]))


def branches(circuit: Circuit) -> tuple[Branch, ...]:
    """Return the branches of a circuit.

    Parameters
    ----------
    circuit : Circuit
        Any circuit.
    """
    chief = chief_nodes(circuit)
    groups: list[tuple[set[str], list[Part]]] = []
    for part in circuit.parts:
        inner = {node for node in part.nodes if node not in chief}
        touching = [group for group in groups if group[0] & inner]
        for group in touching:
            groups.remove(group)
        nodes = inner.union(*(group[0] for group in touching))
        groups.append((nodes, [p for group in touching for p in group[1]] + [part]))
    return tuple(
        Branch(tuple(parts), tuple(node for node in chief if any(node in p.nodes for p in parts)))
        for _, parts in groups
    )


def branches_between(circuit: Circuit, one: str, other: str) -> tuple[Branch, ...]:
    """Return the branches whose two ends are these nodes.

    Parameters
    ----------
    circuit : Circuit
        Any circuit.
    one, other : str
        Chief nodes.

    Raises
    ------
    UnknownNameError
        If a node does not exist.
    """
    ends = {circuit.node(one), circuit.node(other)}
    return tuple(branch for branch in branches(circuit) if set(branch.ends) == ends)


def impedance_between(circuit: Circuit, parts: tuple[Part, ...], one: str, other: str) -> sympy.Expr:
    """Return the impedance of some parts taken alone between two nodes, ohm.

    Parameters
    ----------
    circuit : Circuit
        The circuit they belong to.
    parts : tuple of Part
        The parts to keep.
    one, other : str
        The nodes between which it is seen.

    Raises
    ------
    CircuitError
        If the parts do not join the two nodes.
    """
    alone = replace(circuit, parts=parts, sources=(), opamps=(), aliases=(), path=())
    seen = alone.merged(circuit.node(other), GROUND)
    node = circuit.node(one)
    return transfer_function(seen, Injection(node), node).expression
