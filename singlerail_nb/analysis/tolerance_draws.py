"""Seeded random boards: how values are spread between their limits, and who draws what.

Boards are drawn in blocks of fixed size, each part of each block from a stream of its own
(``numpy.random.SeedSequence`` with the block and the part as key).  So a board depends on the seed
alone: not on the number of workers, nor on how blocks are shared out, nor on the other parts.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from scipy.special import ndtr, ndtri

from ..circuit.circuit import closest
from ..errors import QuantityError, UnknownNameError
from .boards import Floats
from .tolerance_inputs import PartTolerance, ToleranceSet

BLOCK = 32768
"""Boards drawn together."""


class Distribution(Protocol):
    """How values are spread between their limits."""

    def draw(self, generator: np.random.Generator, size: int) -> Floats:
        """Return random numbers from -1 to 1, shape (size,).

        Parameters
        ----------
        generator : numpy.random.Generator
            Where chance comes from.
        size : int
            How many.
        """

    @property
    def variance(self) -> float:
        """Variance of the numbers."""


@dataclass(frozen=True)
class Uniform:
    """Every value between the limits is equally likely."""

    def draw(self, generator: np.random.Generator, size: int) -> Floats:
        """Return random numbers from -1 to 1, shape (size,).

        Parameters
        ----------
        generator : numpy.random.Generator
            Where chance comes from.
        size : int
            How many.
        """
        return generator.uniform(-1.0, 1.0, size)

    @property
    def variance(self) -> float:
        """Variance of the numbers: 1/3."""
        return 1.0 / 3.0


@dataclass(frozen=True)
class TruncatedNormal:
    """A normal distribution cut off at the limits: the maker sorts out what is beyond.

    Attributes
    ----------
    sigmas : float
        Limits in standard deviations of the uncut distribution; 3 is common practice (no
        published source).

    Raises
    ------
    QuantityError
        If ``sigmas`` is not positive.
    """

    sigmas: float = 3.0

    def __post_init__(self) -> None:
        if not 0.0 < self.sigmas <= 8.0:
            raise QuantityError("sigmas", self.sigmas, allowed="0 to 8", remedy="Three is usual.")

    def draw(self, generator: np.random.Generator, size: int) -> Floats:
        """Return random numbers from -1 to 1, shape (size,).

        Parameters
        ----------
        generator : numpy.random.Generator
            Where chance comes from.
        size : int
            How many.
        """
        below = ndtr(-self.sigmas)
        drawn = ndtri(generator.uniform(below, 1.0 - below, size)) / self.sigmas
        return np.asarray(np.clip(drawn, -1.0, 1.0))

    @property
    def variance(self) -> float:
        """Variance of the numbers, in closed form."""
        k = self.sigmas
        density = np.exp(-0.5 * k * k) / np.sqrt(2.0 * np.pi)
        return float((1.0 - 2.0 * k * density / (ndtr(k) - ndtr(-k))) / k**2)


@dataclass(frozen=True)
class Binned:
    """Uniform with the middle missing: the best parts were sorted out and sold as a tighter grade.

    Attributes
    ----------
    removed : float
        The middle share of the tolerance that is missing.

    Raises
    ------
    QuantityError
        If ``removed`` is not from 0 to below 1.
    """

    removed: float = 0.5

    def __post_init__(self) -> None:
        if not 0.0 <= self.removed < 1.0:
            raise QuantityError(
                "removed", self.removed, allowed="0 to below 1", remedy="0.5 takes the inner half out."
            )

    def draw(self, generator: np.random.Generator, size: int) -> Floats:
        """Return random numbers from -1 to 1 without the middle, shape (size,).

        Parameters
        ----------
        generator : numpy.random.Generator
            Where chance comes from.
        size : int
            How many.
        """
        drawn = generator.uniform(-1.0, 1.0, size)
        return np.asarray(np.copysign(self.removed + (1.0 - self.removed) * np.abs(drawn), drawn))

    @property
    def variance(self) -> float:
        """Variance of the numbers, in closed form."""
        return (1.0 + self.removed + self.removed**2) / 3.0


_BY_NAME: dict[str, Distribution] = {
    "uniform": Uniform(),
    "normal": TruncatedNormal(),
    "binned": Binned(),
}


def read_distribution(given: str | Distribution) -> Distribution:
    """Return a distribution by name; one given as such is taken as it is.

    Parameters
    ----------
    given : str or Distribution
        ``"uniform"``, ``"normal"`` (truncated), ``"binned"``, or an object.

    Raises
    ------
    UnknownNameError
        If there is no distribution of that name.
    """
    if not isinstance(given, str):
        return given
    if given not in _BY_NAME:
        raise UnknownNameError(
            "distribution", given, allowed=", ".join(_BY_NAME), remedy=closest(given, _BY_NAME)
        )
    return _BY_NAME[given]


def drawn_blocks(
    tolerances: ToleranceSet, distribution: Distribution, seed: int, boards: int, blocks: range
) -> Iterator[dict[str, Floats]]:
    """Yield the values of everything that varies, block by block; the last block may be shorter.

    Parameters
    ----------
    tolerances : ToleranceSet
        The limits.
    distribution : Distribution
        Between them, for every cause.
    seed : int
        Where chance starts.
    boards : int
        Number of boards of all blocks together.
    blocks : range
        Which blocks.
    """
    nominal = tolerances.nominal
    for block in blocks:
        size = min(BLOCK, boards - block * BLOCK)
        yield {
            name: nominal[name] * _factors(part, distribution, _stream(seed, block, name))[:size]
            for name, part in tolerances.parts.items()
        }


def _stream(seed: int, block: int, name: str) -> np.random.Generator:
    key = (block, zlib.crc32(name.encode()))
    return np.random.Generator(np.random.PCG64(np.random.SeedSequence(seed, spawn_key=key)))


def _factors(part: PartTolerance, distribution: Distribution, generator: np.random.Generator) -> Floats:
    """Return value over nominal value: each cause is drawn by itself, shape (BLOCK,)."""
    factor = np.ones(BLOCK)
    for low, high in part.causes.values():
        if low != high:
            factor *= 1.0 + 0.5 * (low + high) + 0.5 * (high - low) * distribution.draw(generator, BLOCK)
        elif low:
            factor *= 1.0 + low
    return factor
