"""A closer bound on the score of a row: the values that its partners add to the parts list are counted.

What a partner adds is counted exactly for parts of one kind, and at its least for the other kind; the
better of the two bounds is taken.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .selection_grid import Table
from .selection_limits import SumLimits
from .selection_local import Floats

_ROUNDING = 1e-9
Indices = NDArray[np.intp]


@dataclass(frozen=True)
class Score:
    """What counts: weights per decade of capacitance, per distinct value, and for used-up margin.

    Attributes
    ----------
    decade, distinct, margin : float
        Weights.
    """

    decade: float
    distinct: float
    margin: float


def closer_bound(
    first: Table, rest: Table, rows: Indices, cheapest: Floats, limits: SumLimits, score: Score
) -> Floats:
    """Return what the bound of rows grows by, shape (rows,): 0 where the plain bound is as good.

    Parameters
    ----------
    first, rest : Table
        The rows, and their partners.
    rows : array of int
        Which rows of the first table.
    cheapest : array, shape (rows,)
        Cost of the cheapest partner that the plain bound counts already.
    limits : SumLimits
        What sums must keep.
    score : Score
        What counts.
    """
    grown = np.zeros(len(rows))
    for kind, other in (("c_", "r_"), ("r_", "c_")):
        least = _least_added(first, rest, rows, other)
        mine, theirs = _columns(first, kind), _columns(rest, kind)
        known, which = np.unique(first.values[rows][:, mine], axis=0, return_inverse=True)
        for k, values in enumerate(known):
            place = np.flatnonzero(which.ravel() == k)
            added = least + _added(values, rest.values[:, theirs])
            worth = score.decade * rest.cost + score.distinct * added
            found = _least_worth(worth, first.drops[rows[place]], rest, limits)
            grown[place] = np.maximum(grown[place], found - score.decade * cheapest[place])
    return grown


def _columns(table: Table, kind: str) -> list[int]:
    return [i for i, name in enumerate(table.names) if name.startswith(kind)]


def _added(values: Floats, rows: Floats) -> Indices:
    """Return how many values each row has that are neither among the given ones nor earlier in the row."""
    count = np.zeros(len(rows), dtype=np.intp)
    for i in range(rows.shape[1]):
        known = [np.full(len(rows), value) for value in values] + [rows[:, k] for k in range(i)]
        new = np.ones(len(rows), dtype=bool)
        for other in known:
            new &= np.abs(rows[:, i] - other) > _ROUNDING * other
        count += new
    return count


def _least_added(first: Table, rest: Table, rows: Indices, kind: str) -> Indices:
    """Return how many values of a kind each partner adds at least, whatever the row it meets."""
    mine, theirs = _columns(first, kind), _columns(rest, kind)
    known = np.unique(first.values[rows][:, mine], axis=0)
    return np.asarray(np.min([_added(values, rest.values[:, theirs]) for values in known], axis=0))


def _least_worth(worth: Floats, drops: Floats, rest: Table, limits: SumLimits) -> Floats:
    """Return the least worth of a partner that keeps each "at most" limit taken alone, shape (rows,)."""
    result = np.full(len(drops), float(worth.min()))
    for j, drop in enumerate(limits.drops):
        if drop.sign < 0:
            order = np.argsort(rest.drops[:, j], kind="stable")
            running = np.minimum.accumulate(worth[order])
            place = (
                np.searchsorted(rest.drops[order, j], drop.limit + _ROUNDING - drops[:, j], side="right") - 1
            )
            result = np.maximum(result, np.where(place >= 0, running[np.maximum(place, 0)], np.inf))
    return result
