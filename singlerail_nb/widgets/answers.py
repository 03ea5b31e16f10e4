"""Answers of the kernel as plain data that the browser draws: plots, columns, bars, rows and a summary.

Numbers are shortened to what a picture can show; a value that JSON cannot hold becomes None.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

Answer = Mapping[str, Any]

_DIGITS = 4
POINTS = 180
"""Points of a drawn curve, at most."""


def numbers(values: ArrayLike) -> list[float]:
    """Return numbers with as many digits as a picture can show.

    Parameters
    ----------
    values : array_like
        Finite numbers, one dimension.
    """
    return [float(f"{value:.{_DIGITS}g}") for value in np.asarray(values, dtype=np.float64).tolist()]


def curve(label: str, xs: ArrayLike, ys: ArrayLike, slot: int) -> dict[str, Any]:
    """Return a curve.

    Parameters
    ----------
    label : str
        Written at its end.
    xs, ys : array_like
        Points, ascending in xs; values that are not finite are left out.
    slot : int
        Colour and line style, 0 to 4.
    """
    x, y = np.asarray(xs, dtype=np.float64), np.asarray(ys, dtype=np.float64)
    kept = np.isfinite(y)
    return {"label": label, "slot": slot, "xs": numbers(x[kept]), "ys": numbers(y[kept])}


def axis(label: str, unit: str, span: tuple[float, float] | None = None, **others: Any) -> dict[str, Any]:
    """Return an axis.

    Parameters
    ----------
    label : str
        Its title.
    unit : str
        A name of the table of units.
    span : (float, float), optional
        Its ends; an ordinate finds its own unless given.
    **others
        ``scale`` ("linear" or "log"), ``depth``, ``least``.
    """
    ends = {} if span is None else {"min": span[0], "max": span[1], "range": list(span)}
    return {"label": label, "unit": unit, **ends, **others}


def row(label: str, text: str) -> dict[str, str]:
    """Return a row of the table under the pictures.

    Parameters
    ----------
    label, text : str
        What it is, and its value in words.
    """
    return {"label": label, "text": text}


def thinned(count: int, kept: Iterable[int] = ()) -> list[int]:
    """Return ascending places of a long series: evenly spread, and those that must be kept.

    Parameters
    ----------
    count : int
        Length of the series.
    kept : iterable of int
        Places that must be among them.
    """
    even = np.linspace(0, count - 1, min(count, POINTS)).round().astype(int)
    return sorted({*even.tolist(), *(place for place in kept if 0 <= place < count)})


def nice_above(value: float) -> float:
    """Return the next of 1, 1.5, 2, 3, 5, 7 times a power of ten: ends of axes that move in steps.

    Parameters
    ----------
    value : float
        Positive.
    """
    decade = 10.0 ** math.floor(math.log10(value))
    steps: Sequence[float] = (1.0, 1.5, 2.0, 3.0, 5.0, 7.0, 10.0)
    return float(f"{decade * next(step for step in steps if step * decade >= value * (1 - 1e-12)):.6g}")


def plain(answer: Any) -> Any:
    """Return an answer as JSON can hold it: no tuples, no infinity.

    Parameters
    ----------
    answer : object
        Mappings, sequences, texts and numbers.
    """
    if isinstance(answer, Mapping):
        return {str(key): plain(value) for key, value in answer.items()}
    if (
        isinstance(answer, list)
        and all(type(value) is float for value in answer)
        and np.isfinite(answer).all()
    ):
        return answer
    if isinstance(answer, list | tuple):
        return [plain(value) for value in answer]
    if isinstance(answer, float | np.floating):
        return float(answer) if math.isfinite(answer) else None
    if isinstance(answer, np.integer):
        return int(answer)
    return answer
