"""Bands over the corners of a tolerance box."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from ..analysis.tolerance_inputs import ToleranceSet
from .measured import Floats

MOST_POINTS = 400
"""Of a longer record the band is worked out on so many points and interpolated between them."""
_CHUNK = 50


def corners(tolerances: ToleranceSet, names: tuple[str, ...], most: int) -> dict[str, Floats]:
    """Return the corners of the box: all of them, or of very many a seeded choice.

    Parameters
    ----------
    tolerances : ToleranceSet
        The box.
    names : tuple of str
        What may vary; the rest of the box is left alone.
    most : int
        Most corners.

    Returns
    -------
    dict of str to array, shape (corners,)
        A value per part and corner, SI units.
    """
    box = {name: ends for name, ends in tolerances.box.items() if name in names}
    if not box:
        return {}
    if 2 ** len(box) <= most:
        which = np.indices((2,) * len(box)).reshape(len(box), -1)
    else:
        which = np.random.default_rng(1).integers(0, 2, (len(box), most))
    return {name: np.array(ends)[which[i]] for i, (name, ends) in enumerate(box.items())}


def on_few_points(
    at: Floats,
    found: Callable[[Floats], tuple[Floats, Floats]],
    *,
    logarithmic: bool,
    together: bool = False,
) -> tuple[Floats, Floats]:
    """Return the two ends of a band, of a long record interpolated between a few points.

    Parameters
    ----------
    at : array, shape (points,)
        Hz or s, ascending.
    found : callable
        Gives both ends at some points.
    logarithmic : bool
        Whether to interpolate between logarithms.
    together : bool
        Whether all points are asked at once; a few at a time need less memory.
    """
    points = at
    if at.size > MOST_POINTS:
        space = np.geomspace if logarithmic else np.linspace
        points = np.unique(space(at[0], at[-1], MOST_POINTS))
    pieces = [points] if together else list(_chunks(points))
    ends = [np.concatenate(end) for end in zip(*(found(piece) for piece in pieces), strict=True)]
    if points is at:
        return ends[0], ends[1]
    if logarithmic:
        low, high = (np.exp(np.interp(np.log(at), np.log(points), np.log(end))) for end in ends)
    else:
        low, high = (np.interp(at, points, end) for end in ends)
    return low, high


def _chunks(points: Floats) -> Iterator[Floats]:
    for start in range(0, points.size, _CHUNK):
        yield points[start : start + _CHUNK]
