"""A circuit: named parts between named nodes, fed by ideal sources."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from ..errors import CircuitError, UnknownNameError
from .elements import GROUND, OpAmpPart, Part, Source
from .printed_names import symbol_name


def closest(name: str, known: Iterable[str]) -> str:
    """Return a did-you-mean sentence for a misspelt name, or a list of the known ones.

    A part is also found by the symbol on the drawing: R_A is ``r_top``.

    Parameters
    ----------
    name : str
        The name that was not found.
    known : iterable of str
        The names that exist.
    """
    names = sorted(known)
    drawn = {symbol_name(each).lower(): each for each in names if each.startswith(("r_", "c_"))}
    small = drawn | {each.lower(): each for each in names}
    near = difflib.get_close_matches(str(name).strip().lower(), small, n=1)
    return f"Did you mean {small[near[0]]!r}?" if near else f"Choose one of: {', '.join(names)}."


@dataclass(frozen=True)
class Circuit:
    """Parts, sources and op-amps; immutable, hashable, without values.

    Attributes
    ----------
    name : str
        Name of the stage it describes.
    parts : tuple of Part
        In the order in which tables and sliders show them.
    sources : tuple of Source
        Ideal voltage sources to ground.
    opamps : tuple of OpAmpPart
        Amplifiers; a node driven by one is driven by nothing else.
    path : tuple of str
        Nodes along the signal path, from the source to the output.
    aliases : tuple of (str, str)
        Names of nodes that were merged, with the node they are now.
    """

    name: str
    parts: tuple[Part, ...]
    sources: tuple[Source, ...]
    opamps: tuple[OpAmpPart, ...]
    path: tuple[str, ...]
    aliases: tuple[tuple[str, str], ...] = field(default=())

    @property
    def part_names(self) -> tuple[str, ...]:
        """Names of all parts, in order."""
        return tuple(part.name for part in self.parts)

    @property
    def nodes(self) -> tuple[str, ...]:
        """All nodes except ground, in order of first appearance."""
        seen: dict[str, None] = {source.name: None for source in self.sources}
        for part in self.parts:
            seen.update(dict.fromkeys(part.nodes))
        for opamp in self.opamps:
            seen.update(dict.fromkeys((opamp.plus, opamp.minus, opamp.output)))
        seen.pop(GROUND, None)
        return tuple(seen)

    @property
    def capacitors(self) -> tuple[Part, ...]:
        """The capacitors, in order."""
        return tuple(part for part in self.parts if part.kind == "capacitor")

    @property
    def resistors(self) -> tuple[Part, ...]:
        """The resistors, in order."""
        return tuple(part for part in self.parts if part.kind == "resistor")

    @property
    def level_sources(self) -> tuple[Source, ...]:
        """The sources that have a level of their own: constants and references."""
        return tuple(source for source in self.sources if source.kind != "driven")

    def part(self, name: str) -> Part:
        """Return the part of that name.

        Parameters
        ----------
        name : str
            Argument name, such as ``"r_f"``.

        Raises
        ------
        UnknownNameError
            If the circuit has no such part.
        """
        for part in self.parts:
            if part.name == name:
                return part
        raise UnknownNameError(
            "part", name, allowed=f"a part of the {self.name} stage", remedy=closest(name, self.part_names)
        )

    def node(self, name: str) -> str:
        """Return the node that a name stands for, following merged nodes.

        Parameters
        ----------
        name : str
            A node name of the stage, merged or not.

        Raises
        ------
        UnknownNameError
            If the circuit has no such node.
        """
        known = dict(self.aliases)
        if name in known:
            return known[name]
        if name == GROUND or name in self.nodes:
            return name
        raise UnknownNameError(
            "node",
            name,
            allowed=f"a node of the {self.name} stage",
            remedy=closest(name, [*self.nodes, *known]),
        )

    def has_node(self, name: str) -> bool:
        """Return whether a name stands for a node, merged or not.

        Parameters
        ----------
        name : str
            Any name.
        """
        return name in self.nodes or name in dict(self.aliases)

    def source(self, name: str) -> Source:
        """Return the source of that name.

        Parameters
        ----------
        name : str
            ``"signal"``, ``"supply"`` or another source of the circuit.

        Raises
        ------
        UnknownNameError
            If the circuit has no such source.
        """
        for source in self.sources:
            if source.name == name:
                return source
        raise UnknownNameError(
            "source",
            name,
            allowed=f"a source of the {self.name} stage",
            remedy=closest(name, [source.name for source in self.sources]),
        )

    def opamp(self, name: str) -> OpAmpPart:
        """Return the op-amp of that name.

        Parameters
        ----------
        name : str
            Name of an op-amp of the circuit.

        Raises
        ------
        UnknownNameError
            If the circuit has no such op-amp.
        """
        for opamp in self.opamps:
            if opamp.name == name:
                return opamp
        raise UnknownNameError(
            "op-amp",
            name,
            allowed=f"an op-amp of the {self.name} stage",
            remedy=closest(name, [opamp.name for opamp in self.opamps]),
        )

    def opened(self, *names: str) -> Circuit:
        """Return the circuit with these parts taken out (open circuit).

        Parameters
        ----------
        *names : str
            Part names.

        Raises
        ------
        UnknownNameError
            If a part does not exist.
        """
        gone = {self.part(name).name for name in names}
        return replace(self, parts=tuple(part for part in self.parts if part.name not in gone))

    def shorted(self, *names: str) -> Circuit:
        """Return the circuit with these parts replaced by a wire; their nodes are merged.

        Parameters
        ----------
        *names : str
            Part names.

        Raises
        ------
        UnknownNameError
            If a part does not exist.
        CircuitError
            If the wire would join two driven nodes.
        """
        circuit = self
        for name in names:
            part = circuit.part(name)
            circuit = circuit.opened(name).merged(*part.nodes)
        return circuit

    def silenced(self, *names: str) -> Circuit:
        """Return the circuit with these sources at 0 V: their nodes become ground.

        Parameters
        ----------
        *names : str
            Source names.

        Raises
        ------
        UnknownNameError
            If a source does not exist.
        """
        quiet = {self.source(name).name for name in names}
        kept = tuple(source for source in self.sources if source.name not in quiet)
        circuit = replace(self, sources=kept)
        for name in quiet:
            circuit = circuit.merged(GROUND, name)
        return circuit

    def merged(self, one: str, other: str) -> Circuit:
        """Return the circuit with two nodes joined by a wire; both names stay valid.

        Parameters
        ----------
        one, other : str
            Nodes.

        Raises
        ------
        CircuitError
            If both nodes are driven.
        """
        if one == other:
            return self
        driven = [GROUND, *(s.name for s in self.sources), *(o.output for o in self.opamps)]
        if one in driven and other in driven:
            raise CircuitError(
                f"wire from {one} to {other}",
                "0 ohm",
                allowed="a wire may not join ground, a source or an op-amp output to another of them",
                remedy=f"Put a resistance between {one} and {other}, or take the wire out.",
            )
        named = [*driven, *self.path]
        kept, gone = (one, other) if _rank(one, named) <= _rank(other, named) else (other, one)

        def renamed(node: str) -> str:
            return kept if node == gone else node

        parts = tuple(replace(p, nodes=(renamed(p.nodes[0]), renamed(p.nodes[1]))) for p in self.parts)
        opamps = tuple(
            replace(o, plus=renamed(o.plus), minus=renamed(o.minus), output=renamed(o.output))
            for o in self.opamps
        )
        aliases = (*((name, renamed(node)) for name, node in self.aliases), (gone, kept))
        path = tuple(dict.fromkeys(renamed(node) for node in self.path))
        return replace(self, parts=parts, opamps=opamps, aliases=aliases, path=path)


def _rank(node: str, named: list[str]) -> int:
    return named.index(node) if node in named else len(named)
