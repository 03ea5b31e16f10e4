"""Fit the parts that are most uncertain to a measurement, and say what the data can tell.

Least squares over the logarithms of the parts, on the whole network.  An interval has two causes,
added as root sum square: the scatter of the data (Student's t), and the parts that are not fitted,
each off by its whole tolerance.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from scipy.linalg import qr
from scipy.optimize import least_squares
from scipy.stats import t as student

from ..analysis.tolerance_inputs import ToleranceSet
from ..circuit.circuit import closest
from ..errors import SingleRailError, UnknownNameError
from .fit_models import Model
from .fit_result import Fit, FittedPart
from .measured import Floats

_WIDEST = math.log(100.0)
"""A part is sought within a factor of 100 of its nominal value."""
_TELLING = math.log(2.0)
"""What is known no better than within a factor of 2 either way is not told by the data."""
_RANK = 1e-7
_SHARE = 0.2


def fit_parts(
    model: Model,
    names: Sequence[str],
    others: Sequence[str],
    tolerances: ToleranceSet,
    *,
    confidence: float,
    unit: str,
) -> Fit:
    """Return parts fitted to a measurement by least squares on the whole network.

    Parameters
    ----------
    model : Model
        Residuals, and slopes over ``names`` followed by ``others``.
    names : sequence of str
        The parts to fit.
    others : sequence of str
        Parts that are not fitted but have a tolerance.
    tolerances : ToleranceSet
        Nominal values and limits.
    confidence : float
        Of the scatter part of the intervals, between 0 and 1.
    unit : str
        Unit of the residuals.

    Raises
    ------
    SingleRailError
        If there are not more numbers than parts, or the confidence is no probability.
    UnknownNameError
        If there is no such part.
    """
    nominal = _nominal(names, tolerances)
    before, count = model.residuals(nominal), len(names)
    _require_sense(before.size, count, confidence)

    def values(x: Any) -> dict[str, float]:
        return {name: nominal[name] * math.exp(xi) for name, xi in zip(names, x, strict=True)}

    found = least_squares(
        lambda x: model.residuals(values(x)),
        np.zeros(count),
        lambda x: model.slopes(values(x))[:, :count],
        bounds=(-_WIDEST, _WIDEST),
        xtol=1e-12, ftol=1e-12, gtol=1e-12,
    )  # fmt: skip
    after, slopes = np.asarray(found.fun), model.slopes(values(found.x))
    freedom = after.size - count
    scatter = float(student.ppf(0.5 + 0.5 * confidence, freedom)) * math.sqrt(float(after @ after) / freedom)
    left, sizes, directions = np.linalg.svd(slopes[:, :count], full_matrices=False)
    untold, widths = _told(names, sizes, directions, scatter)
    pulls = _pulls(left, sizes, directions, slopes[:, count:] * log_widths(others, tolerances))
    half = np.hypot(widths, np.sqrt((pulls**2).sum(axis=1)))
    hidden = tuple(n for n, w in zip(names, half, strict=True) if w > _TELLING and not _in(n, untold))
    known = {n: w for n, w in zip(names, half, strict=True) if n not in hidden and not _in(n, untold)}
    parts = tuple(_part(n, value, known, nominal, tolerances) for n, value in values(found.x).items())
    rms = [math.sqrt(float(np.mean(np.square(r)))) for r in (before, after)]
    return Fit(parts, confidence, rms[0], rms[1], unit, sizes, untold, hidden)


def most_uncertain(
    slopes: Floats, names: Sequence[str], tolerances: ToleranceSet, count: int
) -> tuple[str, ...]:
    """Return the parts whose tolerance moves the measurement most, each beyond what the earlier ones do.

    Column-pivoted QR of slopes times tolerance: the next part is the one with the largest effect
    that is not a mixture of the effects of those already taken.

    Parameters
    ----------
    slopes : array, shape (numbers, parts)
        Slope of each residual over the logarithm of each part.
    names : sequence of str
        The parts.
    tolerances : ToleranceSet
        How far each may be off.
    count : int
        How many at most.
    """
    triangle, places = qr(slopes * log_widths(names, tolerances), mode="r", pivoting=True)
    felt = np.abs(np.diag(np.atleast_2d(triangle)))
    kept = [names[place] for place, size in zip(places, felt, strict=False) if size > _RANK * felt[0]]
    return tuple(kept[:count])


def log_widths(names: Sequence[str], tolerances: ToleranceSet) -> Floats:
    """Return half the width of each tolerance, as a logarithm, shape (parts,).

    Parameters
    ----------
    names : sequence of str
        The parts.
    tolerances : ToleranceSet
        Their limits.
    """
    box = tolerances.box
    return np.array([0.5 * math.log(box[name][1] / box[name][0]) for name in names])


def _told(
    names: Sequence[str], sizes: Floats, directions: Floats, scatter: float
) -> tuple[tuple[tuple[str, ...], ...], Floats]:
    """Return groups of parts that the slopes do not tell, and the half width of ln(value) of each part."""
    untold = []
    squares = np.zeros(len(names))
    for size, direction in zip(sizes, directions, strict=True):
        if size <= _RANK * sizes[0] or scatter / size > _TELLING:
            group = [name for name, share in zip(names, np.abs(direction), strict=True) if share > _SHARE]
            untold.append(tuple(group))
        else:
            squares += (direction * scatter / size) ** 2
    return tuple(untold), np.sqrt(squares)


def _pulls(left: Floats, sizes: Floats, directions: Floats, effects: Floats) -> Floats:
    """Return by how much each effect pulls each fitted logarithm, shape (parts, effects)."""
    inverse = np.where(sizes > _RANK * sizes[0], 1.0 / np.where(sizes > 0, sizes, 1.0), 0.0)
    return np.asarray((directions.T * inverse) @ (left.T @ effects))


def _in(name: str, groups: Sequence[Sequence[str]]) -> bool:
    return any(name in group for group in groups)


def _part(
    name: str,
    value: float,
    known: Mapping[str, float],
    nominal: Mapping[str, float],
    tolerances: ToleranceSet,
) -> FittedPart:
    kinds = {"r": "ohm", "c": "F"}
    unit = kinds.get(name.partition("_")[0], "s" if name.endswith("unity_time") else "ratio")
    interval = (0.0, math.inf)
    if name in known:
        interval = (value * math.exp(-known[name]), value * math.exp(known[name]))
    limits = tolerances.box.get(name, (nominal[name], nominal[name]))
    return FittedPart(name, unit, nominal[name], value, interval, limits)


def _nominal(names: Sequence[str], tolerances: ToleranceSet) -> dict[str, float]:
    known = tolerances.stage.parameters
    for name in names:
        if name not in known:
            raise UnknownNameError("part", name, allowed="a part of this stage", remedy=closest(name, known))
    return {name: known[name] for name in names}


def _require_sense(numbers: int, parts: int, confidence: float) -> None:
    if not parts or numbers <= parts:
        raise SingleRailError(
            "fit",
            f"{parts} parts to {numbers} numbers",
            allowed="at least one part, and more numbers than parts",
            remedy="Fit fewer parts, or measure more points.",
        )
    if not 0.0 < confidence < 1.0:
        raise SingleRailError(
            "confidence", f"{confidence:g}", allowed="between 0 and 1", remedy="95 % is 0.95."
        )
