"""One stretch of a start-up in which nothing switches: the exact solution.

In the basis of eigenvectors every state is ``exp(l t) xi + t phi1(l t) b0 + t^2 phi2(l t) b1``,
with ``phi1(z) = (exp(z) - 1)/z`` and ``phi2(z) = (exp(z) - 1 - z)/z^2``: no time step, and no
special case for l = 0.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from .state_equations import Floats, Modal, StateEquations
from .state_space import Mode

SETTLED = 45.0
"""Time constants after which exp(-t/tau) is below the rounding of a double (3e-20)."""

_PER_DECADE = 14
_EVENLY = 24
_PER_PERIOD = 16
_MOST_PERIODS = 400


@dataclass(frozen=True)
class Outputs:
    """Linear functions of states and inputs: y = c x + d w + f dw/dt + offset.

    Attributes
    ----------
    c, d, f : ndarray, shapes (outputs, states), (outputs, inputs), (outputs, inputs)
        Coefficients.
    offset : float or ndarray, shape (outputs,)
        V.
    """

    c: Floats
    d: Floats
    f: Floats
    offset: float | Floats = 0.0

    def at(self, x: Floats, w: Floats, slope: Floats) -> Floats:
        """Return the values at one instant.

        Parameters
        ----------
        x, w, slope : ndarray
            States, inputs and their rate of change.
        """
        return self.c @ x + self.d @ w + self.f @ slope + self.offset


@dataclass(frozen=True)
class Segment:
    """A stretch of time in one mode.

    Attributes
    ----------
    start, end : float
        s; the last segment ends at infinity.
    mode : Mode
        What op-amps and one-way parts do.
    equations : StateEquations
        Of that mode.
    x : ndarray, shape (states,)
        States at the start.
    w, slope : ndarray, shape (inputs,)
        Inputs at the start and their rate of change.
    """

    start: float
    end: float
    mode: Mode
    equations: StateEquations
    x: Floats
    w: Floats
    slope: Floats

    def until(self, end: float) -> Segment:
        """Return the segment with another end.

        Parameters
        ----------
        end : float
            s.
        """
        return replace(self, end=end)

    @cached_property
    def _driven(self) -> tuple[Modal, Modal, Modal]:
        """Modal start values and the modal parts of the constant and of the rising drive."""
        _, _, inverse = self.equations.modes
        B, E = self.equations.B, self.equations.E
        return inverse @ self.x, inverse @ (B @ self.w + E @ self.slope), inverse @ (B @ self.slope)

    def _modal(self, tau: Floats) -> tuple[Modal, Modal]:
        """Return modal states and their rates, shape (times, states)."""
        values, _, _ = self.equations.modes
        xi, steady, rising = self._driven
        t = tau[:, np.newaxis]
        z = values * t
        first = _phi1(z)
        state = xi + (values * xi + steady) * t * first
        rate = (values * xi + steady) * (1.0 + z * first)
        if np.any(rising):
            state = state + t * t * _phi2(z) * rising
            rate = rate + t * first * rising
        return state, rate

    def states(self, tau: Floats) -> Floats:
        """Return the states at times after the start.

        Parameters
        ----------
        tau : ndarray, shape (times,)
            s after the start.

        Returns
        -------
        ndarray, shape (times, states)
            V.
        """
        state, _ = self._modal(tau)
        return np.real(state @ self.equations.modes[1].T)

    def outputs(self, tau: Floats, wanted: Outputs) -> tuple[Floats, Floats]:
        """Return outputs and their rates of change, each of shape (times, outputs).

        Parameters
        ----------
        tau : ndarray, shape (times,)
            s after the start.
        wanted : Outputs
            What to compute.
        """
        state, rate = self._modal(tau)
        weights = (wanted.c @ self.equations.modes[1]).T
        rising = wanted.d @ self.slope
        level = wanted.d @ self.w + wanted.f @ self.slope + wanted.offset
        y = np.real(state @ weights) + level + np.outer(tau, rising)
        return y, np.real(rate @ weights) + rising

    @cached_property
    def final_states(self) -> Floats:
        """States at the end, or where they settle."""
        if math.isfinite(self.end):
            return self.states(np.array([self.end - self.start]))[0]
        return self.states(np.array([self.horizon]))[0]

    @cached_property
    def horizon(self) -> float:
        """Time after the start, s, at which the segment ends or all that moves in it has settled."""
        rates = np.abs(np.real(self.equations.modes[0]))
        moving = rates[rates > 1e-13 * rates.max(initial=0.0)]
        settled = SETTLED / moving.min() if len(moving) else 1.0
        return float(min(self.end - self.start, settled))

    @cached_property
    def grid(self) -> Floats:
        """Times after the start that show everything the segment does, from 0 to the horizon, s."""
        values = self.equations.modes[0]
        last = self.horizon
        if last <= 0:
            return np.zeros(1)
        first = min(last, max(1e-9 * last, 0.02 / max(np.abs(values).max(initial=0.0), 1.0 / last)))
        number = 2 + int(_PER_DECADE * math.log10(last / first))
        times = [np.zeros(1), np.geomspace(first, last, number), np.linspace(0, last, _EVENLY)[1:-1]]
        for value in values[np.imag(values) > 0.1 * np.abs(np.real(values))]:
            period = 2 * math.pi / value.imag
            periods = min(last / period, SETTLED * value.imag / max(-value.real, 1e-9 * value.imag) / 6.0)
            count = int(_PER_PERIOD * min(periods, _MOST_PERIODS))
            times.append(period / _PER_PERIOD * np.arange(1, count + 1))
        together = np.unique(np.concatenate(times))
        return together[together <= last]


def _phi1(z: Modal) -> Modal:
    small = np.abs(z) < 1e-8
    safe = np.where(small, 1.0, z)
    return np.where(small, 1.0 + z / 2, np.expm1(safe) / safe)


def _phi2(z: Modal) -> Modal:
    small = np.abs(z) < 0.1
    safe = np.where(small, 1.0, z)
    series = 0.5 + z / 6 * (1 + z / 4 * (1 + z / 5 * (1 + z / 6 * (1 + z / 7 * (1 + z / 8 * (1 + z / 9))))))
    return np.where(small, series, (np.expm1(safe) - safe) / safe**2)
