"""Many boards at once: the same stage with other part values, as plain arrays.

The coefficients of all boards come from one run of the straight-line program; the cut-off of
every board is a root of ``|N|^2 - ref^2 |D|^2`` in omega^2, found by Newton's method from the
root of the nominal stage.  The method is quadratic: after a step of 1e-7 the error left is of
the order 1e-14.  A board on which that does not settle is solved alone, exactly.

The mid-band of a board is the point to which the mid-band of the nominal stage moves, so that
figures change smoothly over a spread also where two plateaus compete.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import QuantityError
from .evaluation import CompiledProgram, Value, checked_values, compiled
from .rational import horner, squared_magnitude
from .stage import Stage
from .transfer import Transfer

Floats = NDArray[np.float64]
Edge = Literal["low", "high", "none"]

CHUNK = 2048
"""Boards per pass: few enough that the intermediate arrays stay in the cache."""

_NEWTON_STEPS = 8
_SETTLED = 1e-7
_GOOD_ENOUGH = 1e-6
_SAME_ROOT = 6.0
_STATIONARY_STEPS = 6
_FLAT = 1e-10


@dataclass(frozen=True)
class BoardFigures:
    """What every board does.

    Attributes
    ----------
    midband_gain : array, shape (boards,)
        Mid-band gain |H|, V/V.
    low_cutoff : array, shape (boards,)
        Low-end cut-off at half power relative to the board's own mid-band gain, Hz.
    """

    midband_gain: Floats
    low_cutoff: Floats


def evaluate_boards(
    stage: Stage, values: Mapping[str, ArrayLike], *, source: str = "signal", node: str = "output"
) -> BoardFigures:
    """Return mid-band gain and exact low-end cut-off of many boards.

    Parameters
    ----------
    stage : Stage
        The nominal stage; parts not named in ``values`` keep its values.
    values : mapping of str to array_like, each of shape (boards,)
        Part values in ohm or farad.
    source, node : str
        Input and output.

    Raises
    ------
    UnknownNameError
        If a part, source or node does not exist.
    QuantityError
        If a value is not positive and finite, or the arrays differ in length.
    """
    return BoardFigures(*_in_chunks(stage, values, stage.transfer(source, node), "low"))


def evaluate_top_cutoffs(
    stage: Stage, values: Mapping[str, ArrayLike], *, source: str = "signal", node: str = "output"
) -> Floats:
    """Return the exact top-end cut-off of many boards, Hz, shape (boards,); infinity if there is none.

    Parameters
    ----------
    stage : Stage
        The nominal stage.
    values : mapping of str to array_like, each of shape (boards,)
        Part values in ohm or farad, op-amp parameters.
    source, node : str
        Input and output.

    Raises
    ------
    UnknownNameError
        If a part, source or node does not exist.
    QuantityError
        If a value is not positive and finite, or the arrays differ in length.
    """
    return _in_chunks(stage, values, stage.transfer(source, node), "high")[1]


def evaluate_midband(stage: Stage, values: Mapping[str, ArrayLike], nominal: Transfer) -> Floats:
    """Return the mid-band value of one network function of many boards, shape (boards,).

    Parameters
    ----------
    stage : Stage
        The nominal stage.
    values : mapping of str to array_like, each of shape (boards,)
        Part values in ohm or farad, op-amp parameters.
    nominal : Transfer
        The function with the values of the nominal stage, such as ``stage.input_impedance()``.

    Returns
    -------
    array, shape (boards,)
        In the unit of the function.

    Raises
    ------
    UnknownNameError
        If a part does not exist.
    QuantityError
        If a value is not positive and finite, or the arrays differ in length.
    """
    return _in_chunks(stage, values, nominal, "none")[0]


def _in_chunks(
    stage: Stage, values: Mapping[str, ArrayLike], nominal: Transfer, edge: Edge
) -> tuple[Floats, Floats]:
    arrays = checked_values(values, stage.transfer("signal", "output").function.system.parameters)
    boards = _length(arrays)
    program, start_at = compiled(nominal.function.reduced), _edge_of(nominal, edge)
    gains, cutoffs = np.empty(boards), np.empty(boards)
    for start in range(0, boards, CHUNK):
        part = slice(start, min(start + CHUNK, boards))
        chunk = {name: v[part] if np.ndim(v) else v for name, v in arrays.items()}  # type: ignore[index]
        numbers = {**stage.parameters, **chunk}
        found = _solve(nominal, start_at, program, numbers, part.stop - start, edge)
        gains[part], cutoffs[part] = found
    return gains, cutoffs


def _length(arrays: Mapping[str, Value]) -> int:
    lengths = {int(np.shape(v)[0]) for v in arrays.values() if np.ndim(v) == 1}
    if len(lengths) != 1 or any(np.ndim(v) > 1 for v in arrays.values()):
        raise QuantityError(
            "values",
            ", ".join(f"{name} {np.shape(v)}" for name, v in arrays.items()),
            allowed="arrays of one common shape (boards,)",
            remedy="Give every varied part one value per board.",
        )
    return lengths.pop()


def _solve(
    nominal: Transfer,
    start: float,
    program: CompiledProgram,
    numbers: Mapping[str, Any],
    boards: int,
    edge: Edge,
) -> tuple[Floats, Floats]:
    if not nominal.midband.stationary:
        return _one_by_one(nominal, numbers, np.arange(boards), np.empty(boards), np.empty(boards), edge)
    exists = 0.0 < start < math.inf
    reference = 2.0 * math.pi * (start if exists else 1.0)
    top, bottom = (_scaled(c, reference) for c in program(numbers))
    above, below = squared_magnitude(top), squared_magnitude(bottom)
    middle = (2.0 * math.pi * nominal.midband.frequency / reference) ** 2
    gain_squared, flat = _midband_squared(above, below, middle)
    if not exists:
        cutoff, settled = np.full(boards, start), np.broadcast_to(flat, (boards,))
    else:
        u, settled = _newton(above, below, 0.5 * gain_squared, boards)
        cutoff, settled = np.sqrt(u) * (reference / (2.0 * math.pi)), settled & flat
    gain = np.broadcast_to(np.sqrt(gain_squared), (boards,)).copy()
    return _one_by_one(nominal, numbers, np.flatnonzero(~settled), gain, cutoff, edge)


def _edge_of(transfer: Transfer, edge: Edge) -> float:
    if edge == "none":
        return 0.0
    return transfer.low_cutoff() if edge == "low" else transfer.high_cutoff()


def _one_by_one(
    nominal: Transfer,
    numbers: Mapping[str, Any],
    which: NDArray[np.intp],
    gain: Floats,
    cutoff: Floats,
    edge: Edge,
) -> tuple[Floats, Floats]:
    """Solve some boards alone and put their figures in place."""
    for i in which:
        single = {name: v[i] if np.ndim(v) else v for name, v in numbers.items()}
        board = Transfer(nominal.function, single, nominal.source, nominal.node)
        gain[i], cutoff[i] = board.midband_gain(), _edge_of(board, edge)
    return gain, cutoff


def _scaled(coefficients: tuple[Any, ...], reference: float) -> list[Any]:
    """Return coefficients of s/reference, without the powers that are exactly zero at the top."""
    scaled = [c * reference**k for k, c in enumerate(coefficients)]
    while len(scaled) > 1 and np.ndim(scaled[-1]) == 0 and scaled[-1] == 0:
        scaled.pop()
    return scaled


def _derivative(ascending: list[Any]) -> list[Any]:
    return [k * c for k, c in enumerate(ascending)][1:] or [0.0]


def _midband_squared(above: list[Any], below: list[Any], middle: float) -> tuple[Any, Any]:
    """Return the squared mid-band gain where the nominal stage has it, and on which boards it is found.

    That is an end, or the stationary point near the nominal one, found by Newton's method.
    """
    if middle == 0:
        return above[0] / below[0], True
    if math.isinf(middle):
        return above[-1] / below[-1], True
    u, change = middle, math.inf
    for _ in range(_STATIONARY_STEPS):
        first, second = (a - b for a, b in zip(_log_slopes(above, u), _log_slopes(below, u), strict=True))
        step = np.clip(-first / second, -1.0, 1.0)
        u, change = u * np.exp(step), np.abs(first * step)
        if np.all(change <= _FLAT):
            break
    return horner(above, u) / horner(below, u), change <= _FLAT


def _log_slopes(ascending: list[Any], u: Any) -> tuple[Any, Any]:
    """Return first and second derivative of ln P with respect to ln u."""
    slope = _derivative(ascending)
    value = horner(ascending, u)
    first = u * horner(slope, u) / value
    return first, first + u * u * horner(_derivative(slope), u) / value - first * first


def _newton(above: list[Any], below: list[Any], half: Any, boards: int) -> tuple[Floats, Any]:
    """Return the root near u = 1 of ln P - ln Q - ln(half) over ln u, and where it settled.

    The logarithm of a low-end response is concave over ln u, which makes Newton's method safe.
    """
    slopes = _derivative(above), _derivative(below)
    u = np.ones(boards)
    step = u
    for _ in range(_NEWTON_STEPS):
        top, bottom = horner(above, u), horner(below, u)
        slope = u * (horner(slopes[0], u) / top - horner(slopes[1], u) / bottom)
        step = np.log(top / (half * bottom)) / slope
        u = u * np.exp(np.clip(-step, -1.0, 1.0))
        if np.all(np.abs(step) <= _SETTLED):
            break
    settled = (np.abs(step) <= _GOOD_ENOUGH) & (u > 1 / _SAME_ROOT) & (u < _SAME_ROOT)
    return u, settled
