"""Separate stages in a row: their common cut-off, and gain shared over several of them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import QuantityError
from .rational import HALF_POWER_DB, Rational


def cascade_bandwidth(cutoffs: Sequence[float], drop_db: float = HALF_POWER_DB) -> float:
    """Return the top-end cut-off of separate one-pole stages in a row, exactly, Hz.

    Parameters
    ----------
    cutoffs : sequence of float
        Half-power cut-off of each, Hz.
    drop_db : float
        Drop that defines the overall cut-off.

    Raises
    ------
    QuantityError
        If there is none, or one is not positive.
    """
    if not cutoffs:
        raise QuantityError(
            "cutoffs", "none", allowed="one or more", remedy="Give the cut-off of each stage."
        )
    require_positive(drop_db=drop_db, **{f"cutoffs[{k}]": f for k, f in enumerate(cutoffs)})
    reference = max(cutoffs)
    bottom = np.ones(1)
    for f in cutoffs:
        bottom = np.convolve(bottom, [1.0, reference / (2.0 * math.pi * f)])
    # s counts in units of the highest cut-off.
    return float(Rational([1.0], bottom).crossings(10.0 ** (-drop_db / 20.0))[0] * reference)


@dataclass(frozen=True, slots=True)
class GainSharing:
    """A total gain shared equally over stages of one op-amp type.

    Attributes
    ----------
    stages : int
        How many.
    gain_each : float
        V/V.
    cutoff_each : float
        GBW over the gain of one stage, Hz.
    cutoff : float
        Of all together, Hz.
    """

    stages: int
    gain_each: float
    cutoff_each: float
    cutoff: float


def gain_sharing(total_gain: float, gbw: float, stages: int = 2) -> GainSharing:
    """Return what sharing a gain equally over non-inverting stages does for the bandwidth.

    Parameters
    ----------
    total_gain : float
        V/V, at least 1.
    gbw : float
        Of each op-amp, Hz.
    stages : int
        How many.

    Raises
    ------
    QuantityError
        If the gain is below 1, or there is no stage.
    """
    require_positive(gbw=gbw, stages=stages)
    if not total_gain >= 1:
        raise QuantityError("total_gain", total_gain, allowed=">= 1 V/V", remedy="Give the magnitude.")
    each = total_gain ** (1.0 / stages)
    return GainSharing(stages, each, gbw / each, cascade_bandwidth([gbw / each] * stages))


def require_positive(**values: float) -> None:
    """Refuse a value that is not positive.

    Parameters
    ----------
    **values : float
        By name, SI units.

    Raises
    ------
    QuantityError
        On the first that is not.
    """
    for name, value in values.items():
        if not value > 0:
            raise QuantityError(name, value, allowed="> 0", remedy="Give the value in SI units.")
