"""A sheet with drawn items: where each stands, its terminals, its texts and the room they take."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal

from .symbols import FONT_SIZES, SYMBOLS, Box, Point, around, rotated, text_width

Anchor = Literal["start", "middle", "end"]
TextKind = Literal["symbol", "value", "node"]


@dataclass(frozen=True, slots=True)
class Text:
    """A line of text.

    Attributes
    ----------
    kind : "symbol", "value" or "node"
        What it is, which decides its looks.
    owner : str
        The part, source or node that it belongs to.
    content : str
        The text; in symbols, what follows ``_`` is set as a subscript.  Of a value it is empty: the
        value is written in last, so that it may change without a new layout.
    x, y : float
        Anchor on the base line, in grid steps.
    anchor : "start", "middle" or "end"
        Which point of the text stands there.
    room : str
        A text as wide as it may become; as it is if empty.
    """

    kind: TextKind
    owner: str
    content: str
    x: float
    y: float
    anchor: Anchor = "start"
    room: str = ""

    @property
    def box(self) -> Box:
        """The room it takes, in grid steps."""
        size, widest = FONT_SIZES[self.kind], self.room or self.content
        width = text_width(widest.replace("_", "") if self.kind == "symbol" else widest, size)
        left = self.x - {"start": 0.0, "middle": width / 2, "end": width}[self.anchor]
        below = 0.04 if self.kind == "symbol" else 0.025
        return Box(left, self.y - 0.08 * size, left + width, self.y + below * size)

    def moved(self, x: float, y: float) -> Text:
        """Return the text moved.

        Parameters
        ----------
        x, y : float
            Grid steps to the right and down.
        """
        return replace(self, x=self.x + x, y=self.y + y)


@dataclass(frozen=True)
class Item:
    """A shape on the sheet.

    Attributes
    ----------
    shape : str
        A name of the table of symbols.
    name : str
        The part, op-amp or source it stands for; the node of a rail or of the output terminal.
    nodes : tuple of str
        Node at each of its terminals.
    x, y : int
        Its centre, in grid steps.
    turn : int
        Clockwise, in degrees.
    texts : tuple of Text
        Its designator and its value.
    plus : int or None
        Of a capacitor: the terminal that is more positive at rest.
    """

    shape: str
    name: str
    nodes: tuple[str, ...]
    x: int
    y: int
    turn: int = 0
    texts: tuple[Text, ...] = ()
    plus: int | None = None

    @property
    def terminals(self) -> tuple[Point, ...]:
        """Its terminals, in the order of its nodes."""
        turned = (rotated(terminal, self.turn) for terminal in SYMBOLS[self.shape].terminals)
        return tuple((self.x + int(x), self.y + int(y)) for x, y in turned)

    @property
    def body(self) -> Box:
        """The room its shape takes."""
        return SYMBOLS[self.shape].body.turned(self.turn).moved(self.x, self.y)

    @property
    def plus_at(self) -> tuple[float, float] | None:
        """Centre of its polarity mark: beside the plate, on the side without a designator."""
        if self.plus is None:
            return None
        x, y = rotated((-1.15 if self.plus == 0 else 1.15, 0), self.turn)
        upright = self.turn in (90, 270)
        return self.x + x - 0.85 * upright, self.y + y + (0 if upright else 0.85)

    @cached_property
    def outline(self) -> tuple[Box, ...]:
        """Its boxes and its leads, but not the very ends where others may join."""
        body, short = self.body, 0.5 if len(self.terminals) == 2 else 0.0
        xs, ys = sorted(x for x, _ in self.terminals), sorted(y for _, y in self.terminals)
        across = Box(min(xs[0] + short, body.left), body.top, max(xs[-1] - short, body.right), body.bottom)
        down = Box(body.left, min(ys[0] + short, body.top), body.right, max(ys[-1] - short, body.bottom))
        return (across, down, *self.boxes)

    @property
    def leads(self) -> tuple[Box, ...]:
        """The room of the lines between its terminals and its shape."""
        body = self.body
        inner = [
            (min(max(x, body.left), body.right), min(max(y, body.top), body.bottom))
            for x, y in self.terminals
        ]
        pairs = zip(self.terminals, inner, strict=True)
        return tuple(
            Box(min(x, u) - 0.1, min(y, v) - 0.1, max(x, u) + 0.1, max(y, v) + 0.1)
            for (x, y), (u, v) in pairs
        )

    @property
    def boxes(self) -> tuple[Box, ...]:
        """Everything that nothing else may cover: shape, texts, polarity mark."""
        mark = [Box(-0.4, -0.4, 0.4, 0.4).moved(*self.plus_at)] if self.plus_at else []
        return (self.body, *(text.box for text in self.texts), *mark)

    def moved(self, x: int, y: int) -> Item:
        """Return the item moved.

        Parameters
        ----------
        x, y : int
            Grid steps to the right and down.
        """
        texts = tuple(text.moved(x, y) for text in self.texts)
        return replace(self, x=self.x + x, y=self.y + y, texts=texts)


@dataclass
class Sheet:
    """Items that do not overlap, and points that wires shall pass.

    Attributes
    ----------
    items : list of Item
        What is drawn.
    guides : list of (str, (int, int))
        Node and point: its wire goes through there, which makes neat corners.
    lanes : list of Box
        Room kept for wires.
    """

    items: list[Item] = field(default_factory=list)
    guides: list[tuple[str, Point]] = field(default_factory=list)
    lanes: list[Box] = field(default_factory=list)

    def put(self, *items: Item) -> None:
        """Add items.

        Parameters
        ----------
        *items : Item
            What to draw.
        """
        self.items.extend(items)

    def has_room(self, other: Sheet, gap: float = 0.4, right: int = 0, down: int = 0) -> bool:
        """Return whether everything of another sheet, moved, would stand free on this one.

        Parameters
        ----------
        other : Sheet
            What shall be added.
        gap : float
            Distance to keep, in grid steps.
        right, down : int
            How far it would be moved, in grid steps.
        """
        room = self.room
        moved = [box.moved(right, down) for box in other.room]
        return not any(box.meets(taken, gap) for box in moved for taken in room)

    @property
    def room(self) -> list[Box]:
        """Everything that is taken: shapes with their leads, texts, lanes."""
        return [*(box for item in self.items for box in item.outline), *self.lanes]

    def put_free(self, make: Callable[[int], list[Item]], start: int, step: int = 1, gap: float = 0.4) -> int:
        """Add a group at the first place where it stands free; return that place.

        Parameters
        ----------
        make : callable
            Makes the group for a column or row.
        start, step : int
            First place to try, and how to go on.
        gap : float
            Distance to keep, in grid steps.
        """
        place = start
        while not self.has_room(Sheet(make(place)), gap):
            place += step
        self.put(*make(place))
        return place

    def moved(self, x: int, y: int) -> Sheet:
        """Return a copy with everything moved.

        Parameters
        ----------
        x, y : int
            Grid steps to the right and down.
        """
        guides = [(node, (px + x, py + y)) for node, (px, py) in self.guides]
        lanes = [lane.moved(x, y) for lane in self.lanes]
        return Sheet([item.moved(x, y) for item in self.items], guides, lanes)

    def add(self, other: Sheet) -> None:
        """Take over everything of another sheet.

        Parameters
        ----------
        other : Sheet
            Another sheet.
        """
        self.items += other.items
        self.guides += other.guides
        self.lanes += other.lanes

    @property
    def extent(self) -> Box:
        """The room that everything takes."""
        return around(self.room)
