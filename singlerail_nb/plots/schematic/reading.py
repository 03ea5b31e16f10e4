"""How a circuit reads: the lines along which it is drawn.

A *line* is a row of the drawing: nodes from left to right, each joined to the next by a chain or an
op-amp.  The first line is the signal path.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

from ...circuit.circuit import Circuit
from ...circuit.elements import OpAmpPart
from .chains import BIAS, RAILS, SUPPLY, Chain, chains, stops

Link = Chain | OpAmpPart


@dataclass(frozen=True, slots=True)
class Line:
    """A row of the drawing.

    Attributes
    ----------
    nodes : tuple of str
        From left to right.
    links : tuple of Chain or OpAmpPart
        What joins each node to the next.
    tail : Chain or None
        A last chain, which leads to a node of an earlier line.
    """

    nodes: tuple[str, ...]
    links: tuple[Link, ...] = ()
    tail: Chain | None = None

    @property
    def opamps(self) -> tuple[OpAmpPart, ...]:
        """The op-amps on it, from left to right."""
        return tuple(link for link in self.links if isinstance(link, OpAmpPart))

    @property
    def chains(self) -> tuple[Chain, ...]:
        """The chains on it, the tail included."""
        return tuple(link for link in (*self.links, self.tail) if isinstance(link, Chain))

    def around(self, opamp: OpAmpPart) -> tuple[set[str], set[str]]:
        """Return the nodes before an op-amp of the line, and those behind it up to the next.

        Parameters
        ----------
        opamp : OpAmpPart
            One of its op-amps.
        """
        at = self.links.index(opamp) + 1
        later = [n for n, link in enumerate(self.links) if n >= at and isinstance(link, OpAmpPart)]
        return set(self.nodes[:at]), set(self.nodes[at : later[0] + 1 if later else None])


class Reading:
    """A circuit sorted into lines.

    Parameters
    ----------
    circuit : Circuit
        The circuit to draw.

    Attributes
    ----------
    lines : list of Line
        The signal path first, then other inputs, then what makes the bias.
    attached : dict of str to OpAmpPart
        Op-amp inputs drawn with their op-amp, since they are on no line: summing nodes.
    chains : tuple of Chain
        All chains.
    """

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.chains = chains(circuit)
        self.lines: list[Line] = []
        self.attached: dict[str, OpAmpPart] = {}
        self._nodes = [n for n in circuit.nodes if n in stops(circuit) and n not in RAILS]
        self._outputs = {o.output for o in circuit.opamps}
        self._read()

    @property
    def inputs(self) -> tuple[str, ...]:
        """The signal sources."""
        return tuple(s.name for s in self.circuit.sources if s.kind == "driven" and s.name not in RAILS)

    @property
    def references(self) -> tuple[str, ...]:
        """The sources with a level of their own."""
        return tuple(s.name for s in self.circuit.level_sources)

    def at(self, node: str) -> list[Chain]:
        """Return the chains that end at a node, each seen from it.

        Parameters
        ----------
        node : str
            A node at which chains end.
        """
        return [chain.seen_from(node) for chain in self.chains if node in chain.ends]

    def loops(self, line: Line, opamp: OpAmpPart) -> list[Chain]:
        """Return the chains that lead back around an op-amp, each seen from its input side.

        Parameters
        ----------
        line : Line
            The line of the op-amp.
        opamp : OpAmpPart
            The op-amp.
        """
        before, behind = line.around(opamp)
        before |= {pin for pin, owner in self.attached.items() if owner == opamp}
        pairs = [(chain, a, b) for chain in self.chains for a, b in (chain.ends, chain.ends[::-1])]
        return [chain.seen_from(a) for chain, a, b in pairs if a in before and b in behind]

    def is_fed(self, node: str) -> bool:
        """Return whether a node belongs to the making of the bias.

        Parameters
        ----------
        node : str
            A node at which chains end.
        """
        return node == BIAS or any(chain.other(node) in (SUPPLY, *self.references) for chain in self.at(node))

    # ---- lines -------------------------------------------------------------------------------
    def _read(self) -> None:
        self._enter(self._signal_path())
        for source in self.inputs:
            if source not in self._covered():
                self._enter(self._input_line(source))
        while rest := [node for node in self._nodes if node not in self._covered()]:
            self._enter(self._bias_line(rest))

    def _covered(self) -> set[str]:
        return {node for line in self.lines for node in line.nodes} | set(self.attached)

    def _enter(self, line: Line) -> None:
        self.lines.append(line)
        for opamp in line.opamps:
            for pin in (opamp.plus, opamp.minus):
                if pin not in self._covered() and self._is_summing(pin):
                    self.attached[pin] = opamp

    def _is_summing(self, pin: str) -> bool:
        """Return whether nothing but feedback and a leg sits on an op-amp input."""
        has_input = {chain.other(pin) for chain in self.at(pin)} & set(self.inputs)
        return not (self.is_fed(pin) or pin in self._outputs or pin in RAILS or has_input)

    def _steps(self, node: str) -> Iterator[tuple[str, Link]]:
        """Yield where one can go from a node; an op-amp output is reached through the op-amp only."""
        for opamp in self.circuit.opamps:
            if node in (opamp.plus, opamp.minus):
                yield opamp.output, opamp
        for chain in self.at(node):
            if chain.other(node) not in {*RAILS, *self.inputs, *self.references, *self._outputs}:
                yield chain.other(node), chain

    def _reached(self, start: str, barred: Collection[str]) -> dict[str, Line]:
        """Return the shortest line from a node to each node that can be reached, nearest first."""
        found = {start: Line((start,))}
        waiting = [start]
        for node in waiting:
            way = found[node]
            for target, link in self._steps(node):
                if target not in found and target not in barred:
                    found[target] = Line((*way.nodes, target), (*way.links, link))
                    waiting.append(target)
        return found

    def _signal_path(self) -> Line:
        first, *marks = self.circuit.path
        line = Line((first,))
        for mark in marks:
            more = self._reached(line.nodes[-1], line.nodes[:-1]).get(mark)
            if more:
                line = Line((*line.nodes, *more.nodes[1:]), (*line.links, *more.links))
        return line

    def _input_line(self, source: str) -> Line:
        covered = self._covered()
        ways = self._reached(source, covered | {node for node in self._nodes if self.is_fed(node)})
        pins = {pin for o in self.circuit.opamps for pin in (o.plus, o.minus)} - self._outputs
        onward = [way for way in ways.values() if not (way.opamps and way.nodes[-1] in pins)]
        longest = max(onward, key=lambda way: (len(way.opamps), len(way.nodes)))
        return self._with_tail(longest, covered)

    def _bias_line(self, rest: list[str]) -> Line:
        """Return the line from what feeds the bias to the farthest node that serves another line."""
        covered = self._covered()
        start = min(rest, key=lambda node: (node not in self.references, not self.is_fed(node), node == BIAS))
        pins = {pin for o in self.circuit.opamps if o.output in covered for pin in (o.plus, o.minus)}
        ways = self._reached(start, covered)
        serving = [n for n in ways if n in pins or any(c.other(n) in covered for c in self.at(n))]
        return self._with_tail(ways[serving[-1] if serving else next(reversed(ways))], covered)

    def _with_tail(self, line: Line, covered: set[str]) -> Line:
        """Return a line of an input or a reference with the chain that leads to an earlier line."""
        last = line.nodes[-1]
        pins = {pin for o in self.circuit.opamps for pin in (o.plus, o.minus, o.output)}
        free = [c for c in self.at(last) if c.other(last) in covered]
        is_input = line.nodes[0] in (*self.inputs, *self.references) and last not in (BIAS, *pins)
        return Line(line.nodes, line.links, free[0]) if free and is_input else line
