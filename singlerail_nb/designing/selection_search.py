"""Best-first search over tables of combinations, exact by its bounds.

The rows of the largest table meet the rows of all others.  For every row of the first, a bound on the
score is at hand: the cheapest partner that keeps the main limit (a running minimum over partners sorted
by droop), and the distinct values that the row has already.  Rows are taken in order of that bound, and
the search ends when the bound exceeds the worst of the combinations kept.  Where the number of distinct
values counts most, that bound is loose; after a few hundred rows a closer one takes over
(`selection_bounds`).
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from .selection_bounds import Score, closer_bound
from .selection_grid import Table
from .selection_limits import SumLimits
from .selection_local import Floats

_ROUNDING = 1e-9
_PLAIN = 400
"""Rows after which the closer bound pays for itself."""


@dataclass(frozen=True, order=True)
class Found:
    """A combination that keeps every limit.

    Attributes
    ----------
    score : float
        Lower is better.
    decades, slack : float
        Decades of capacitance, and the smallest share of a limit that is left.
    distinct : int
        Number of distinct values.
    values : mapping of str to float
        Value of every free part.
    """

    score: float
    decades: float
    distinct: int
    slack: float
    values: Mapping[str, float] = field(compare=False)


def pruned(tables: Sequence[Table], limits: SumLimits) -> list[Table]:
    """Return the tables without rows that no partner can save.

    Parameters
    ----------
    tables : sequence of Table
        One per group.
    limits : SumLimits
        What sums must keep.

    Returns
    -------
    list of Table
        A table without rows means that a limit cannot be kept.
    """
    kept = list(tables)
    for _ in range(2):
        for i, table in enumerate(kept):
            others = [t for k, t in enumerate(kept) if k != i]
            if all(len(t) for t in others):
                kept[i] = table.kept(_savable(table, others, limits))
    return kept


def _savable(table: Table, others: Sequence[Table], limits: SumLimits) -> NDArray[np.bool_]:
    least = sum(float(t.gain.min()) for t in others)
    most = sum(float(t.gain.max()) for t in others)
    good = (table.gain + most >= limits.gain[0] - _ROUNDING) & (
        table.gain + least <= limits.gain[1] + _ROUNDING
    )
    for j, drop in enumerate(limits.drops):
        if drop.sign < 0:
            good &= (
                table.drops[:, j] + sum(float(t.drops[:, j].min()) for t in others) <= drop.limit + _ROUNDING
            )
        else:
            good &= (
                table.drops[:, j] + sum(float(t.drops[:, j].max()) for t in others) >= drop.limit - _ROUNDING
            )
    return np.asarray(good)


def search(tables: Sequence[Table], limits: SumLimits, score: Score, count: int) -> list[Found]:
    """Return the best combinations, best first.

    Parameters
    ----------
    tables : sequence of Table
        One per group, pruned; none is empty.
    limits : SumLimits
        What sums must keep.
    score : Score
        What counts.
    count : int
        How many to keep.
    """
    ordered = sorted(tables, key=len, reverse=True)
    first, rest = ordered[0], ordered[1]
    for table in ordered[2:]:
        rest = rest.times(table)
    rest = rest.kept(np.argsort(rest.cost, kind="stable"))
    partners = _Partners(first, rest, limits)
    own = _distinct(first.values)
    bound = score.decade * (first.cost + partners.cheapest) + score.distinct * own
    best = _Best(count)
    order = np.argsort(bound, kind="stable")
    for number, i in enumerate(order):
        if number == _PLAIN:
            break
        if not bound[i] < best.worst:
            return best.found
        best.add(number, _of_row(first, rest, partners, int(i), int(own[i]), limits, score, best))
    left = order[_PLAIN:]
    left = left[bound[left] < best.worst]
    if not len(left):
        return best.found
    closer = bound[left] + closer_bound(first, rest, left, partners.cheapest[left], limits, score)
    for number, k in enumerate(np.argsort(closer, kind="stable"), _PLAIN):
        if not closer[k] < best.worst:
            break
        i = int(left[k])
        best.add(number, _of_row(first, rest, partners, i, int(own[i]), limits, score, best))
    return best.found


class _Best:
    """The best combinations so far; of equal ones those found first."""

    def __init__(self, count: int) -> None:
        self.count = count
        self._heap: list[tuple[float, int, Found]] = []

    @property
    def worst(self) -> float:
        """Score that a combination must beat."""
        return -self._heap[0][0] if len(self._heap) == self.count else math.inf

    @property
    def found(self) -> list[Found]:
        """All of them, best first."""
        return sorted(found for _, _, found in self._heap)

    def add(self, number: int, row: Iterable[Found]) -> None:
        """Take what belongs among the best from a row, which is sorted."""
        for found in row:
            if not found.score < self.worst:
                return
            push = heapq.heappush if len(self._heap) < self.count else heapq.heapreplace
            push(self._heap, (-found.score, -number, found))


def _of_row(
    first: Table,
    rest: Table,
    partners: _Partners,
    i: int,
    own: int,
    limits: SumLimits,
    score: Score,
    best: _Best,
) -> list[Found]:
    """Return the combinations of one row that may belong among the best."""
    room = math.inf
    if score.decade:
        room = (best.worst - score.distinct * own) / score.decade - first.cost[i]
    return _with_partners(first, i, rest, partners.of(i, room), limits, score, best.count)


class _Partners:
    """Which rows of the second table each row of the first may meet, cheapest first."""

    def __init__(self, first: Table, rest: Table, limits: SumLimits) -> None:
        self._limits, self._rest, self._first = limits, rest, first
        levels, self._class = np.unique(np.round(first.gain, 12), return_inverse=True)
        self._rows = [self._by_gain(float(level)) for level in levels]
        self.cheapest = np.full(len(first), math.inf)
        for k, rows in enumerate(self._rows):
            mine = np.flatnonzero(self._class == k)
            if len(rows):
                self.cheapest[mine] = self._cheapest(mine, rows)

    def _by_gain(self, level: float) -> NDArray[np.intp]:
        total = level + self._rest.gain
        low, high = self._limits.gain
        return np.flatnonzero((total >= low - _ROUNDING) & (total <= high + _ROUNDING))

    def _cheapest(self, mine: NDArray[np.intp], rows: NDArray[np.intp]) -> Floats:
        """Return the least cost of a partner that keeps each "at most" limit taken alone."""
        result = np.full(len(mine), float(self._rest.cost[rows[0]]))
        for j, drop in enumerate(self._limits.drops):
            if drop.sign < 0:
                order = rows[np.argsort(self._rest.drops[rows, j], kind="stable")]
                running = np.minimum.accumulate(self._rest.cost[order])
                allowed = drop.limit + _ROUNDING - self._first.drops[mine, j]
                place = np.searchsorted(self._rest.drops[order, j], allowed, side="right") - 1
                least = np.where(place >= 0, running[np.maximum(place, 0)], math.inf)
                result = np.maximum(result, least)
        return np.asarray(result)

    def of(self, i: int, room: float) -> NDArray[np.intp]:
        """Return the partners of a row whose cost leaves a chance, cheapest first."""
        rows = self._rows[self._class[i]]
        last = len(rows) if math.isinf(room) else int(np.searchsorted(self._rest.cost[rows], room, "right"))
        rows = rows[:last]
        good = np.ones(len(rows), dtype=bool)
        for j, drop in enumerate(self._limits.drops):
            total = self._first.drops[i, j] + self._rest.drops[rows, j]
            good &= drop.sign * (total - drop.limit) >= -_ROUNDING
        return np.asarray(rows[good])


def _with_partners(
    first: Table,
    i: int,
    rest: Table,
    rows: NDArray[np.intp],
    limits: SumLimits,
    score: Score,
    count: int,
) -> list[Found]:
    """Return the best combinations of one row, best first."""
    if not len(rows):
        return []
    values = np.hstack(
        [np.broadcast_to(first.values[i], (len(rows), first.values.shape[1])), rest.values[rows]]
    )
    distinct = _distinct(values)
    decades = first.cost[i] + rest.cost[rows]
    slack = _slack(first.gain[i] + rest.gain[rows], first.drops[i] + rest.drops[rows], limits)
    total = score.decade * decades + score.distinct * distinct + score.margin * (1.0 - slack)
    names = (*first.names, *rest.names)
    chosen = np.argsort(total, kind="stable")[:count]
    return [
        Found(
            float(total[k]), float(decades[k]), int(distinct[k]), float(slack[k]),
            dict(zip(names, map(float, values[k]), strict=True)),
        )
        for k in chosen
    ]  # fmt: skip


def _distinct(values: Floats) -> NDArray[np.intp]:
    """Return the number of distinct values in each row, shape (rows,)."""
    if not values.shape[1]:
        return np.zeros(len(values), dtype=np.intp)
    ordered = np.sort(values, axis=1)
    return np.asarray(1 + (ordered[:, 1:] > ordered[:, :-1] * (1.0 + _ROUNDING)).sum(axis=1), dtype=np.intp)


def _slack(gain: Floats, drops: Floats, limits: SumLimits) -> Floats:
    """Return the smallest share of a limit that is left, 0 to 1, shape (rows,)."""
    middle, half = 0.5 * sum(limits.gain), 0.5 * (limits.gain[1] - limits.gain[0])
    left = 1.0 - np.abs(gain - middle) / half
    for j, drop in enumerate(limits.drops):
        left = np.minimum(left, drop.sign * (drops[:, j] - drop.limit) / drop.limit)
    return np.asarray(np.clip(left, 0.0, 1.0))
