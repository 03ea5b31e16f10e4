"""The drawn shapes: what each looks like, where its terminals are and how much room it takes.

Shapes are given lying, first terminal at the left, in units of 1/10 grid step; a grid step is 10
units of the drawing.  Boxes and terminals are in grid steps.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

Point = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle, in grid steps; y runs down.

    Attributes
    ----------
    left, top, right, bottom : float
        Its sides.
    """

    left: float
    top: float
    right: float
    bottom: float

    def moved(self, x: float, y: float) -> Box:
        """Return the box moved by x to the right and y down.

        Parameters
        ----------
        x, y : float
            Grid steps.
        """
        return Box(self.left + x, self.top + y, self.right + x, self.bottom + y)

    def turned(self, turn: int) -> Box:
        """Return the box turned about the origin.

        Parameters
        ----------
        turn : int
            Clockwise, in degrees: 0, 90, 180 or 270.
        """
        corners = [rotated((self.left, self.top), turn), rotated((self.right, self.bottom), turn)]
        xs, ys = sorted(x for x, _ in corners), sorted(y for _, y in corners)
        return Box(xs[0], ys[0], xs[1], ys[1])

    def meets(self, other: Box, gap: float = 0.0) -> bool:
        """Return whether two boxes overlap or come closer than a gap.

        Parameters
        ----------
        other : Box
            The other one.
        gap : float
            Grid steps.
        """
        across = self.left < other.right + gap and other.left < self.right + gap
        return across and self.top < other.bottom + gap and other.top < self.bottom + gap

    def holds(self, x: float, y: float, gap: float = 0.0) -> bool:
        """Return whether a point is inside, or closer than a gap.

        Parameters
        ----------
        x, y : float
            The point.
        gap : float
            Grid steps.
        """
        return self.left - gap < x < self.right + gap and self.top - gap < y < self.bottom + gap


def around(boxes: Iterable[Box]) -> Box:
    """Return the smallest box that holds all of some boxes.

    Parameters
    ----------
    boxes : iterable of Box
        At least one.
    """
    lefts, tops, rights, bottoms = zip(*((b.left, b.top, b.right, b.bottom) for b in boxes), strict=True)
    return Box(min(lefts), min(tops), max(rights), max(bottoms))


def rotated(point: tuple[float, float], turn: int) -> tuple[float, float]:
    """Return a point turned clockwise about the origin, exactly.

    Parameters
    ----------
    point : tuple of float
        x to the right, y down.
    turn : int
        0, 90, 180 or 270 degrees.
    """
    x, y = point
    return {0: (x, y), 90: (-y, x), 180: (-x, -y), 270: (y, -x)}[turn]


@dataclass(frozen=True, slots=True)
class Symbol:
    """A shape.

    Attributes
    ----------
    path : str
        SVG path data.
    terminals : tuple of (int, int)
        Where wires are joined, in the order of the nodes of the part.
    body : Box
        The room it takes.
    """

    path: str
    terminals: tuple[Point, ...]
    body: Box


_AMPLIFIER = "M-40-40V40L40 0ZM-50-20h10M-50 20h10M40 0h10M0-20v-20M0 20v20"
_SIGNS = ("M-34-20h10m-5-5v10", "M-34 20h10", "M-34 20h10m-5-5v10", "M-34-20h10")
_SOURCE = "M-30 0h16m28 0h16M-14 0a14 14 0 1 1 28 0a14 14 0 1 1-28 0"
_TWO = ((-3, 0), (3, 0))
_AMPLIFIER_BODY = Box(-4, -4, 4, 4)

SYMBOLS = {
    "resistor": Symbol("M-30 0h13m34 0h13M-17-6.5h34v13h-34z", _TWO, Box(-1.7, -0.65, 1.7, 0.65)),
    "one_way": Symbol(
        "M-30 0h6m24 0h9m12 0h9M-24-6.5h24v13h-24zM9-7v14l12-7zM21-7v14", _TWO, Box(-2.4, -0.7, 2.1, 0.7)
    ),
    "zener": Symbol("M-30 0h23m14 0h23M7-9v18L-7 0zM-11-9h4v18h4", _TWO, Box(-1.1, -0.9, 0.7, 0.9)),
    "capacitor": Symbol("M-30 0h26.5m7 0h26.5M-3.5-13v26m7-26v26", _TWO, Box(-0.35, -1.3, 0.35, 1.3)),
    "input": Symbol(_SOURCE + "M0 7q-5-3.5 0-7t0-7", _TWO, Box(-1.4, -1.4, 1.4, 1.4)),
    "reference": Symbol(
        "M-36-22h72v44h-72zM36 0h14M0-22v-18M0 22v18", ((5, 0), (0, -4), (0, 4)), Box(-3.6, -2.2, 3.6, 2.2)
    ),
    "ground": Symbol("M0 0v6m-10 0h20m-16 4h12m-8 4h4", ((0, 0),), Box(-1, 0.5, 1, 1.5)),
    "supply": Symbol("M0 0v-7m-9 0h18", ((0, 0),), Box(-0.9, -0.8, 0.9, -0.5)),
    "ground_left": Symbol("M0 0h-20v6m-10 0h20m-16 4h12m-8 4h4", ((0, 0),), Box(-3, 0.5, -1, 1.5)),
    "supply_left": Symbol("M0 0h-20v-7m-9 0h18", ((0, 0),), Box(-2.9, -0.8, -1.1, -0.5)),
    "output": Symbol("M0 0a3.5 3.5 0 1 1 7 0a3.5 3.5 0 1 1-7 0", ((0, 0),), Box(0.05, -0.4, 0.75, 0.4)),
    "opamp": Symbol(
        _AMPLIFIER + _SIGNS[0] + _SIGNS[1], ((-5, -2), (-5, 2), (5, 0), (0, -4), (0, 4)), _AMPLIFIER_BODY
    ),
    "opamp_minus_up": Symbol(
        _AMPLIFIER + _SIGNS[2] + _SIGNS[3], ((-5, 2), (-5, -2), (5, 0), (0, -4), (0, 4)), _AMPLIFIER_BODY
    ),
}
"""Shapes by name.  Op-amp terminals: + input, - input, output, supply pin, ground pin; those of a
reference: output, supply, ground; of a Zener: cathode, anode."""

PLUS_SIGN = "m-4 0h8m-4-4v8"
"""Polarity mark, drawn from its centre."""

FONT_SIZES = {"symbol": 15, "value": 13, "node": 11, "subscript": 11}
"""Height of each kind of text, in units of the drawing."""


@cache
def text_width(text: str, size: float) -> float:
    """Return an upper estimate of the width of a text in any common typeface, in grid steps.

    Parameters
    ----------
    text : str
        One line.
    size : float
        Font size, in units of the drawing.
    """
    return sum(_WIDTHS.get(letter, 0.78 if letter.isupper() else 0.66) for letter in text) * size / 10


_WIDTHS = {**dict.fromkeys(" .,:;'|il-jft()", 0.42), **dict.fromkeys("mwMWΩ%", 1.0)}
"""Width of narrow and wide letters in font sizes; 0.78 of other capitals and 0.66 of the rest."""
