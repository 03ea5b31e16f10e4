"""The grid of a selection: every combination of stock values, group by group.

The transfer of a stage splits into factors, and factors that share free parts form a group.  On a
logarithmic scale gain and droop are sums over groups, so a combination is judged from a table per
group, without ever listing all combinations.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..analysis.evaluation import compiled_factors
from ..analysis.rational import horner
from ..analysis.stage import Stage
from ..analysis.tolerance_intervals import dominant_powers
from .selection_local import Floats, with_rows


@dataclass
class Table:
    """Combinations of some parts.

    Attributes
    ----------
    names : tuple of str
        Its parts.
    values : array, shape (rows, parts)
        SI units.
    gain : array, shape (rows,)
        ln of its share of the mid-band gain.
    drops : array, shape (rows, frequencies)
        ln of how far it has dropped at each frequency.
    cost : array, shape (rows,)
        Decades of capacitance.
    """

    names: tuple[str, ...]
    values: Floats
    gain: Floats
    drops: Floats
    cost: Floats

    def __len__(self) -> int:
        return len(self.values)

    def kept(self, which: NDArray[np.bool_] | NDArray[np.intp]) -> Table:
        """Return some rows.

        Parameters
        ----------
        which : array
            Mask or indices.
        """
        return Table(self.names, self.values[which], self.gain[which], self.drops[which], self.cost[which])

    def times(self, other: Table) -> Table:
        """Return every row of this table with every row of another.

        Parameters
        ----------
        other : Table
            Of other parts.
        """
        i, k = (index.ravel() for index in np.indices((len(self), len(other))))
        return Table(
            (*self.names, *other.names),
            np.hstack([self.values[i], other.values[k]]),
            self.gain[i] + other.gain[k],
            self.drops[i] + other.drops[k],
            self.cost[i] + other.cost[k],
        )


class Grid:
    """Every combination as a few tables.

    Parameters
    ----------
    stage : Stage
        A stage somewhere in the middle of the grid; its free values do not matter.
    frequencies : sequence of float
        Where droop counts, Hz.
    smallest : float
        Capacitance that costs nothing, F.
    ties : mapping of str to str
        Parts that are equal to a free part.
    """

    def __init__(
        self, stage: Stage, frequencies: Sequence[float], smallest: float, ties: Mapping[str, str]
    ) -> None:
        self.transfer = stage.transfer("signal", "output")
        self.function = self.transfer.function
        self.numbers = stage.parameters
        self.frequencies = tuple(frequencies)
        self.smallest = smallest
        self.ties = dict(ties)
        middle = self.transfer.midband.frequency
        self.powers = dominant_powers(self.function, self.numbers, middle)

    def groups(self, free: Iterable[str]) -> list[tuple[set[str], list[int]]]:
        """Return free parts that share a factor, with the places of their factors.

        Parameters
        ----------
        free : iterable of str
            Parts that may be chosen.
        """
        names, wanted = self.function.system.parameters, set(free)
        found: list[tuple[set[str], list[int]]] = []
        for place, factor in enumerate(f for half in self.function.factors for f in half):
            used = {i for e in factor.itermonoms() for i, power in enumerate(e) if power}
            own = {self.ties.get(n, n) for i, n in enumerate(names, 1) if i in used} & wanted
            touching = [g for g in found if g[0] & own]
            found = [g for g in found if not g[0] & own]
            found.append(
                (own.union(*(g[0] for g in touching)), [*(p for g in touching for p in g[1]), place])
            )
        return found

    def table(self, names: tuple[str, ...], rows: Floats, places: Sequence[int]) -> Table:
        """Return a table with the gain, the drops and the cost of its rows.

        Parameters
        ----------
        names : tuple of str
            Its parts.
        rows : array, shape (rows, parts)
            Values.
        places : sequence of int
            Which factors of the transfer belong to it.
        """
        given = with_rows(self.numbers, names, rows, self.ties)
        gain, drops = np.zeros(len(rows)), np.zeros((len(rows), len(self.frequencies)))
        top, bottom = (program(given) for program in compiled_factors(self.function))
        for place in places:
            sign = 1.0 if place < len(top) else -1.0
            coefficients = (*top, *bottom)[place]
            k = self.powers[place]
            level = np.log(np.abs(coefficients[k]))
            gain += sign * level
            for j, f in enumerate(self.frequencies):
                value = np.log(np.abs(horner(coefficients, 2j * math.pi * f)))
                drops[:, j] += sign * (level - value)
        cost = np.zeros(len(rows))
        for i, name in enumerate(names):
            if name.startswith("c_"):
                cost += np.log10(rows[:, i] / self.smallest)
        return Table(names, rows, gain, drops, cost)


def joined(tables: Sequence[tuple[tuple[str, ...], Floats]]) -> tuple[tuple[str, ...], Floats]:
    """Return every combination of the rows of some tables.

    Parameters
    ----------
    tables : sequence of (tuple of str, array)
        Tables of different parts.
    """
    names = tuple(name for own, _ in tables for name in own)
    index = np.indices([len(rows) for _, rows in tables]).reshape(len(tables), -1)
    return names, np.hstack([rows[index[i]] for i, (_, rows) in enumerate(tables)])


def grouped(grid: Grid, free: Iterable[str], tables: Sequence[tuple[tuple[str, ...], Floats]]) -> list[Table]:
    """Return one table for each group of parts that hang together by a factor or a local limit.

    Parameters
    ----------
    grid : Grid
        The transfer and what it is judged at.
    free : iterable of str
        Parts that may be chosen.
    tables : sequence of (tuple of str, array)
        From `local_tables`.
    """
    merged: list[tuple[set[str], list[int]]] = []
    for names, places in [*grid.groups(free), *((set(own), []) for own, _ in tables)]:
        own, factors = set(names), list(places)
        for other in [g for g in merged if g[0] & own]:
            merged.remove(other)
            own, factors = own | other[0], [*factors, *other[1]]
        merged.append((own, factors))
    result = []
    for names, places in merged:
        mine = [table for table in tables if names & set(table[0])]
        parts, rows = joined(mine) if mine else ((), np.zeros((1, 0)))
        result.append(grid.table(parts, rows, places))
    return result
