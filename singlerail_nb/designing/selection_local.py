"""Requirements that a few parts settle among themselves, tried on all their stock values."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..analysis.evaluation import compiled
from ..circuit.network_functions import NetworkFunction
from ..errors import RequirementError
from ..quantities import write_quantity

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class LocalLimit:
    """A requirement that a few parts settle among themselves.

    Attributes
    ----------
    requirement : str
        Name of the field of `Requirements`.
    function : NetworkFunction
        What is limited.
    power : int
        0 for its value at DC, 1 for its limit at infinity, -1 for the frequency of its single pole.
    limit : float
        In the unit of the figure.
    sign : int
        1 for at least, -1 for at most.
    unit : str
        For messages.
    scale : float
        Factor from the function to the figure, or to its reciprocal if ``inverse``.
    inverse : bool
        Whether the figure is ``scale`` over the function.
    """

    requirement: str
    function: NetworkFunction
    power: int
    limit: float
    sign: int
    unit: str
    scale: float = 1.0
    inverse: bool = False

    def parts(self, free: Iterable[str]) -> tuple[str, ...]:
        """Return the free parts that the figure depends on.

        Parameters
        ----------
        free : iterable of str
            Parts that may be chosen.
        """
        reduced = self.function.reduced
        names = self.function.system.parameters
        kept = [_polynomial_end(p, self.power) for p in (reduced.numerator, reduced.denominator)]
        used = {i for polynomial in kept for e in polynomial for i, power in enumerate(e) if power and i}
        return tuple(name for i, name in enumerate(names, 1) if i in used and name in set(free))

    def figure(self, numbers: Mapping[str, float | Floats]) -> Floats:
        """Return the figure for many values at once.

        Parameters
        ----------
        numbers : mapping of str to float or array
            Every parameter.
        """
        top, bottom = (_present(c) for c in compiled(self.function.reduced)(numbers))
        if self.power < 0:
            value = bottom[0] / bottom[1] / (2.0 * math.pi)
        else:
            value = top[-1] / bottom[-1] if self.power else top[0] / bottom[0]
        value = np.abs(np.asarray(value, dtype=np.float64))
        return self.scale / value if self.inverse else self.scale * value

    def met(self, figure: Floats) -> NDArray[np.bool_]:
        """Return where the limit is kept.

        Parameters
        ----------
        figure : array
            From `figure`.
        """
        return self.sign * (figure - self.limit) >= -1e-12 * abs(self.limit)


def _polynomial_end(polynomial: object, power: int) -> list[tuple[int, ...]]:
    monomials = [tuple(e) for e in polynomial.itermonoms()]  # type: ignore[attr-defined]
    if power < 0:
        return monomials
    kept = max(e[0] for e in monomials) if power else min(e[0] for e in monomials)
    return [e for e in monomials if e[0] == kept]


def _present(coefficients: Sequence[float | Floats]) -> list[float | Floats]:
    found = list(coefficients)
    while np.ndim(found[-1]) == 0 and found[-1] == 0:
        found.pop()
    return found


def combinations(lists: Mapping[str, Sequence[float]]) -> tuple[tuple[str, ...], Floats]:
    """Return all combinations of lists of values, shape (rows, parts).

    Parameters
    ----------
    lists : mapping of str to sequence of float
        Values of each part.
    """
    grids = np.meshgrid(*[np.asarray(values) for values in lists.values()], indexing="ij")
    return tuple(lists), np.stack([grid.ravel() for grid in grids], axis=1)


def local_tables(
    lists: Mapping[str, Sequence[float]],
    limits: Sequence[LocalLimit],
    numbers: Mapping[str, float],
    ties: Mapping[str, str],
) -> list[tuple[tuple[str, ...], Floats]]:
    """Return tables of parts that local limits tie together, rows outside a limit left out.

    Parameters
    ----------
    lists : mapping of str to sequence of float
        Values of each free part.
    limits : sequence of LocalLimit
        The limits.
    numbers : mapping of str to float
        Value of every parameter that is not free.
    ties : mapping of str to str
        Parts that are equal to a free part.

    Raises
    ------
    RequirementError
        If no row keeps a limit: names it, and the best that the stock can do.
    """
    groups: list[set[str]] = [{name} for name in lists]
    used = {limit: {ties.get(n, n) for n in limit.parts([*lists, *ties])} for limit in limits}
    for tied_together in used.values():
        touching = [group for group in groups if group & tied_together]
        groups = [group for group in groups if not group & tied_together]
        groups.append(set[str]().union(*touching))
    tables = []
    for group in groups:
        names, rows = combinations({name: lists[name] for name in lists if name in group})
        for limit in (limit for limit, own in used.items() if own and own <= group):
            given = with_rows(numbers, names, rows, ties)
            figure = limit.figure(given)
            if not limit.met(figure).any():
                raise infeasible(limit, figure)
            rows = rows[limit.met(figure)]
        tables.append((names, rows))
    return tables


def with_rows(
    numbers: Mapping[str, float], names: tuple[str, ...], rows: Floats, ties: Mapping[str, str]
) -> dict[str, float | Floats]:
    """Return the values of every parameter: arrays for the parts of the rows and those tied to them.

    Parameters
    ----------
    numbers : mapping of str to float
        Value of every parameter that is not in the rows.
    names : tuple of str
        Parts of the rows.
    rows : array, shape (rows, parts)
        Values.
    ties : mapping of str to str
        Parts that are equal to one of the rows.
    """
    given: dict[str, float | Floats] = {**numbers}
    given.update({name: rows[:, i] for i, name in enumerate(names)})
    given.update({tied: given[name] for tied, name in ties.items() if name in names})
    return given


def infeasible(limit: LocalLimit, figure: Floats) -> RequirementError:
    """Return the error for a limit that no row keeps.

    Parameters
    ----------
    limit : LocalLimit
        The limit.
    figure : array
        What the rows give.
    """
    best = float(np.max(figure) if limit.sign > 0 else np.min(figure))
    off = abs(best / limit.limit - 1.0)
    side = "at least" if limit.sign > 0 else "at most"
    return RequirementError(
        limit.requirement,
        f"{side} {write_quantity(limit.limit, limit.unit)}",
        allowed=f"what the stock can do: {write_quantity(best, limit.unit)}, off by {off:.1%}",
        remedy="Add values to the stock, widen the window of these parts, or relax the requirement.",
    )
