"""From a circuit to a finished drawing: items, wires, names, with as much room as that takes."""

from __future__ import annotations

from collections import Counter
from contextlib import suppress
from dataclasses import dataclass
from functools import lru_cache

from ...circuit.circuit import Circuit
from ...circuit.printed_names import symbol_name
from ...errors import CircuitError
from .chains import BIAS, RAILS, SUPPLY, with_zeners
from .grid import Grid
from .items import Captions
from .labels import label, label_supply
from .layout import place
from .sheet import Item, Sheet, Text
from .symbols import Box, Point, around, text_width
from .wiring import Wiring, wire

WIDEST = 8
"""Grid steps of extra room that are tried before a circuit counts as undrawable."""
MARGIN = 4
"""How far wires may run around everything, in grid steps."""
VALUE_ROOM, SUPPLY_ROOM, VOLTAGE_ROOM = "88.88 kΩ", "88.8 V", " 88.88 V"
"""Room kept for values and resting voltages, so that they may change without a new layout."""


@dataclass(frozen=True)
class Drawing:
    """A circuit on paper, in grid steps.

    Attributes
    ----------
    items : tuple of Item
        Shapes with their texts.
    wiring : Wiring
        Wires and junction dots.
    notes : tuple of Text
        Names of nodes, and the value of the supply.
    extent : Box
        The room that it takes.
    """

    items: tuple[Item, ...]
    wiring: Wiring
    notes: tuple[Text, ...]
    extent: Box


@dataclass(frozen=True)
class Wish:
    """What a drawing shall show, besides the circuit itself.

    Attributes
    ----------
    values : tuple of (str, str)
        Name and value text of parts, levels and the supply; empty to draw without values.
    plus : tuple of (str, int)
        Name of each capacitor with a resting voltage, and its more positive terminal.
    voltages : bool
        Whether node names carry resting voltages.
    """

    values: tuple[tuple[str, str], ...]
    plus: tuple[tuple[str, int], ...]
    voltages: bool = False

    def in_general(self) -> Wish:
        """Return the wish with every value that fits replaced by the room kept for it."""
        kept = [(name, text, SUPPLY_ROOM if name == SUPPLY else VALUE_ROOM) for name, text in self.values]
        values = [(name, max(room, text, key=lambda t: text_width(t, 1))) for name, text, room in kept]
        return Wish(tuple(values), self.plus, self.voltages)


def draw(circuit: Circuit, wish: Wish) -> Drawing:
    """Return the drawing of a circuit; the same for all values that take no more room than usual.

    Parameters
    ----------
    circuit : Circuit
        What to draw.
    wish : Wish
        What to show.

    Raises
    ------
    CircuitError
        If no way was found for a wire, or no place for a name.
    """
    return _drawn(circuit, wish.in_general())


@lru_cache(maxsize=256)
def _drawn(circuit: Circuit, wish: Wish) -> Drawing:
    shown, zeners = with_zeners(circuit)
    symbols = {name: symbol_name(name) for name in (*circuit.part_names, SUPPLY)}
    captions = Captions(
        symbols, dict(wish.values), dict(wish.plus), zeners, VOLTAGE_ROOM if wish.voltages else ""
    )
    for spread in range(WIDEST):
        with suppress(CircuitError):
            return _attempt(shown, captions, spread)
    return _attempt(shown, captions, WIDEST)


def _attempt(circuit: Circuit, captions: Captions, spread: int) -> Drawing:
    sheet = place(circuit, captions, spread)
    boxes = [box for item in sheet.items for box in item.boxes]
    wiring = _wire(sheet, boxes)
    terminals = {item.name for item in sheet.items if item.shape == "output"}
    names = {node: _name(node, captions) for node in _named(circuit) if node not in terminals}
    near = {node: _pin(sheet, node) for node in names}
    taken = [*boxes, *(box for item in sheet.items for box in item.leads)]
    texts = []
    if room := captions.room.get(SUPPLY):
        rails = [item.terminals[0] for item in sheet.items if item.shape == SUPPLY]
        texts.append(label_supply(Text("value", SUPPLY, "", 0, 0, room=room), rails, wiring, taken))
    optional = names.keys() - (set() if spread == WIDEST else {BIAS, *circuit.path, *_path_inputs(circuit)})
    texts += label(names, near, wiring, [*taken, *(text.box for text in texts)], optional)
    ends = [Box(x, y, x, y) for runs in wiring.runs.values() for run in runs for x, y in run]
    extent = around([*boxes, *ends, *(text.box for text in texts)])
    return Drawing(tuple(sheet.items), wiring, tuple(texts), extent)


def _named(circuit: Circuit) -> list[str]:
    """Return the nodes that get a name: op-amp pins, the signal path, the bias; sources have theirs."""
    pins = [pin for o in circuit.opamps for pin in (o.plus, o.minus, o.output)]
    silent = {*RAILS, *(s.name for s in circuit.sources)}
    known = [node for node in (BIAS, *circuit.path, *pins) if node in circuit.nodes]
    return [node for node in dict.fromkeys(known) if node not in silent]


def _path_inputs(circuit: Circuit) -> list[str]:
    """Return the input nodes of the op-amps on the signal path."""
    return [pin for o in circuit.opamps if o.output in circuit.path for pin in (o.plus, o.minus)]


def _name(node: str, captions: Captions) -> Text:
    return Text("node", node, node, 0, 0, room=node + captions.voltage)


def _pin(sheet: Sheet, node: str) -> Point:
    """Return where the name of a node belongs: at an op-amp pin, or where its line begins."""
    if node != BIAS:
        for item in sheet.items:
            if item.shape.startswith("opamp"):
                for n in (2, 0, 1):
                    if item.nodes[n] == node:
                        return item.terminals[n]
    return next(point for name, point in sheet.guides if name == node)


def _wire(sheet: Sheet, boxes: list[Box]) -> Wiring:
    """Join what belongs together; rails have a symbol at each place instead of wires."""
    ends: dict[str, list[Point]] = {}
    at = [(n, p) for item in sheet.items for n, p in zip(item.nodes, item.terminals, strict=True)]
    for node, point in [*sheet.guides, *at]:
        if node not in RAILS:
            ends.setdefault(node, []).append(point)
    extent = sheet.extent
    area = Box(extent.left - MARGIN, extent.top - MARGIN, extent.right + MARGIN, extent.bottom + MARGIN)
    grid = Grid(boxes, {point: node for node, point in at}, area)
    return wire(grid, ends, {point for _, point in sheet.guides}, Counter(point for _, point in at))
