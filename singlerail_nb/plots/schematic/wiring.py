"""Wires: each node grows as a tree, to the nearest terminal that is not yet joined."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from .grid import EAST, SOUTH, Grid, distance
from .symbols import Point

Edge = tuple[Point, Point]


@dataclass(frozen=True)
class Wiring:
    """The wires of a drawing.

    Attributes
    ----------
    runs : mapping of str to tuple of (Point, Point)
        For each node, its straight pieces: left or upper end, right or lower end.
    dots : mapping of str to tuple of Point
        For each node, the points where more than two ends meet.
    """

    runs: Mapping[str, tuple[Edge, ...]]
    dots: Mapping[str, tuple[Point, ...]]


def wire(
    grid: Grid, ends: Mapping[str, Collection[Point]], guides: Collection[Point], crowd: Mapping[Point, int]
) -> Wiring:
    """Join all points of each node.

    Parameters
    ----------
    grid : Grid
        What stands in the way; the wires are laid on it.
    ends : mapping of str to collection of Point
        Points that each node shall join.
    guides : collection of Point
        Those of the points that are joined first, in their order.
    crowd : mapping of Point to int
        How many terminals are at a point.

    Raises
    ------
    CircuitError
        If there is no way for a wire.
    """
    for node in sorted(ends, key=lambda name: (_span(ends[name]), name)):
        first, *waiting = dict.fromkeys(ends[node])
        tree = {first}
        while waiting:
            early = [point for point in waiting if point in guides][:1] or waiting
            goal = min(early, key=lambda point: min(distance(point, joined) for joined in tree))
            waiting.remove(goal)
            if goal not in tree:
                way = grid.way(node, tree, goal)
                grid.join(node, way)
                tree.update(point for point in way if not grid.crosses(node, point))
    arms = {node: _pruned(grid, node, crowd) for node in ends}
    runs = {node: (*_runs(arms[node], EAST), *_runs(arms[node], SOUTH)) for node in ends}
    dots = {node: _dots(arms[node], crowd) for node in ends}
    return Wiring(runs, dots)


def _span(points: Collection[Point]) -> int:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return max(xs) - min(xs) + max(ys) - min(ys)


def _pruned(grid: Grid, node: str, crowd: Mapping[Point, int]) -> dict[Point, set[Point]]:
    """Return the wire of a node without pieces that lead nowhere."""
    arms = {point: set(owners[node]) for point, owners in grid.arms.items() if node in owners}
    loose = [point for point in arms if len(arms[point]) == 1 and not crowd.get(point)]
    while loose:
        end = loose.pop()
        ahead = arms.pop(end).pop()
        point = (end[0] + ahead[0], end[1] + ahead[1])
        arms[point].remove((-ahead[0], -ahead[1]))
        if len(arms[point]) == 1 and not crowd.get(point):
            loose.append(point)
    return arms


def _runs(arms: Mapping[Point, set[Point]], ahead: Point) -> tuple[Edge, ...]:
    """Return the straight pieces of a wire in one direction, each as long as can be."""
    found = []
    for start in sorted(arms):
        if ahead in arms[start] and (-ahead[0], -ahead[1]) not in arms[start]:
            end = start
            while ahead in arms[end]:
                end = (end[0] + ahead[0], end[1] + ahead[1])
            found.append((start, end))
    return tuple(found)


def _dots(arms: Mapping[Point, set[Point]], crowd: Mapping[Point, int]) -> tuple[Point, ...]:
    return tuple(point for point in sorted(arms) if len(arms[point]) + crowd.get(point, 0) > 2)
