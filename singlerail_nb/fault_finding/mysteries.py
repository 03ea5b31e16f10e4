"""Mysteries from a seed: which faults may be there, and which one is."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from ..analysis.network import require_stage
from ..analysis.seeds import require_seed
from ..analysis.stage import Stage
from ..errors import CircuitError, QuantityError
from .bench import Bench
from .catalogue import Fault, fault_named, faults
from .mystery import Mystery
from .readings import reading

USUAL_NUMBER = 8


def mystery(
    stage: Stage,
    seed: int = 0,
    *,
    candidates: int | Sequence[Fault | str] = USUAL_NUMBER,
    bench: Bench | None = None,
) -> Mystery:
    """Return a board with one unknown fault.

    Parameters
    ----------
    stage : Stage
        The sound stage.
    seed : int
        Fixes the fault, the candidates and the actual part values; 0 or more.
    candidates : int or sequence of Fault or str
        What may be wrong: faults, their short names, or how many to draw.  Drawn ones can all be
        told apart by some measurement.
    bench : Bench, optional
        Instruments, test signals and tolerances; the usual ones unless given.

    Raises
    ------
    QuantityError
        If fewer than two candidates are asked for or can be found, or the seed is no whole number,
        or ``stage`` is no stage.
    UnknownNameError
        If the stage cannot have one of the faults.
    """
    require_stage(stage)
    require_seed(seed)
    known = Bench.of(stage) if bench is None else bench
    rng = np.random.default_rng([seed, 0])
    if isinstance(candidates, int):
        every = faults(stage)
        possible = told_apart(known, (every[i] for i in rng.permutation(len(every))), candidates)
    elif isinstance(candidates, str) or not isinstance(candidates, Iterable):
        raise QuantityError(
            "candidates",
            candidates,
            allowed="how many, or a list of faults",
            remedy='Write 8, or ["c_in open", "c_bias open"]; sr.faults(stage) names them all.',
        )
    else:
        possible = tuple(fault_named(stage, f) if isinstance(f, str) else f for f in candidates)
    if len(possible) < 2:
        raise QuantityError(
            "candidates",
            len(possible),
            allowed="two at least",
            remedy="Name more faults that this stage can have.",
        )
    ordered = tuple(sorted(possible, key=lambda fault: fault.key))
    return Mystery(known, ordered, ordered[int(rng.integers(len(ordered)))], seed)


def told_apart(bench: Bench, among: Iterable[Fault], most: int) -> tuple[Fault, ...]:
    """Return faults that show, and that some measurement tells from each other, the first ones found.

    Parameters
    ----------
    bench : Bench
        The bench.
    among : iterable of Fault
        Faults in the order in which they are tried.
    most : int
        How many to return at most.
    """
    found: list[Fault | None] = [None]
    for fault in among:
        if len(found) > most:
            break
        if _is_possible(fault, bench.stage) and all(_differ(bench, fault, other) for other in found):
            found.append(fault)
    return tuple(fault for fault in found if fault is not None)


def _is_possible(fault: Fault, stage: Stage) -> bool:
    try:
        fault.on(stage)
    except CircuitError:
        return False
    return True


def _differ(bench: Bench, one: Fault | None, other: Fault | None) -> bool:
    return any(reading(bench, one, m).differs(reading(bench, other, m)) for m in bench.measurements)
