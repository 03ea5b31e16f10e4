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
_DEFECTIVE = 1e9


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
    def modes(self) -> tuple[Modal, Modal, Modal]:
        """Eigenvalues (1/s), right eigenvectors as columns, and their inverse.

        Equal time constants in a chain have no full set of eigenvectors; the columns of A are
        then scaled by 1 + k 1e-10, which moves the solution by no more than that.
        """
        values, vectors = np.linalg.eig(self.A)
        if len(values) and np.linalg.cond(vectors) > _DEFECTIVE:
            values, vectors = np.linalg.eig(self.A * (1.0 + 1e-10 * np.arange(len(values))))
        return values, vectors, np.linalg.inv(vectors)


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
        try:
            inverse = np.linalg.inv(matrix)
        except np.linalg.LinAlgError:
            inverse = np.full_like(matrix, np.inf)
        size = np.linalg.norm(matrix) * np.linalg.norm(inverse)
        if size < _WELL_CONDITIONED:
            empty = np.zeros((len(matrix), 0))
            return cls(inverse, empty, empty)
        u, values, vt = np.linalg.svd(matrix)
        rank = int(np.sum(values > RANK * values[0]))
        inverse = (vt[:rank].T / values[:rank]) @ u[:, :rank].T
        return cls(inverse, u[:, rank:], vt[rank:].T)
