"""The grid on which wires are laid, and the cheapest right-angled way round what stands on it.

A wire may cross a wire of another node straight on; it never runs along one, nor through a shape or
a text.
"""

from __future__ import annotations

import heapq
from collections.abc import Collection, Iterable, Mapping
from itertools import pairwise

from ...errors import CircuitError
from .symbols import Box, Point

EAST, SOUTH, WEST, NORTH = (1, 0), (0, 1), (-1, 0), (0, -1)
DIRECTIONS = (EAST, SOUTH, WEST, NORTH)
STEP, BEND, CROSSING = 10, 30, 60
CLOSE, BESIDE = 6, 12
"""Costs: a grid step, a corner, a crossing; a step close to a shape, or beside another wire."""


class Grid:
    """The grid with everything that stands in the way.

    Parameters
    ----------
    boxes : iterable of Box
        Shapes and texts.
    terminals : mapping of Point to str
        Node of each terminal.
    area : Box
        How far wires may go.
    """

    def __init__(self, boxes: Iterable[Box], terminals: Mapping[Point, str], area: Box) -> None:
        self.terminals = dict(terminals)
        self.area = area
        self.blocked: set[Point] = set()
        self.close: dict[Point, int] = {}
        for box in boxes:
            self._block(box)
        self.blocked -= set(terminals)
        self.arms: dict[Point, dict[str, set[Point]]] = {}

    def _block(self, box: Box) -> None:
        for x in range(int(box.left) - 3, int(box.right) + 4):
            for y in range(int(box.top) - 3, int(box.bottom) + 4):
                if box.holds(x, y, 0.35):
                    self.blocked.add((x, y))
                elif box.holds(x, y, 1.3):
                    self.close[x, y] = CLOSE

    def join(self, node: str, way: list[Point]) -> None:
        """Lay a wire.

        Parameters
        ----------
        node : str
            Whose wire it is.
        way : list of Point
            Neighbouring grid points.
        """
        for one, other in pairwise(way):
            ahead = (other[0] - one[0], other[1] - one[1])
            for point, arm in ((one, ahead), (other, (-ahead[0], -ahead[1]))):
                self.arms.setdefault(point, {}).setdefault(node, set()).add(arm)

    def price(self, node: str, point: Point, ahead: Point) -> int | None:
        """Return the cost of a step on to a point, or None if it is not allowed.

        Parameters
        ----------
        node : str
            Whose wire it is.
        point : Point
            Where the step leads.
        ahead : Point
            Its direction.
        """
        if point in self.blocked or not self.area.holds(*point):
            return None
        if self.terminals.get(point, node) != node:
            return None
        if foreign := self._foreign(node, point):
            crossed = {(ahead[1], ahead[0]), (-ahead[1], -ahead[0])}
            return STEP + CROSSING if foreign == [crossed] else None
        return STEP + self.close.get(point, 0) + BESIDE * self._is_beside(node, point, ahead)

    def _is_beside(self, node: str, point: Point, ahead: Point) -> bool:
        for side in ((ahead[1], ahead[0]), (-ahead[1], -ahead[0])):
            neighbour = (point[0] + side[0], point[1] + side[1])
            if any(ahead in arms for arms in self._foreign(node, neighbour)):
                return True
            if self.terminals.get(neighbour, node) != node:
                return True
        return False

    def _foreign(self, node: str, point: Point) -> list[set[Point]]:
        return [arms for owner, arms in self.arms.get(point, {}).items() if owner != node]

    def crosses(self, node: str, point: Point) -> bool:
        """Return whether a wire of another node lies on a point.

        Parameters
        ----------
        node : str
            Whose wire it would be.
        point : Point
            Where.
        """
        return bool(self._foreign(node, point))

    def way(self, node: str, starts: Collection[Point], goal: Point) -> list[Point]:
        """Return the cheapest way from any of some points to a terminal.

        Parameters
        ----------
        node : str
            Whose wire it is.
        starts : collection of Point
            The wire so far.
        goal : Point
            The terminal to join.

        Raises
        ------
        CircuitError
            If there is no way.
        """
        queue: list[tuple[int, int, Point, Point]] = []
        costs: dict[tuple[Point, Point], int] = {}
        came: dict[tuple[Point, Point], tuple[Point, Point] | None] = {}
        for start in sorted(starts):
            for ahead in DIRECTIONS:
                costs[start, ahead], came[start, ahead] = 0, None
                heapq.heappush(queue, (distance(start, goal), 0, start, ahead))
        while queue:
            _, cost, point, ahead = heapq.heappop(queue)
            if point == goal:
                return _traced(came, (point, ahead))
            if cost > costs[point, ahead]:
                continue
            for turn in (ahead,) if self.crosses(node, point) else DIRECTIONS:
                target = (point[0] + turn[0], point[1] + turn[1])
                price = self.price(node, target, turn)
                if price is None or turn == (-ahead[0], -ahead[1]):
                    continue
                total = cost + price + (BEND if turn != ahead else 0)
                if total < costs.get((target, turn), total + 1):
                    costs[target, turn], came[target, turn] = total, (point, ahead)
                    heapq.heappush(queue, (total + distance(target, goal), total, target, turn))
        raise CircuitError(
            f"drawing of node {node}",
            "no way for the wire",
            allowed="a circuit with room between its parts",
            remedy="Draw the circuit with more room.",
        )


def distance(one: Point, other: Point) -> int:
    """Return the least cost between two points.

    Parameters
    ----------
    one, other : Point
        Two grid points.
    """
    return STEP * (abs(one[0] - other[0]) + abs(one[1] - other[1]))


def _traced(
    came: Mapping[tuple[Point, Point], tuple[Point, Point] | None], state: tuple[Point, Point]
) -> list[Point]:
    way, previous = [state[0]], came[state]
    while previous is not None:
        way.append(previous[0])
        previous = came[previous]
    return way[::-1]
