"""The single items of a drawing, each with its texts in place."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from ...circuit.elements import GROUND, OpAmpPart, Part
from .chains import RAILS, SUPPLY, Chain
from .sheet import Anchor, Item, Text, TextKind
from .symbols import FONT_SIZES, SYMBOLS, text_width

LENGTH = 6
"""Grid steps from terminal to terminal of a part."""
LINE_HEIGHT = 1.6
"""Grid steps from text to text beside an upright part."""


@dataclass(frozen=True)
class Captions:
    """What is written beside the items.

    Attributes
    ----------
    symbols : mapping of str to str
        Designator of each part and of the supply, such as ``"C_in"``.
    room : mapping of str to str
        For each part, the supply and each level: a text as wide as its value may become.  Empty to
        draw without values.
    plus : mapping of str to int
        For each capacitor with a resting voltage: the terminal that is more positive.
    zeners : mapping of str to str
        For each resistance that is drawn as a Zener: the name of its knee voltage.
    voltage : str
        A text as wide as a resting voltage beside a node name; empty to draw without.
    """

    symbols: Mapping[str, str]
    room: Mapping[str, str]
    plus: Mapping[str, int]
    zeners: Mapping[str, str]
    voltage: str = ""


class Pen:
    """Makes items.

    Parameters
    ----------
    captions : Captions
        What to write.
    """

    def __init__(self, captions: Captions) -> None:
        self.captions = captions

    def part(self, part: Part, first: str, x: int, y: int, turn: int) -> Item:
        """Return a part.

        Parameters
        ----------
        part : Part
            What to draw.
        first : str
            The node at its left or upper terminal.
        x, y : int
            Its centre, in grid steps.
        turn : int
            0 to draw it lying, 90 upright.
        """
        shape = "zener" if part.name in self.captions.zeners else "one_way" if part.one_way else part.kind
        texts = self._beside(part, x, y) if turn else self._above_and_below(part, shape, x, y)
        turn += 0 if first == part.nodes[0] else 180
        return Item(shape, part.name, part.nodes, x, y, turn, texts, self.captions.plus.get(part.name))

    def _above_and_below(self, part: Part, shape: str, x: int, y: int) -> tuple[Text, ...]:
        half = SYMBOLS[shape].body.bottom
        designator, *value = self._lines("symbol", part.name, x, "middle")
        return (designator.moved(0, y - half - 0.75), *(text.moved(0, y + half + 1.4) for text in value))

    def _beside(self, part: Part, x: int, y: int) -> tuple[Text, ...]:
        """Return designator and value at the right; at the left of a Zener its knee voltage."""
        columns = [self._lines("symbol", part.name, x + 1.9, "start")]
        if part.name in self.captions.zeners:
            columns.append(self._lines("node", self.captions.zeners[part.name], x - 1.5, "end"))
        return tuple(
            line.moved(0, y + 0.55 + LINE_HEIGHT * (n - (len(lines) - 1) / 2))
            for lines in columns
            for n, line in enumerate(lines)
        )

    def _lines(self, kind: TextKind, name: str, x: float, anchor: Anchor) -> list[Text]:
        """Return the name of a part or level and, under it, its value, both in row 0."""
        content = self.captions.symbols[name] if kind == "symbol" else name
        first = Text(kind, name, content, x, 0, anchor)
        room = self.captions.room.get(name, "")
        return [first, *([Text("value", name, "", x, 0, anchor, room)] if room else [])]

    def row(self, chain: Chain, x: int, y: int, pitch: int) -> list[Item]:
        """Return a chain from left to right.

        Parameters
        ----------
        chain : Chain
            What to draw.
        x, y : int
            Where its first terminal is, in grid steps.
        pitch : int
            Grid steps from part to part.
        """
        pairs = enumerate(zip(chain.parts, chain.nodes, strict=False))
        return [self.part(part, node, x + LENGTH // 2 + pitch * n, y, 0) for n, (part, node) in pairs]

    def hanging(self, chain: Chain, x: int, y: int) -> list[Item]:
        """Return a chain that hangs from a point, or stands on it if it leads to the supply.

        Parameters
        ----------
        chain : Chain
            What to draw, seen from the point.
        x, y : int
            The point, in grid steps.
        """
        up = chain.ends[1] == SUPPLY
        step = -LENGTH if up else LENGTH
        items = [self.rail(SUPPLY, x, y)] if chain.ends[0] == SUPPLY else []
        for n, part in enumerate(chain.parts):
            items.append(self.part(part, chain.nodes[n + up], x, y + step * n + step // 2, 90))
        if chain.ends[1] in RAILS:
            items.append(self.rail(chain.ends[1], x, y + step * len(chain.parts)))
        return items

    def rail(self, node: str, x: int, y: int, aside: int = 0) -> Item:
        """Return the symbol of a rail.

        Parameters
        ----------
        node : str
            ``"supply"`` or ``"ground"``.
        x, y : int
            What it is joined to, in grid steps.
        aside : int
            0, or 2 to draw it so many grid steps further left, with a lead.
        """
        text = Text("symbol", SUPPLY, self.captions.symbols[SUPPLY], x - aside, y - 1.35, "middle")
        shape = f"{node}_left" if aside else node
        return Item(shape, node, (node,), x, y, 0, (text,) if node == SUPPLY else ())

    def input(self, name: str, x: int, y: int) -> list[Item]:
        """Return a signal source that stands on ground.

        Parameters
        ----------
        name : str
            Its name, and its node.
        x, y : int
            Its upper terminal, in grid steps.
        """
        label = Text("node", name, name, x + 1.0, y + 5.4)
        return [Item("input", name, (name, GROUND), x, y + 3, 90, (label,)), self.rail(GROUND, x, y + 6)]

    def reference(self, name: str, x: int, y: int) -> list[Item]:
        """Return a voltage made from the rail, as a block.

        Parameters
        ----------
        name : str
            Its name, and its node.
        x, y : int
            Its centre, in grid steps.
        """
        lines = self._lines("node", name, x, "middle")
        top = y + 0.4 - 0.8 * (len(lines) - 1)
        texts = tuple(line.moved(0, top + 1.8 * n) for n, line in enumerate(lines))
        block = Item("reference", name, (name, SUPPLY, GROUND), x, y, 0, texts)
        return [block, self.rail(SUPPLY, x, y - 4), self.rail(GROUND, x, y + 4)]

    def name_room(self, node: str) -> int:
        """Return how long a wire must be to carry the name of its node, in grid steps.

        Parameters
        ----------
        node : str
            The node.
        """
        return math.ceil(text_width(node + self.captions.voltage, FONT_SIZES["node"]))

    def amplifier(self, opamp: OpAmpPart, *, minus_up: bool) -> list[Item]:
        """Return an op-amp about the origin with its supply pins.

        Parameters
        ----------
        opamp : OpAmpPart
            What to draw.
        minus_up : bool
            Whether its - input is the upper one.
        """
        shape = "opamp_minus_up" if minus_up else "opamp"
        nodes = (opamp.plus, opamp.minus, opamp.output, SUPPLY, GROUND)
        body = Item(shape, opamp.name, nodes, 0, 0)
        inputs = zip(nodes[:2], body.terminals[:2], strict=True)
        on_rails = [self.rail(node, x, y, aside=2) for node, (x, y) in inputs if node in RAILS]
        return [body, self.rail(SUPPLY, 0, -4), self.rail(GROUND, 0, 4), *on_rails]

    def output(self, node: str, name: str, x: int, y: int) -> Item:
        """Return an output terminal.

        Parameters
        ----------
        node : str
            Its node.
        name : str
            What to call it.
        x, y : int
            Where it is, in grid steps.
        """
        label = Text("node", node, name, x + 1.1, y + 0.35, room=name + self.captions.voltage)
        return Item("output", node, (node,), x, y, 0, (label,))
