"""The boards that a band is made of: each part in turn at both ends of its tolerance.

A band is the reading of the nominal board and, on either side, the sum of what each part moves it.
That is the extreme value to first order: every part at its worst end at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import product
from typing import Any

import numpy as np

from ..analysis.evaluation import Value
from ..analysis.limited_rest import BIAS_CURRENT, OFFSET
from ..circuit.opamp import REFERENCE_TEMPERATURE
from .board import Board

Floats = np.ndarray[Any, np.dtype[np.float64]]

MOST_CORNERS = 32
SMALLEST_CURRENT = 0.1
"""Smallest input current over the typical one (common practice, no published source)."""


def trial_numbers(board: Board, tolerance: Mapping[str, tuple[float, float]]) -> dict[str, Value]:
    """Return the numbers of the nominal board and of its trials, arrays of shape (1 + 2 parts,).

    Parameters
    ----------
    board : Board
        The board, instrument included.
    tolerance : mapping of str to (float, float)
        Lowest and highest value of a part over its nominal one; other parts are exact.
    """
    ends = {n: (board.values[n] * low, board.values[n] * high) for n, (low, high) in tolerance.items()
            if n in board.values}  # fmt: skip
    ends |= {n: (board.values[n] * low, board.values[n] * high) for n, (low, high) in board.spread.items()}
    nominal = {**board.numbers, **opamp_errors(board)}
    ends |= _opamp_ends(board)
    size = 1 + 2 * len(ends)
    found: dict[str, Value] = {name: np.full(size, value) for name, value in nominal.items()}
    for i, (name, (low, high)) in enumerate(ends.items()):
        changed = np.array(found[name])
        changed[1 + 2 * i], changed[2 + 2 * i] = low, high
        found[name] = changed
    return found


def opamp_errors(board: Board) -> dict[str, Value]:
    """Return the typical input current of the op-amps, A, and no offset, V.

    Parameters
    ----------
    board : Board
        The board.
    """
    if board.opamp is None:
        return {}
    return {BIAS_CURRENT: board.opamp.bias_current_at(REFERENCE_TEMPERATURE, "typical"), OFFSET: 0.0}


def _opamp_ends(board: Board) -> dict[str, tuple[float, float]]:
    if board.opamp is None:
        return {}
    typical = board.opamp.bias_current_at(REFERENCE_TEMPERATURE, "typical")
    worst = board.opamp.bias_current_at(REFERENCE_TEMPERATURE, "worst")
    offset = board.opamp.figure("offset_voltage", "worst")
    return {BIAS_CURRENT: (SMALLEST_CURRENT * typical, worst), OFFSET: (-offset, offset)}


def summed_band(trials: Floats) -> tuple[float, float]:
    """Return the ends of the band of a reading.

    Parameters
    ----------
    trials : array, shape (1 + 2 parts,)
        The reading of the nominal board, then of each part at its low and high end.
    """
    nominal = float(trials[0])
    moves = (trials[1:] - nominal).reshape(-1, 2)
    down = np.minimum(moves.min(axis=1, initial=0.0), 0.0).sum()
    up = np.maximum(moves.max(axis=1, initial=0.0), 0.0).sum()
    return nominal + float(down), nominal + float(up)


def corner_boards(board: Board, tolerance: Mapping[str, tuple[float, float]]) -> tuple[Board, ...]:
    """Return the board, and it with capacitors and what a fault brought along at corners of their tolerance.

    Of very many corners a seeded choice.  For what does not follow the parts smoothly, such as a
    settling time that jumps when an overshoot just leaves its band.

    Parameters
    ----------
    board : Board
        The board, instrument included; it comes first.
    tolerance : mapping of str to (float, float)
        As in `trial_numbers`.
    """
    varying = {
        n: tolerance[n] for n in tolerance if n in board.values and board.circuit.part(n).kind == "capacitor"
    }
    varying |= board.spread
    if 2 ** len(varying) <= MOST_CORNERS:
        which = np.array(list(product((0, 1), repeat=len(varying))), dtype=int)
    else:
        which = np.random.default_rng(1).integers(0, 2, (MOST_CORNERS, len(varying)))
    found = [board]
    for row in which:
        ends = {n: board.values[n] * varying[n][end] for n, end in zip(varying, row, strict=True)}
        found.append(replace(board, values={**board.values, **ends}))
    return tuple(found)
