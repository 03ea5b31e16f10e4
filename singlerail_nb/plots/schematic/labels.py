"""Names of nodes, written beside their wires where nothing else stands."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from itertools import product

from ...errors import CircuitError
from .sheet import Anchor, Text
from .symbols import Box, Point
from .wiring import Edge, Wiring

GAP = 0.3
"""Distance that a name keeps from everything, in grid steps."""
FAR = 6
"""How far a name may stand beyond the end of its wire, in grid steps."""
ABOVE, BELOW, BESIDE, ASIDE = -0.8, 1.3, 0.4, 0.6
"""Base line of a name against the wire that it stands above, below or beside, and its distance aside."""


def label(
    names: Mapping[str, Text],
    near: Mapping[str, Point],
    wiring: Wiring,
    taken: Iterable[Box],
    optional: Collection[str] = (),
) -> tuple[Text, ...]:
    """Return each name at the free place beside its wire that is nearest to a point.

    Parameters
    ----------
    names : mapping of str to Text
        For each node its name, at any place.
    near : mapping of str to Point
        For each node where its name should be.
    wiring : Wiring
        The wires of all nodes.
    taken : iterable of Box
        Shapes and texts.
    optional : collection of str
        Nodes that go without a name where there is no free place.

    Raises
    ------
    CircuitError
        If there is no free place.
    """
    wires = [_box(run) for runs in wiring.runs.values() for run in runs]
    boxes, placed = [*taken, *wires], []
    for node, name in names.items():
        places = _places(name, wiring.runs[node] or ((near[node], near[node]),))
        ranked = sorted(places, key=lambda text, at=near[node]: _rank(text, at))  # type: ignore[misc]
        free = (text for text in ranked if not any(text.box.meets(box, GAP) for box in boxes))
        chosen = next(free, None)
        if chosen is None and node not in optional:
            raise CircuitError(
                f"drawing of node {node}", "no place for its name", allowed="room beside its wire",
                remedy="Draw the circuit with more room.",
            )  # fmt: skip
        if chosen is not None:
            placed.append(chosen)
            boxes.append(chosen.box)
    return tuple(placed)


def label_supply(value: Text, symbols: Iterable[Point], wiring: Wiring, taken: Iterable[Box]) -> Text:
    """Return the value of the supply beside the first of its symbols that has room for it.

    Parameters
    ----------
    value : Text
        The value, at any place.
    symbols : iterable of Point
        Where the symbols stand.
    wiring : Wiring
        The wires of all nodes.
    taken : iterable of Box
        Shapes and texts.

    Raises
    ------
    CircuitError
        If there is no free place.
    """
    boxes = [*taken, *(_box(run) for runs in wiring.runs.values() for run in runs)]
    anchors: tuple[tuple[float, Anchor], ...] = ((1.6, "start"), (-1.6, "end"))
    for (x, y), (aside, anchor) in product(symbols, anchors):
        text = Text("value", value.owner, "", x + aside, y - 0.85, anchor, value.room)
        if not any(text.box.meets(box, GAP) for box in boxes):
            return text
    raise CircuitError(
        "drawing of the supply", "no place for its value", allowed="room beside one of its symbols",
        remedy="Draw the circuit with more room.",
    )  # fmt: skip


def _box(run: Edge) -> Box:
    (left, top), (right, bottom) = run
    return Box(left - 0.1, top - 0.1, right + 0.1, bottom + 0.1)


def _places(name: Text, runs: Iterable[Edge]) -> Iterator[Text]:
    """Yield places above, below and at the ends of level wires, and on both sides of upright ones."""
    width = name.box.right - name.box.left
    for (left, top), (right, bottom) in runs:
        if top == bottom:
            steps = range(2 * left, 2 * right - int(2 * width) + 1) or range(2 * left - FAR, 2 * left + FAR)
            for x, side in product(steps, (ABOVE, BELOW)):
                yield replace(name, x=x / 2, y=top + side)
            yield replace(name, x=right + ASIDE, y=top + BESIDE)
            yield replace(name, x=left - ASIDE, y=top + BESIDE, anchor="end")
        if left == right:
            for y in range(top, bottom + 1):
                yield replace(name, x=left + ASIDE, y=y + BESIDE)
                yield replace(name, x=left - ASIDE, y=y + BESIDE, anchor="end")


def _rank(text: Text, near: Point) -> tuple[float, float, float]:
    """Return how far a place is from where it should be; above is better than below."""
    box = text.box
    across = max(box.left - near[0], near[0] - box.right, 0)
    down = max(box.top - near[1], near[1] - box.bottom, 0)
    return (across + down + (0.6 if text.y > near[1] else 0), box.left, box.top)
