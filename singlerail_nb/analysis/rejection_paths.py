"""Ways from the rail to a node, and the finite supply rejection of the parts they start from."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from ..errors import QuantityError
from .evaluation import frequencies
from .transfer import Transfer


@dataclass(frozen=True, slots=True)
class FiniteRejection:
    """The supply rejection of a part: flat, then falling by 20 dB per decade.

    Attributes
    ----------
    decibels : float
        Rejection at low frequency, dB; infinite is ideal.
    corner : float
        Frequency above which it falls, Hz.
    """

    decibels: float
    corner: float

    def __call__(self, f: ArrayLike) -> Any:
        """Return the voltage at the part's reference input per volt on the rail, complex V/V.

        Parameters
        ----------
        f : array_like
            Hz.

        Raises
        ------
        QuantityError
            If a frequency is negative or not finite.
        """
        rising = 1.0 + 1j * frequencies(f) / self.corner
        return 10.0 ** (-self.decibels / 20.0) * rising

    @classmethod
    def through(cls, points: Sequence[tuple[float, float]]) -> FiniteRejection:
        """Return the rejection that fits two data-sheet points.

        Parameters
        ----------
        points : sequence of two (float, float)
            (frequency in Hz, rejection in dB), ascending in frequency.

        Raises
        ------
        QuantityError
            If the rejection rises, or falls faster than 20 dB per decade.
        """
        (f1, first), (f2, second) = points
        g1, g2 = 10.0 ** (-first / 10.0), 10.0 ** (-second / 10.0)
        # g = g0 (1 + (f/corner)^2): straight in f^2.
        slope = (g2 - g1) / (f2**2 - f1**2)
        flat = g1 - slope * f1**2
        if not (0 < f1 < f2 and slope > 0 and flat > 0):
            raise QuantityError(
                "supply rejection",
                f"{first:g} dB at {f1:g} Hz, {second:g} dB at {f2:g} Hz",
                allowed="a rejection that falls with frequency, by at most 20 dB per decade",
                remedy="Give one point on the flat part and one well above the corner.",
            )
        return cls(-10.0 * math.log10(flat), math.sqrt(flat / slope))


@dataclass(frozen=True)
class Path:
    """One way from the rail to a node.

    Attributes
    ----------
    terms : tuple of (Transfer, FiniteRejection or None)
        Transfers that add up, each after the rejection of the part that it starts from.
    """

    terms: tuple[tuple[Transfer, FiniteRejection | None], ...]

    def __call__(self, f: ArrayLike) -> Any:
        """Return the voltage at the node per volt on the rail, complex V/V.

        Parameters
        ----------
        f : array_like
            Hz, any shape.

        Raises
        ------
        QuantityError
            If a frequency is negative or not finite.
        """
        total = np.zeros(np.shape(f), dtype=np.complex128)
        for transfer, rejection in self.terms:
            total = total + transfer(f) * (1.0 if rejection is None else rejection(f))
        return complex(total) if np.ndim(total) == 0 else total

    def magnitude_db(self, f: ArrayLike) -> Any:
        """Return 20 log10 of the magnitude, dB; minus infinity where nothing comes through.

        Parameters
        ----------
        f : array_like
            Hz, any shape.

        Raises
        ------
        QuantityError
            If a frequency is negative or not finite.
        """
        with np.errstate(divide="ignore"):
            return 20.0 * np.log10(np.abs(self(f)))
