"""A circuit as chains: runs of parts in series between two nodes at which something else is joined."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

from ...circuit.circuit import Circuit
from ...circuit.elements import GROUND, Part

SUPPLY, BIAS = "supply", "bias"
RAILS = (GROUND, SUPPLY)
"""Nodes drawn as a small symbol at every place where they are used."""


@dataclass(frozen=True, slots=True)
class Chain:
    """Parts in series.

    Attributes
    ----------
    parts : tuple of Part
        In order.
    nodes : tuple of str
        One more than parts: the nodes before, between and after them.
    """

    parts: tuple[Part, ...]
    nodes: tuple[str, ...]

    @property
    def ends(self) -> tuple[str, str]:
        """The nodes that it joins."""
        return self.nodes[0], self.nodes[-1]

    def other(self, node: str) -> str:
        """Return the end that is not this one.

        Parameters
        ----------
        node : str
            One of the ends.
        """
        return self.nodes[-1] if node == self.nodes[0] else self.nodes[0]

    def seen_from(self, node: str) -> Chain:
        """Return the chain in the direction that starts at this end.

        Parameters
        ----------
        node : str
            One of the ends.
        """
        return self if node == self.nodes[0] else Chain(self.parts[::-1], self.nodes[::-1])


def with_zeners(circuit: Circuit) -> tuple[Circuit, dict[str, str]]:
    """Return the circuit with each Zener as one part to ground, and the knee source of each.

    A Zener is, as a network, a one-way resistance to a constant source; it is drawn as a diode.

    Parameters
    ----------
    circuit : Circuit
        The circuit to draw.

    Returns
    -------
    tuple of (Circuit, dict of str to str)
        The circuit without knee sources; name of the resistance to name of the source.
    """
    knees = {s.name for s in circuit.sources if s.kind == "constant"}
    zeners = {p.name: p.nodes[1] for p in circuit.parts if p.one_way and p.nodes[1] in knees}
    parts = tuple(replace(p, nodes=(p.nodes[0], GROUND)) if p.name in zeners else p for p in circuit.parts)
    sources = tuple(s for s in circuit.sources if s.name not in zeners.values())
    return replace(circuit, parts=parts, sources=sources), zeners


def stops(circuit: Circuit) -> frozenset[str]:
    """Return the nodes at which chains end: rails, sources, op-amp pins, junctions, the signal path, bias.

    Parameters
    ----------
    circuit : Circuit
        The circuit to draw.
    """
    pins = [pin for o in circuit.opamps for pin in (o.plus, o.minus, o.output)]
    fixed = {*RAILS, BIAS, *(s.name for s in circuit.sources), *pins, *circuit.path}
    ends = [node for part in circuit.parts for node in part.nodes]
    outputs = {node for node in ends if node.startswith("output")}
    return frozenset(fixed | outputs | {node for node in ends if ends.count(node) != 2})


def chains(circuit: Circuit) -> tuple[Chain, ...]:
    """Return the chains of a circuit, in the order of their first part; each part is in one.

    Parameters
    ----------
    circuit : Circuit
        The circuit to draw.
    """
    ends = stops(circuit)
    found: dict[str, Chain] = {}
    for part in circuit.parts:
        if part.name not in found:
            back = _walk(circuit, part, part.nodes[1], ends)
            chain = _walk(circuit, back.parts[-1], back.nodes[-1], ends)
            found.update(dict.fromkeys((p.name for p in chain.parts), chain))
    return tuple(dict.fromkeys(found.values()))


def _walk(circuit: Circuit, part: Part, start: str, ends: Collection[str]) -> Chain:
    """Follow parts in series from a node through a part, until the chain ends."""
    parts, nodes = [part], [start, _across(part, start)]
    while nodes[-1] not in ends and nodes[-1] != start:
        part = next(p for p in circuit.parts if nodes[-1] in p.nodes and p is not part)
        parts.append(part)
        nodes.append(_across(part, nodes[-1]))
    return Chain(tuple(parts), tuple(nodes))


def _across(part: Part, node: str) -> str:
    return part.nodes[1] if node == part.nodes[0] else part.nodes[0]
