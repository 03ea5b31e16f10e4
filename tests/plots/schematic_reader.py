"""Reads a schematic back from its SVG text alone: strokes, texts, and what is joined to what.

Nothing here knows how a drawing was made.  A picture is taken as a person takes it: lines that meet
at an end are joined, lines that cross are joined only under a dot, one ground symbol is as good as
another.
"""

import re
from dataclasses import dataclass, field
from functools import cache
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree as ET

import matplotlib as mpl
from matplotlib.ft2font import FT2Font, LoadFlags

SVG = "{http://www.w3.org/2000/svg}"
FONTS = Path(mpl.get_data_path()) / "fonts" / "ttf"
FACES = {"s": ("DejaVuSerif-Italic.ttf", 15), "n": ("DejaVuSans.ttf", 11), "": ("DejaVuSans.ttf", 13)}
SUBSCRIPT = ("DejaVuSerif.ttf", 11)

# Terminals of each shape, lying; the pins of an op-amp are +, -, output, supply, ground.
TWO = ((-30, 0), (30, 0))
SHAPES = {
    **dict.fromkeys(("resistor", "one_way", "zener", "capacitor", "input"), TWO),
    **dict.fromkeys(("ground", "supply", "ground_left", "supply_left", "output"), ((0, 0),)),
    "reference": ((50, 0), (0, -40), (0, 40)),
    "opamp": ((-50, -20), (-50, 20), (50, 0), (0, -40), (0, 40)),
    "opamp_minus_up": ((-50, 20), (-50, -20), (50, 0), (0, -40), (0, 40)),
}
NUMBER = re.compile(r"[-+]?\d*\.?\d+")


def strokes(path):
    """Return the line pieces of SVG path data; a half circle becomes three sides of its square."""
    pieces, at, start = [], (0.0, 0.0), (0.0, 0.0)

    def to(x, y):
        nonlocal at
        pieces.append((at, (x, y)))
        at = (x, y)

    for command, text in re.findall(r"([MmHhVvLlaqtZz])([^MmHhVvLlaqtZz]*)", path):
        numbers = [float(number) for number in NUMBER.findall(text)]
        dx, dy = (0, 0) if command.isupper() else at
        if command in "Mm":
            at = start = (numbers[0] + dx, numbers[1] + dy)
            numbers = numbers[2:]
        if command in "Hh":
            to(numbers[0] + dx, at[1])
        elif command in "Vv":
            to(at[0], numbers[0] + dy)
        elif command == "a":
            radius, end = numbers[0], at[0] + numbers[5]
            side = -radius if numbers[5] > 0 else radius
            for x, y in ((at[0], at[1] + side), (end, at[1] + side), (end, at[1])):
                to(x, y)
        elif command in "Zz":
            to(*start)
        elif command in "MmLlqt":
            for x, y in zip(numbers[::2], numbers[1::2], strict=True):
                if command in "qt":
                    to(x + dx, y + dy)
                else:
                    to(x + (at[0] if command.islower() else 0), y + (at[1] if command.islower() else 0))
    return pieces


@cache
def _font(face, size):
    font = FT2Font(str(FONTS / face))
    font.set_size(size, 72)
    return font


@cache
def ink(text, face, size):
    """Return width, height above the base line and depth below it of a text as it is set."""
    font = _font(face, size)
    font.set_text(text, 0.0, flags=LoadFlags.NO_HINTING)
    width, height = (length / 64 for length in font.get_width_height())
    depth = font.get_descent() / 64
    return width, height - depth, depth


def moved(point, turn, at):
    x, y = {0: point, 90: (-point[1], point[0]), 180: (-point[0], -point[1]), 270: (point[1], -point[0])}[
        turn
    ]
    return (x + at[0], y + at[1])


def box_of(points, margin=0.75):
    """Return the box round some points, half a stroke wider."""
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs) - margin, min(ys) - margin, max(xs) + margin, max(ys) + margin


def meet(one, other):
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def within(one, other):
    return one[0] >= other[0] and one[1] >= other[1] and one[2] <= other[2] and one[3] <= other[3]


def on(point, piece):
    """Tell whether a point lies on a level or upright line piece, its ends included."""
    (left, top), (right, bottom) = piece
    return min(left, right) <= point[0] <= max(left, right) and min(top, bottom) <= point[1] <= max(
        top, bottom
    )


@dataclass
class Shape:
    name: str
    kind: str
    terminals: list
    strokes: list
    turn: int

    @property
    def leads(self):
        return [piece for piece in self.strokes if set(piece) & set(self.terminals)]

    def body(self, margin=0.75):
        """Return the box round all but its leads."""
        return box_of([p for piece in self.strokes for p in piece if p not in self.terminals], margin)


@dataclass
class Words:
    owner: str
    kind: str
    content: str
    box: tuple


@dataclass
class Reader:
    """A schematic, read from SVG text."""

    svg: str
    shapes: list = field(default_factory=list)
    wires: list = field(default_factory=list)
    dots: list = field(default_factory=list)
    marks: dict = field(default_factory=dict)
    words: list = field(default_factory=list)

    def __post_init__(self):
        self.root = ET.fromstring(self.svg)  # noqa: S314  text that this package wrote
        for element in self.root:
            if element.tag == f"{SVG}circle":
                self.dots.append((float(element.get("cx")), float(element.get("cy"))))
            elif element.tag == f"{SVG}text":
                self.words.append(self._words(element))
            elif element.get("data-wire"):
                self.wires += [(element.get("data-wire"), piece) for piece in strokes(element.get("d"))]
            elif element.get("data-plus"):
                pieces = strokes(element.get("d"))
                self.marks[element.get("data-plus")] = box_of([p for piece in pieces for p in piece])
            elif element.get("data-body"):
                self.shapes.append(self._shape(element))

    def _shape(self, element):
        place = [int(number) for number in NUMBER.findall(element.get("transform"))]
        at, turn = (place[0], place[1]), place[2] if len(place) > 2 else 0
        kind = element.get("data-shape")
        pieces = [tuple(moved(p, turn, at) for p in piece) for piece in strokes(element.get("d"))]
        return Shape(element.get("data-body"), kind, [moved(p, turn, at) for p in SHAPES[kind]], pieces, turn)

    def _words(self, element):
        kind = element.get("class", "")
        face, size = FACES[kind]
        pieces = [(element.text, face, size, 0), *((s.text, *SUBSCRIPT, float(s.get("dy"))) for s in element)]
        inks = [(ink(text, font, height), drop) for text, font, height, drop in pieces]
        width = sum(wide for (wide, _, _), _ in inks)
        start = {"start": 0, "middle": width / 2, "end": width}[element.get("text-anchor", "start")]
        x, y = float(element.get("x")) - start, float(element.get("y"))
        top = min(drop - above for (_, above, _), drop in inks)
        bottom = max(drop + below for (_, _, below), drop in inks)
        owner = element.get("data-part") or element.get("data-node") or ""
        kind = "value" if element.get("data-part") else {"s": "symbol", "n": "node"}[kind]
        return Words(owner, kind, "".join(element.itertext()), (x, y + top, x + width, y + bottom))

    # ---- what is joined ----------------------------------------------------------------------
    @property
    def ends(self):
        """Every terminal: (shape, number, point)."""
        return [(shape, n, point) for shape in self.shapes for n, point in enumerate(shape.terminals)]

    def joined(self):
        """Return {(shape number, terminal number) or ("wire", number): label}; equal labels are joined."""
        groups = {}

        def root(key):
            while groups.setdefault(key, key) != key:
                key = groups[key]
            return key

        pieces = [piece for _, piece in self.wires]
        for (i, one), (j, other) in combinations(enumerate(pieces), 2):
            touch = any(on(p, other) for p in one) or any(on(p, one) for p in other)
            if touch or any(on(dot, one) and on(dot, other) for dot in self.dots):
                groups[root(("wire", i))] = root(("wire", j))
        for shape, _, point in self.ends:
            groups[root(point)] = root(point)
            for i, piece in enumerate(pieces):
                if on(point, piece):
                    groups[root(("wire", i))] = root(point)
            for n, rail in enumerate(("ground", "supply")):
                pins = {"opamp": (4, 3), "opamp_minus_up": (4, 3), "reference": (2, 1)}.get(shape.kind)
                if pins:
                    groups[root(shape.terminals[pins[n]])] = root(rail)
            if shape.kind.removesuffix("_left") in ("ground", "supply"):
                groups[root(point)] = root(shape.kind.removesuffix("_left"))
        ends = {(i, n): root(p) for i, s in enumerate(self.shapes) for n, p in enumerate(s.terminals)}
        return ends | {("wire", i): root(("wire", i)) for i in range(len(pieces))}

    def nodes(self, circuit):
        """Return the faults of the drawing against the nodes of a circuit; no fault is the proof."""
        labels, named, faults = self.joined(), {}, []
        knees = {s.name for s in circuit.sources if s.kind == "constant"}
        nodes = {part.name: part.nodes for part in circuit.parts}
        nodes |= {o.name: (o.plus, o.minus, o.output) for o in circuit.opamps}
        nodes |= {s.name: (s.name,) for s in circuit.sources}
        for i, shape in enumerate(self.shapes):
            for n, node in enumerate(nodes.get(shape.name, (shape.name,))):
                at = "ground" if node in knees else node
                if named.setdefault(labels[i, n], at) != at:
                    faults.append(f"{named[labels[i, n]]} is joined to {at} at {shape.name}")
        for i, (node, _) in enumerate(self.wires):
            if named.get(labels["wire", i]) != node:
                faults.append(f"a wire of {node} belongs to {named.get(labels['wire', i])}")
        labels_of = {
            node: {label for label, name in named.items() if name == node} for node in named.values()
        }
        faults += [
            f"{node} is in {len(found)} pieces" for node, found in labels_of.items() if len(found) != 1
        ]
        return faults

    # ---- what covers what --------------------------------------------------------------------
    def overlaps(self):
        """Return a sentence for each thing that covers another."""
        boxes = [(f"shape {s.name}", s.body()) for s in self.shapes]
        texts = [(f"text {w.content!r}", w.box) for w in self.words] + [
            (f"mark of {name}", box) for name, box in self.marks.items()
        ]
        lines = [(f"wire {node}", box_of(piece)) for node, piece in self.wires]
        lines += [(f"lead of {s.name}", box_of(piece)) for s in self.shapes for piece in s.leads]
        blocks = [s.body() for s in self.shapes if s.kind == "reference"]
        faults = []
        for (one, a), (other, b) in combinations(boxes + texts, 2):
            if meet(a, b) and not (a in blocks and within(b, a)):
                faults.append(f"{one} covers {other}")
        faults += [f"{one} crosses {other}" for one, a in lines for other, b in texts if meet(a, b)]
        for node, piece in self.wires:
            box = box_of(piece, 0)
            for shape in self.shapes:
                inner = [box_of([p for p in lead if p not in shape.terminals]) for lead in shape.leads]
                if any(meet(box, other) for other in (shape.body(0), *inner)):
                    faults.append(f"wire {node} runs into {shape.name}")
        return faults

    def dot_faults(self):
        """Return a sentence for each junction without a dot, and each dot without a junction."""
        points = {p for _, piece in self.wires for p in piece} | {p for *_, p in self.ends} | set(self.dots)
        faults = []
        for point in sorted(points):
            count = sum(1 for *_, p in self.ends if p == point)
            count += sum(1 if point in piece else 2 for _, piece in self.wires if on(point, piece))
            if (count > 2) != (point in self.dots):
                faults.append(f"{count} ends at {point}, {'a' if point in self.dots else 'no'} dot")
        return faults

    def crossings(self):
        """Return the points where wires of different nodes cross."""
        found = set()
        for (node, one), (other, two) in combinations(self.wires, 2):
            for level, upright in ((one, two), (two, one)):
                if level[0][1] == level[1][1] and upright[0][0] == upright[1][0] and node != other:
                    point = (upright[0][0], level[0][1])
                    if on(point, level) and on(point, upright):
                        found.add(point)
        return found
