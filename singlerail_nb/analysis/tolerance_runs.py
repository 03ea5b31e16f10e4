"""The three ways to look at tolerances: extreme values, root sum square, many random boards."""

from __future__ import annotations

from collections.abc import Mapping
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np

from ..errors import QuantityError
from ..quantities import QuantityLike
from .boards import Floats
from .seeds import require_seed
from .stage import Stage
from .tolerance_catalogue import chosen_figures, standard_figures
from .tolerance_draws import BLOCK, Distribution, drawn_blocks, read_distribution
from .tolerance_figures import Figure, Measured
from .tolerance_inputs import ToleranceLike, ToleranceSet, tolerance_set
from .tolerance_results import RootSumSquare, Spread, WorstCase

Tolerances = ToleranceLike | Mapping[str, ToleranceLike]


def worst_case(stage: Stage, tolerance: Tolerances = 0.05, *, line: QuantityLike = 100.0) -> WorstCase:
    """Return the lowest and highest value of every figure over all boards within tolerance.

    All corners are evaluated on the whole network, and a proof over the box says whether a board
    inside it could be worse.

    Parameters
    ----------
    stage : Stage
        The nominal stage.
    tolerance : float, str, pair or mapping
        One for every resistor and capacitor, or ``{part: tolerance}``; see `tolerance_set`.
    line : float or str
        Frequency of the supply ripple, Hz.

    Returns
    -------
    WorstCase
        ``.low_cutoff`` is (lowest, highest) in Hz; ``["low_cutoff"]`` has corners and proof.

    Raises
    ------
    UnknownNameError
        If a name is no part of the stage.
    QuantityError
        If a tolerance is 100 % or more, or cannot be read, or ``stage`` is no stage.
    """
    return WorstCase(tolerance_set(stage, tolerance), standard_figures(stage, line))


def root_sum_square(
    stage: Stage, tolerance: Tolerances = 0.05, *, line: QuantityLike = 100.0
) -> RootSumSquare:
    """Return the spread of every figure from its sensitivities.

    Parameters
    ----------
    stage : Stage
        The nominal stage.
    tolerance : float, str, pair or mapping
        As in `worst_case`.
    line : float or str
        Frequency of the supply ripple, Hz.

    Raises
    ------
    UnknownNameError
        If a name is no part of the stage.
    QuantityError
        If a tolerance is 100 % or more, or cannot be read.
    """
    return RootSumSquare(tolerance_set(stage, tolerance), standard_figures(stage, line))


def monte_carlo(
    stage: Stage,
    boards: int = 10_000,
    tolerance: Tolerances = 0.05,
    *,
    seed: int = 1,
    distribution: str | Distribution = "uniform",
    figures: tuple[str | Figure, ...] = ("midband_gain", "low_cutoff"),
    line: QuantityLike = 100.0,
    executor: Executor | None = None,
    blocks_per_job: int = 1,
) -> Spread:
    """Return figures of many boards with random parts.

    Parameters
    ----------
    stage : Stage
        The nominal stage.
    boards : int
        How many.
    tolerance : float, str, pair or mapping
        As in `worst_case`.
    seed : int
        The same seed gives the same boards, whatever the executor and the size of the jobs; fewer
        boards are the first ones of more.
    distribution : str or Distribution
        ``"uniform"``, ``"normal"`` (truncated at the limits), ``"binned"`` (middle sorted out), or
        an object; for every part and cause.
    figures : tuple of str or Figure
        Names from `standard_figures`, or figures.
    line : float or str
        Frequency of the supply ripple, Hz.
    executor : concurrent.futures.Executor, optional
        Where jobs run; here, one after the other, unless given.
    blocks_per_job : int
        Blocks of 32 768 boards per job.

    Returns
    -------
    Spread
        ``.low_cutoff`` and the others are arrays of shape (boards,).

    Raises
    ------
    UnknownNameError
        If a part, figure or distribution does not exist.
    QuantityError
        If ``stage`` is no stage, there are no boards, or a tolerance or the seed cannot be used.
    """
    _check_counts(seed, boards=boards, blocks_per_job=blocks_per_job)
    tolerances, spread = tolerance_set(stage, tolerance), read_distribution(distribution)
    chosen = chosen_figures(stage, figures, line)
    count = -(-boards // BLOCK)
    jobs = [
        _Job(tolerances, spread, seed, boards, range(i, min(i + blocks_per_job, count)), chosen)
        for i in range(0, count, blocks_per_job)
    ]
    results = list((map if executor is None else executor.map)(_run, jobs))
    values = {f.name: np.concatenate([result[f.name] for result in results]) for f in chosen}
    return Spread(tolerances, spread, boards, seed, values)


def _check_counts(seed: int, **counts: int) -> None:
    require_seed(seed)
    for name, number in counts.items():
        if not (isinstance(number, int) and number > 0):
            raise QuantityError(name, number, allowed="a whole number above 0", remedy="Ask for 10 000.")


@dataclass(frozen=True)
class _Job:
    """Some blocks of boards: what a worker is sent."""

    tolerances: ToleranceSet
    distribution: Distribution
    seed: int
    boards: int
    blocks: range
    figures: tuple[Figure, ...]


def _run(job: _Job) -> dict[str, Floats]:
    """Draw and evaluate the blocks of a job; one block is in memory at a time."""
    found: dict[str, list[Floats]] = {figure.name: [] for figure in job.figures}
    stage = job.tolerances.stage
    for block, values in zip(
        job.blocks,
        drawn_blocks(job.tolerances, job.distribution, job.seed, job.boards, job.blocks),
        strict=True,
    ):
        size = min(BLOCK, job.boards - block * BLOCK)
        drawn = values or {"supply": np.full(size, stage.supply)}
        boards = Measured(stage, drawn)
        for figure in job.figures:
            found[figure.name].append(figure.on(boards))
    return {name: np.concatenate(pieces) for name, pieces in found.items()}
