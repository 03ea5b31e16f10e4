"""Which requirement a stock cannot meet, and by how much."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from ..analysis.stage import Stage
from ..errors import RequirementError
from ..quantities import write_quantity
from .requirements import Requirements
from .selection_grid import Table
from .selection_limits import DropLimit, SumLimits
from .selection_search import pruned
from .verification import Check, verify

_REMEDY = "Add values to the stock, widen the window of the parts, or relax this requirement."
_CHECKS = {
    "low_cutoff": "low-end cut-off",
    "droop": "droop",
    "rumble_floor": "rumble floor",
    "high_cutoff": "top-end cut-off",
}


def missed(
    needed: Requirements,
    stage: Stage,
    tables: Sequence[Table],
    limits: SumLimits,
    ties: Mapping[str, str],
) -> RequirementError:
    """Return the error that names the requirement that cannot be met, with the best that can be done.

    Requirements are added one by one, gain first; the first that leaves no combination is named.

    Parameters
    ----------
    needed : Requirements
        What was asked.
    stage : Stage
        Any stage of the grid.
    tables : sequence of Table
        One per group, not pruned.
    limits : SumLimits
        What sums must keep.
    ties : mapping of str to str
        Parts that are equal to a free part.
    """
    gain = _nearest_gain(tables, limits)
    if gain is not None:
        return _gain_missed(needed, gain, "")
    for count in range(1, len(limits.drops) + 1):
        kept = pruned(tables, SumLimits(limits.gain, limits.drops[: count - 1]))
        if any(not len(t) for t in pruned(kept, SumLimits(limits.gain, limits.drops[:count]))):
            flat = pruned(tables, SumLimits(_ANY_GAIN, limits.drops[:count]))
            gain = _nearest_gain(flat, limits) if all(map(len, flat)) else None
            if gain is not None:
                return _gain_missed(needed, gain, f" with the {limits.drops[count - 1].requirement} kept")
            return _drop_missed(needed, stage, kept, limits.drops[count - 1], count - 1, ties)
    last = len(limits.drops) - 1
    return _drop_missed(needed, stage, list(tables), limits.drops[last], last, ties)


_ANY_GAIN = (-math.inf, math.inf)
"""A gain leg that is too small for the low end may have any gain below its own: flat gains count."""


def _gain_missed(needed: Requirements, gain: float, condition: str) -> RequirementError:
    off = abs(gain / abs(needed.gain) - 1.0)
    return RequirementError(
        "gain",
        f"{abs(needed.gain):g} ± {needed.gain_tolerance:.1%}",
        allowed=f"what the stock can do{condition}: {write_quantity(gain, 'V/V')}, off by {off:.1%}",
        remedy=_REMEDY,
    )


def _nearest_gain(tables: Sequence[Table], limits: SumLimits) -> float | None:
    """Return the reachable gain nearest to the band; None if the band is reached."""
    sums = np.zeros(1)
    for table in tables:
        own = np.unique(np.round(table.gain, 9))
        sums = np.unique(np.round(sums[:, np.newaxis] + own, 9).ravel())
    outside = np.maximum(limits.gain[0] - sums, sums - limits.gain[1])
    best = int(np.argmin(outside))
    return None if outside[best] <= 1e-8 else math.exp(float(sums[best]))


def _drop_missed(
    needed: Requirements,
    stage: Stage,
    tables: Sequence[Table],
    drop: DropLimit,
    j: int,
    ties: Mapping[str, str],
) -> RequirementError:
    """Return the error with the figure of the best combination on the whole network."""
    values: dict[str, float] = {}
    for table in tables:
        k = int(np.argmin(-drop.sign * table.drops[:, j]))
        values |= dict(zip(table.names, map(float, table.values[k]), strict=True))
    values |= {tied: values[name] for tied, name in ties.items() if name in values}
    best = replace(stage, values={**stage.values, **values})
    check = _check(verify(best, needed), _CHECKS[drop.requirement])
    off = abs(check.value / check.limit - 1.0)
    return RequirementError(
        drop.requirement,
        check.limit_text,
        allowed=f"what the stock can do with the other requirements kept: "
        f"{write_quantity(check.value, check.unit)}, off by {off:.1%}",
        remedy=_REMEDY,
    )


def _check(checks: Sequence[Check], name: str) -> Check:
    return next(check for check in checks if check.requirement.startswith(name))
