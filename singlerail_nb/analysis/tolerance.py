"""Tolerance three ways, beside each other; each answers a question of its own.

- `worst_case`: can any board within tolerance be worse than this?  (extreme value)
- `root_sum_square`: how wide is the spread if causes are independent and small?
- `monte_carlo`: which share of a production run is how far off, under stated distributions?
"""

from __future__ import annotations

from collections.abc import Mapping
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np

from ..errors import QuantityError
from ..quantities import write_quantity
from .boards import Floats
from .stage import Stage
from .tolerance_catalogue import chosen_figures, standard_figures
from .tolerance_draws import BLOCK, Distribution, drawn_blocks, read_distribution
from .tolerance_figures import Figure, Measured, Settling
from .tolerance_inputs import ToleranceLike, ToleranceSet, tolerance_set
from .tolerance_results import RootSumSquare, Spread, WorstCase

QUESTIONS = {
    "extreme value": "Can any board within tolerance be worse? Yes or no, whatever the distribution.",
    "root sum square": "How wide is the spread when many small independent causes add up?",
    "Monte Carlo": "Which share of many boards is how far off, if parts are distributed like this?",
}
"""What each way answers."""

Tolerances = ToleranceLike | Mapping[str, ToleranceLike]
_PERCENT = (1.0, 99.0)


def worst_case(stage: Stage, tolerance: Tolerances = 0.05, *, line: float = 100.0) -> WorstCase:
    """Return the lowest and highest value of every figure over all boards within tolerance.

    All corners are evaluated on the whole network, and a proof over the box says whether a board
    inside it could be worse.

    Parameters
    ----------
    stage : Stage
        The nominal stage.
    tolerance : float, str, pair or mapping
        One for every resistor and capacitor, or ``{part: tolerance}``; see `tolerance_set`.
    line : float
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
        If a tolerance is 100 % or more, or cannot be read.
    """
    return WorstCase(tolerance_set(stage, tolerance), standard_figures(stage, line))


def root_sum_square(stage: Stage, tolerance: Tolerances = 0.05, *, line: float = 100.0) -> RootSumSquare:
    """Return the spread of every figure from its sensitivities.

    Parameters
    ----------
    stage : Stage
        The nominal stage.
    tolerance : float, str, pair or mapping
        As in `worst_case`.
    line : float
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
    line: float = 100.0,
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
    line : float
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
        If there are no boards, or a tolerance cannot be used.
    """
    _check_counts(boards=boards, blocks_per_job=blocks_per_job)
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


def _check_counts(**counts: int) -> None:
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


@dataclass(frozen=True)
class ToleranceRow:
    """One figure, three ways.

    Attributes
    ----------
    name, label, unit : str
        The figure.
    nominal : float
        With nominal parts.
    extreme, root_sum_square, percentiles : (float, float)
        Lowest and highest by each way; of the random boards the 1 % and 99 % values.
    verdict : str
        What is proven about the extremes.
    """

    name: str
    label: str
    unit: str
    nominal: float
    extreme: tuple[float, float]
    root_sum_square: tuple[float, float]
    percentiles: tuple[float, float]
    verdict: str

    @property
    def cells(self) -> tuple[str, ...]:
        """Label, nominal and the three ranges, as text."""
        ranges = (self.extreme, self.root_sum_square, self.percentiles)
        written = (f"{self._written(low)} to {self._written(high)}" for low, high in ranges)
        return (self.label, self._written(self.nominal), *written)

    def _written(self, value: float) -> str:
        return write_quantity(value, self.unit)


@dataclass(frozen=True)
class ToleranceReport:
    """The three ways beside each other.

    Attributes
    ----------
    rows : tuple of ToleranceRow
        One per figure.
    spread : Spread
        The random boards.
    """

    rows: tuple[ToleranceRow, ...]
    spread: Spread

    header = ("figure", "nominal", "extreme value", "root sum square", "Monte Carlo, 1 % to 99 %")

    @property
    def text(self) -> str:
        """The table, what is proven, and which question each way answers, as plain text."""
        table = [self.header, *(row.cells for row in self.rows)]
        widths = [max(len(line[i]) for line in table) for i in range(len(self.header))]
        lines = ["  ".join(c.ljust(w) for c, w in zip(line, widths, strict=True)).rstrip() for line in table]
        lines += ["", *(f"{row.label}: {row.verdict}" for row in self.rows)]
        lines += ["", *(f"{way}: {question}" for way, question in QUESTIONS.items())]
        return "\n".join(lines)

    def __repr__(self) -> str:
        return self.text


def tolerance_report(
    stage: Stage,
    tolerance: Tolerances = 0.05,
    *,
    boards: int = 10_000,
    seed: int = 1,
    distribution: str | Distribution = "uniform",
    figures: tuple[str, ...] = (),
    line: float = 100.0,
    executor: Executor | None = None,
) -> ToleranceReport:
    """Return extreme value, root sum square and Monte Carlo of every figure beside each other.

    Parameters
    ----------
    stage : Stage
        The nominal stage.
    tolerance : float, str, pair or mapping
        As in `worst_case`.
    boards, seed, distribution, executor
        As in `monte_carlo`.
    figures : tuple of str
        Names from `standard_figures`; all but the settling time unless given.
    line : float
        Frequency of the supply ripple, Hz.

    Raises
    ------
    UnknownNameError
        If a part, figure or distribution does not exist.
    QuantityError
        If a tolerance cannot be used.
    """
    known = standard_figures(stage, line)
    wanted = figures or tuple(n for n, figure in known.items() if not isinstance(figure, Settling))
    spread = monte_carlo(
        stage,
        boards,
        tolerance,
        seed=seed,
        distribution=distribution,
        figures=wanted,
        line=line,
        executor=executor,
    )
    worst, squares = worst_case(stage, tolerance, line=line), root_sum_square(stage, tolerance, line=line)
    rows = []
    for name in wanted:
        low, high = spread.percentiles(name, _PERCENT)
        found = worst[name]
        figure = known[name]
        rows.append(
            ToleranceRow(
                name, figure.label, figure.unit, found.nominal, found.limits, squares.of(name), (low, high),
                found.verdict,
            )
        )  # fmt: skip
    return ToleranceReport(tuple(rows), spread)
