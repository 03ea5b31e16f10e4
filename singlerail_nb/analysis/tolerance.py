"""Tolerance three ways, beside each other; each answers a question of its own.

- `worst_case`: can any board within tolerance be worse than this?  (extreme value)
- `root_sum_square`: how wide is the spread if causes are independent and small?
- `monte_carlo`: which share of a production run is how far off, under stated distributions?

`tolerance_report` puts them into one table with their questions.
"""

from __future__ import annotations

from concurrent.futures import Executor
from dataclasses import dataclass

from ..quantities import QuantityLike, write_quantity
from ..quantities.tables import markdown_table, text_table
from .network import require_stage
from .stage import Stage
from .tolerance_catalogue import standard_figures
from .tolerance_draws import Distribution
from .tolerance_results import Spread
from .tolerance_runs import Tolerances, monte_carlo, root_sum_square, worst_case
from .tolerance_stage_figures import Settling

__all__ = [
    "QUESTIONS",
    "ToleranceReport",
    "ToleranceRow",
    "Tolerances",
    "monte_carlo",
    "root_sum_square",
    "tolerance_report",
    "worst_case",
]

QUESTIONS = {
    "extreme value": "Can any board within tolerance be worse? Yes or no, whatever the distribution.",
    "root sum square": "How wide is the spread when many small independent causes add up?",
    "Monte Carlo": "Which share of many boards is how far off, if parts are distributed like this?",
}
"""What each way answers."""

_PERCENT = (1.0, 99.0)
_SLACK = 1e-6
_BENT = (
    "root sum square reaches past the extreme value. It draws a straight line through the nominal board, and "
    "the figure bends, as a swing does where the other limit takes over. The extreme value holds."
)


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

    @property
    def goes_beyond(self) -> bool:
        """Whether root sum square, a straight line, reaches past the extreme values: the figure bends."""
        slack = _SLACK * max(map(abs, self.extreme))
        (low, high), (least, most) = self.root_sum_square, self.extreme
        return low < least - slack or high > most + slack

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
        lines = [text_table(self.header, (row.cells for row in self.rows))]
        lines += ["", "the extreme values are", *(f"  {line}" for line in self.verdicts)]
        lines += ["", *self.remarks] if self.remarks else []
        lines += ["", *(f"{way}: {question}" for way, question in QUESTIONS.items())]
        return "\n".join(lines)

    @property
    def remarks(self) -> tuple[str, ...]:
        """Which root sum squares reach past the extreme values, and why; empty if none does."""
        labels = [row.label for row in self.rows if row.goes_beyond]
        if not labels:
            return ()
        return (f"{', '.join(labels)}: {_BENT}",)

    @property
    def verdicts(self) -> tuple[str, ...]:
        """What is proven about the extremes, each time with the figures it holds for."""
        labels: dict[str, list[str]] = {}
        for row in self.rows:
            labels.setdefault(row.verdict, []).append(row.label)
        return tuple(f"{', '.join(figures)}: {verdict}" for verdict, figures in labels.items())

    def __repr__(self) -> str:
        return self.text

    def _repr_markdown_(self) -> str:
        table = markdown_table(self.header, (row.cells for row in self.rows))
        proven = "\n".join(f"- {line}" for line in self.verdicts)
        asked = "\n".join(f"- *{way}:* {question}" for way, question in QUESTIONS.items())
        noted = "".join(f"\n\n{remark}" for remark in self.remarks)
        return (
            f"{table}\n\nThe extreme values are\n\n{proven}{noted}\n\n"
            f"Each way has its own question.\n\n{asked}"
        )


def tolerance_report(
    stage: Stage,
    tolerance: Tolerances = 0.05,
    *,
    boards: int = 10_000,
    seed: int = 1,
    distribution: str | Distribution = "uniform",
    figures: tuple[str, ...] = (),
    line: QuantityLike = 100.0,
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
    line : float or str
        Frequency of the supply ripple, Hz.

    Raises
    ------
    UnknownNameError
        If a part, figure or distribution does not exist.
    QuantityError
        If a tolerance cannot be used, or ``stage`` is no stage.
    """
    require_stage(stage)
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
