"""Linear state equations in one mode, and the null spaces they are made from."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Modal = NDArray[Any]
"""Real or complex, as the eigenvalues are."""

RANK = 1e-11
"""Relative size below which a singular value counts as zero."""
_WELL_CONDITIONED = 1e12
_DEFECTIVE = 1e7


@dataclass(frozen=True)
class StateEquations:
    """dx/dt = A x + B w + E dw/dt, node voltages v = C x + D w + F dw/dt; w are the inputs.

    Attributes
    ----------
    A, B, E : ndarray, shapes (states, states), (states, inputs), (states, inputs)
        The dynamics, 1/s; E without unit.
    C, D, F : ndarray, shapes (nodes, states), (nodes, inputs), (nodes, inputs)
        The voltages of all nodes.
    constraint_x, constraint_w : ndarray, shapes (loops, states), (loops, inputs)
        ``constraint_x x = constraint_w w`` holds in this mode.
    charges : ndarray, shape (states, loops)
        Change of the states by unit charges around the loops, V.
    held : tuple of (int, int)
        States that are an op-amp output at its limit, each with the input that is the limit.
    """

    A: Floats
    B: Floats
    E: Floats
    C: Floats
    D: Floats
    F: Floats
    constraint_x: Floats
    constraint_w: Floats
    charges: Floats
    held: tuple[tuple[int, int], ...]

    def entered(self, x: Floats, w: Floats) -> Floats:
        """Return the states just after the mode is entered.

        Parameters
        ----------
        x : ndarray, shape (states,)
            Just before.
        w : ndarray, shape (inputs,)
            Inputs at that instant.
        """
        if self.held:
            x = x.copy()
            for state, limit in self.held:
                x[state] = w[limit]
        if not len(self.constraint_x):
            return x
        gap = self.constraint_w @ w - self.constraint_x @ x
        return x + self.charges @ np.linalg.solve(self.constraint_x @ self.charges, gap)

    @cached_property
    def _eigenvectors(self) -> tuple[Modal, Modal, Modal]:
        values, vectors = np.linalg.eig(self.A)
        return values, vectors, _inverse(vectors)

    @cached_property
    def defective(self) -> bool:
        """Whether eigenvectors are missing: equal time constants in a chain."""
        _, vectors, inverse = self._eigenvectors
        return bool(np.linalg.norm(vectors) * np.linalg.norm(inverse) > _DEFECTIVE)

    @cached_property
    def modes(self) -> tuple[Modal, Modal, Modal]:
        """Eigenvalues (1/s), basis of the modal states as columns, and its inverse.

        The basis is the eigenvectors, or the states themselves where eigenvectors are missing.
        """
        if self.defective:
            same = np.eye(len(self.A))
            return self._eigenvectors[0], same, same
        return self._eigenvectors

    @cached_property
    def speeds(self) -> tuple[float, float]:
        """Slowest and fastest rate at which anything in this mode moves, 1/s; 0 if nothing does."""
        values = self.modes[0]
        fastest = float(np.abs(values).max(initial=0.0))
        rates = np.abs(np.real(values))
        return float(rates[rates > 1e-13 * fastest].min(initial=fastest)), fastest

    @cached_property
    def growth(self) -> float:
        """Fastest rate at which anything in this mode grows by itself, 1/s; 0 if all of it dies away."""
        values = np.real(self.modes[0])
        grown = float(values.max(initial=0.0))
        return grown if grown > 1e-9 * self.speeds[1] else 0.0

    @cached_property
    def sizes(self) -> tuple[Floats, Floats, Floats]:
        """Magnitudes of A, B and E, to judge rounding."""
        return np.abs(self.A), np.abs(self.B), np.abs(self.E)


class NullSpaces(NamedTuple):
    """A matrix solved as far as it can be: pseudo-inverse and null spaces.

    Attributes
    ----------
    inverse : ndarray
        The (pseudo-)inverse.
    left, right : ndarray
        Columns span the null spaces of the transpose and of the matrix.
    """

    inverse: Floats
    left: Floats
    right: Floats

    @classmethod
    def of(cls, matrix: Floats) -> NullSpaces:
        """Solve a square matrix.

        Parameters
        ----------
        matrix : ndarray, shape (n, n)
            Rows and columns of about one scale.
        """
        inverse = _inverse(matrix)
        size = np.linalg.norm(matrix) * np.linalg.norm(inverse)
        if size < _WELL_CONDITIONED:
            empty = np.zeros((len(matrix), 0))
            return cls(inverse, empty, empty)
        u, values, vt = np.linalg.svd(matrix)
        rank = int(np.sum(values > RANK * values[0]))
        inverse = (vt[:rank].T / values[:rank]) @ u[:, :rank].T
        return cls(inverse, u[:, rank:], vt[rank:].T)


def _inverse(matrix: Modal) -> Modal:
    try:
        return np.linalg.inv(matrix)
    except np.linalg.LinAlgError:
        return np.full_like(matrix, np.inf)
