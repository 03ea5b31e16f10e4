"""Choose every part from stock at once: the best combination of all, with its runners-up.

Every combination of the grid is judged: the limits that a few parts settle among themselves by
trying all their values, gain and low end as sums over the groups of the network.  The search skips a
combination only when a bound shows that it cannot beat those already found, so the result is the
best of the grid.  The best ones are then verified on the whole network, in order.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from itertools import islice
from os import PathLike
from typing import Any

from ..analysis.stage import Stage
from ..circuit.circuit import closest
from ..errors import QuantityError, RequirementError, UnknownNameError
from ..quantities import QuantityLike, read_part, write_quantity
from .given import require_requirements
from .requirements import Requirements
from .selection_bounds import Score
from .selection_grid import Grid, grouped
from .selection_limits import SumLimits, local_limits, middle_stage, windows
from .selection_local import local_tables
from .selection_misses import missed
from .selection_result import Candidate, Selection, Weights
from .selection_search import Found, pruned, search
from .stock import Stock
from .verification import checkers, verify

TIES = {"r_bottom": "r_top"}
"""Parts chosen equal to another one: the divider sits at half the rail."""
_ROOM = 0.005
"""Room for sums with a real op-amp, ln: mid-band is then a peak, not a plateau; `verify` is exact."""
_COUNTS = (20, 400, 4000)


def select(
    requirements: Requirements,
    topology: str = "noninverting",
    stock: Stock | str | PathLike[str] | None = None,
    *,
    within: Mapping[str, tuple[QuantityLike, QuantityLike]] | None = None,
    weights: Weights | None = None,
    keep: int = 5,
) -> Selection:
    """Return the best set of parts that a stock offers.

    Parameters
    ----------
    requirements : Requirements
        What the stage must do; its series are ignored in favour of the stock.
    topology : str
        ``"noninverting"``, ``"inverting"`` or ``"follower"``.
    stock : Stock or path, optional
        What can be bought, or the CSV file that lists it; E24 resistors and E12 capacitors unless given.
    within : mapping of str to (float or str, float or str), optional
        Lowest and highest value of a part, instead of the usual window.
    weights : Weights, optional
        What counts how much.
    keep : int
        Winner and runners-up together.

    Returns
    -------
    Selection
        ``.best.stage``, ``.design``, ``.runners_up``.

    Raises
    ------
    RequirementError
        If these are no requirements, or the stock cannot meet one: names it, and by how much it is missed.
    UnknownNameError, QuantityError
        If there is no such topology, a window names no part, or the stock is none or cannot be read.
    """
    require_requirements(requirements)
    _require_keep(keep)
    shelf, judged = Stock.read(stock), weights or Weights()
    lists = _lists(requirements, topology, shelf, within or {})
    middle = middle_stage(requirements, topology, {name: v[len(v) // 2] for name, v in lists.items()}, TIES)
    tables = local_tables(lists, local_limits(requirements, middle), middle.parameters, TIES)
    limits = SumLimits.of(requirements).widened(0.0 if requirements.opamp is None else _ROOM)
    grid = Grid(middle, [drop.frequency for drop in limits.drops], min(shelf.capacitors), TIES)
    groups = grouped(grid, lists, tables)
    kept = pruned(groups, limits)
    if not all(len(table) for table in kept):
        raise missed(requirements, middle, groups, limits, TIES)
    score = Score(judged.decade, judged.distinct, judged.margin)
    candidates: tuple[Candidate, ...] = ()
    for count in _COUNTS:
        found = search(kept, limits, score, keep + count)
        candidates = tuple(islice(_verified(requirements, middle, found), keep))
        if len(candidates) == keep or len(found) < keep + count:
            break
    if not candidates:
        raise missed(requirements, middle, groups, limits, TIES)
    return Selection(requirements, topology, shelf, judged, candidates, math.prod(map(len, lists.values())))


def _require_keep(keep: Any) -> None:
    if not isinstance(keep, int) or keep < 1:
        raise QuantityError("keep", keep, allowed="a whole number, 1 or more", remedy="The winner counts.")


def _verified(needed: Requirements, middle: Stage, found: Iterable[Found]) -> Iterator[Candidate]:
    """Yield those of the combinations that meet every requirement on the whole network, in order."""
    figures = checkers(needed)
    for one in found:
        tied = {name: one.values[other] for name, other in TIES.items() if other in one.values}
        stage = replace(middle, values={**middle.values, **one.values, **tied})
        if all(make(stage, needed).status == "pass" for make in figures):
            checks = verify(stage, needed)
            yield Candidate(stage, checks, one.score, one.decades, one.distinct, one.slack)


def _lists(
    needed: Requirements,
    topology: str,
    stock: Stock,
    within: Mapping[str, tuple[QuantityLike, QuantityLike]],
) -> dict[str, tuple[float, ...]]:
    """Return the values of every free part inside its window."""
    usual = windows(needed, topology)
    for name in within:
        if name not in usual:
            raise UnknownNameError("window of", name, allowed=", ".join(usual), remedy=closest(name, usual))
    lists = {}
    for name, window in usual.items():
        if name in TIES:
            continue
        low, high = (read_part(name, end) for end in within[name]) if name in within else window
        # Without a value in the usual window all are tried: the requirement that fails is then named.
        lists[name] = stock.values(name, low, high) or (() if name in within else stock.values(name))
        if not lists[name]:
            unit = "ohm" if name.startswith("r_") else "F"
            ends = " to ".join(write_quantity(v, unit) for v in (low, high))
            raise RequirementError(
                f"stock for {name}",
                f"nothing from {ends}",
                allowed="at least one value in the window",
                remedy=f'Add values to the stock, or give within={{"{name}": (lowest, highest)}}.',
            )
    return lists
