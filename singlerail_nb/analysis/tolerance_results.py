"""What comes out of the three ways to look at tolerances: extremes, root sum square, many boards."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

import numpy as np

from ..circuit.circuit import closest
from ..errors import UnknownNameError
from ..quantities import write_quantity
from .boards import Floats
from .sensitivity import sensitivities
from .tolerance_by_figure import ByFigure
from .tolerance_catalogue import standard_figures
from .tolerance_draws import BLOCK, Distribution, drawn_blocks, read_distribution
from .tolerance_extremes import Extreme, extreme
from .tolerance_figures import Figure
from .tolerance_inputs import ToleranceSet

Limits = tuple[float, float]
V = TypeVar("V")


@dataclass(frozen=True)
class WorstCase(ByFigure[Limits]):
    """Extreme values; each figure is worked out when it is asked for.

    Attributes
    ----------
    tolerances : ToleranceSet
        The stage and its tolerances.
    figures : mapping of str to Figure
        What may be asked.
    """

    tolerances: ToleranceSet
    figures: Mapping[str, Figure]
    _known: dict[str, Extreme] = field(default_factory=dict, repr=False, compare=False)

    def __getitem__(self, name: str) -> Extreme:
        """Return the extreme values of a figure with corners and proof."""
        if name not in self._known:
            self._known[name] = extreme(self.tolerances, _known(self.figures, name))
        return self._known[name]

    def of(self, name: str) -> Limits:
        """Return (lowest, highest) over all corners.

        Parameters
        ----------
        name : str
            Such as ``"low_cutoff"``.
        """
        return self[name].limits

    def __repr__(self) -> str:
        return _written(self.figures, {name: e.limits for name, e in self._known.items()}, "extreme values")


@dataclass(frozen=True)
class RootSumSquare(ByFigure[Limits]):
    """Nominal value plus and minus the root of the summed squares of sensitivity times tolerance.

    Attributes
    ----------
    tolerances : ToleranceSet
        The stage and its tolerances.
    figures : mapping of str to Figure
        What may be asked.
    """

    tolerances: ToleranceSet
    figures: Mapping[str, Figure]
    _known: dict[str, Limits] = field(default_factory=dict, repr=False, compare=False)

    def of(self, name: str) -> Limits:
        """Return (lowest, highest): as many standard deviations as the tolerances themselves are.

        Parameters
        ----------
        name : str
            Such as ``"low_cutoff"``.
        """
        if name not in self._known:
            middle, half = self._spread(name, dict.fromkeys(self.tolerances.parts, 1.0))
            self._known[name] = (middle - half, middle + half)
        return self._known[name]

    def __repr__(self) -> str:
        return _written(self.figures, self._known, "root sum square")

    def deviation(self, name: str, distribution: str | Distribution = "uniform") -> float:
        """Return the standard deviation that small tolerances of a distribution give, in the figure's unit.

        Parameters
        ----------
        name : str
            Such as ``"low_cutoff"``.
        distribution : str or Distribution
            As in `monte_carlo`.
        """
        variance = read_distribution(distribution).variance
        return self._spread(name, dict.fromkeys(self.tolerances.parts, math.sqrt(variance)))[1]

    def _spread(self, name: str, weights: Mapping[str, float]) -> Limits:
        found = sensitivities(self.tolerances.stage, _known(self.figures, name))
        middle, squares = 1.0, 0.0
        for part, tolerance in self.tolerances.parts.items():
            for low, high in tolerance.causes.values():
                middle += found.shares[part] * 0.5 * (low + high)
                squares += (found.shares[part] * 0.5 * (high - low) * weights[part]) ** 2
        return found.value * middle, abs(found.value) * math.sqrt(squares)


@dataclass(frozen=True)
class Spread(ByFigure[Floats]):
    """Many random boards, each figure as an array of shape (boards,).

    Attributes
    ----------
    tolerances : ToleranceSet
        The stage and its tolerances.
    distribution : Distribution
        How values lie between their limits.
    boards, seed : int
        How many, and where chance starts: the same seed gives the same boards.
    values : mapping of str to array
        The figures that were asked for.
    """

    tolerances: ToleranceSet
    distribution: Distribution
    boards: int
    seed: int
    values: Mapping[str, Floats] = field(repr=False)

    def of(self, name: str) -> Floats:
        """Return a figure of all boards, shape (boards,).

        Parameters
        ----------
        name : str
            Such as ``"low_cutoff"``.

        Raises
        ------
        UnknownNameError
            If that figure was not asked for.
        """
        if name not in self.values:
            raise UnknownNameError(
                "figure", name, allowed=", ".join(self.values), remedy=f'Ask for it: figures=("{name}",).'
            )
        return self.values[name]

    def __repr__(self) -> str:
        known = standard_figures(self.tolerances.stage)
        asked = {name: known[name] for name in self.values if name in known}
        ranges = {name: (v[0], v[1]) for name in asked for v in [self.percentiles(name)]}
        return _written(asked, ranges, f"{self.boards} random boards, seed {self.seed}, 1 % to 99 %")

    def percentiles(self, name: str, shares: Sequence[float] = (1.0, 99.0)) -> tuple[float, ...]:
        """Return the values below which so many per cent of the boards lie.

        Parameters
        ----------
        name : str
            Such as ``"low_cutoff"``.
        shares : sequence of float
            Per cent.

        Raises
        ------
        UnknownNameError
            If that figure was not asked for.
        """
        return tuple(float(v) for v in np.percentile(self.of(name), shares))

    def share_within(self, name: str, low: float = -math.inf, high: float = math.inf) -> float:
        """Return the share of boards whose figure lies within limits.

        Parameters
        ----------
        name : str
            Such as ``"low_cutoff"``.
        low, high : float
            Limits in the unit of the figure.

        Raises
        ------
        UnknownNameError
            If that figure was not asked for.
        """
        found = self.of(name)
        return float(np.mean((found >= low) & (found <= high)))

    def part_values(self, name: str) -> Floats:
        """Return the values drawn for a part, shape (boards,): made again from the seed.

        Parameters
        ----------
        name : str
            Something that varies.

        Raises
        ------
        UnknownNameError
            If it does not vary.
        """
        parts = self.tolerances.parts
        _known(parts, name)
        alone = ToleranceSet(self.tolerances.stage, {name: parts[name]})
        blocks = range(-(-self.boards // BLOCK))
        drawn = drawn_blocks(alone, self.distribution, self.seed, self.boards, blocks)
        return np.concatenate([block[name] for block in drawn])


def _written(figures: Mapping[str, Figure], ranges: Mapping[str, Limits], title: str) -> str:
    """Return the ranges that are known as text, and the names that may be asked for."""
    lines = [f"{title}:"]
    for name, ends in ranges.items():
        low, high = (write_quantity(end, figures[name].unit) for end in ends)
        lines.append(f"  {figures[name].label}: {low} to {high}")
    left = [name for name in figures if name not in ranges]
    return "\n".join([*lines, f"  may be asked: {', '.join(left)}"] if left else lines)


def _known(known: Mapping[str, V], name: str) -> V:
    if name not in known:
        raise UnknownNameError("figure", name, allowed=", ".join(known), remedy=closest(name, known))
    return known[name]
