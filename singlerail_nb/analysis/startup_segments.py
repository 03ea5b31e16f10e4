"""One stretch of a start-up in which nothing switches: the exact solution.

In the basis of eigenvectors every state is ``exp(l t) xi + t phi1(l t) b0 + t^2 phi2(l t) b1``,
with ``phi1(z) = (exp(z) - 1)/z`` and ``phi2(z) = (exp(z) - 1 - z)/z^2``: no time step, and no
special case for l = 0.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from scipy.linalg import expm

from .state_equations import Floats, Modal, StateEquations
from .state_space import Mode

SETTLED = 45.0
"""Time constants after which exp(-t/tau) is below the rounding of a double (3e-20)."""

GROWN = 200.0
"""Time constants after which exp(+t/tau) has carried the least disturbance past every limit."""

_PER_DECADE = 10
_MOST_DECADES = 16
_EARLIEST = 0.02
_GEOMETRIC = 10.0 ** (np.arange(1 - _PER_DECADE * _MOST_DECADES, 1) / _PER_DECADE)
_SMALL = 1e-3
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
        """Modal states at the start, their rates there, and the modal part of the rising drive."""
        values, _, inverse = self.equations.modes
        B, E = self.equations.B, self.equations.E
        start, rising = inverse @ self.x, B @ self.slope
        return start, values * start + inverse @ (B @ self.w + E @ self.slope), inverse @ rising

    @cached_property
    def _ramps(self) -> bool:
        return bool(np.any(self.slope))

    def _modal(self, tau: Floats) -> tuple[Modal, Modal]:
        """Return modal states and their rates, shape (times, states)."""
        if tau is self.__dict__.get("grid"):  # the grid serves many outputs
            return self._modal_on_grid
        return self._modal_at(tau)

    @cached_property
    def _modal_on_grid(self) -> tuple[Modal, Modal]:
        return self._modal_at(self.grid)

    def _modal_at(self, tau: Floats) -> tuple[Modal, Modal]:
        if self.equations.defective:
            return self._by_matrix_exponential(tau)
        start, push, rising = self._driven
        t = tau[:, np.newaxis]
        z = self.equations.modes[0] * t
        grown = np.expm1(z)
        first = t * np.divide(grown, z, out=np.ones_like(z), where=z != 0)
        state, rate = start + push * first, push * (1.0 + grown)
        if self._ramps:
            state += rising * t * t * _phi2(z, grown)
            rate += rising * first
        return state, rate

    def _by_matrix_exponential(self, tau: Floats) -> tuple[Floats, Floats]:
        """Return states and rates where eigenvectors are missing, with 1 and t as two more states."""
        A, start, size = self.equations.A, self.x, len(self.x)
        drive = self.equations.B @ self.w + self.equations.E @ self.slope
        rising = self.equations.B @ self.slope
        whole = np.zeros((size + 2, size + 2))
        whole[:size] = np.column_stack([A, drive, rising])
        whole[size + 1, size] = 1.0
        state = expm(whole * tau[:, np.newaxis, np.newaxis]) @ np.array([*start, 1.0, 0.0])
        return state[:, :size], state[:, :size] @ A.T + drive + np.multiply.outer(tau, rising)

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
        y = np.real(state @ weights) + (wanted.d @ self.w + wanted.f @ self.slope + wanted.offset)
        rates = np.real(rate @ weights)
        if self._ramps:
            rising = wanted.d @ self.slope
            return y + np.multiply.outer(tau, rising), rates + rising
        return y, rates

    def function_of_time(self, output: Outputs) -> Callable[[float], tuple[float, float, float]]:
        """Return one output as a plain function: its value, rate and change of rate at a time.

        Parameters
        ----------
        output : Outputs
            One output.
        """
        if self.equations.defective:
            return self._defective_function(output)
        weights = (output.c @ self.equations.modes[1])[0]
        start, push, rising = (weights * modal for modal in self._driven)
        level = output.d @ self.w + output.f @ self.slope + output.offset + np.real(start.sum())
        slope = float((output.d @ self.slope)[0])
        terms = list(zip(self.equations.modes[0].tolist(), push.tolist(), rising.tolist(), strict=True))
        first = float(level[0])

        def value(t: float) -> tuple[float, float, float]:
            y, rate, bend = first + slope * t, slope, 0.0
            for pole, p, r in terms:
                z = pole * t
                grown = math.expm1(z) if isinstance(z, float) else complex(np.expm1(z))
                phi1 = grown / z if z else 1.0
                phi2 = (phi1 - 1.0) / z if abs(z) > _SMALL else 0.5 + z / 6 * (1 + z / 4 * (1 + z / 5))
                y += (t * (p * phi1 + r * t * phi2)).real
                rate += (p * (1.0 + grown) + r * t * phi1).real
                bend += ((p * pole + r) * (1.0 + grown)).real
            return y, rate, bend

        return value

    def _defective_function(self, output: Outputs) -> Callable[[float], tuple[float, float, float]]:
        bend_x, bend_w = output.c @ self.equations.A, output.c @ self.equations.B @ self.slope

        def value(t: float) -> tuple[float, float, float]:
            at = np.array([t])
            y, rate = self.outputs(at, output)
            bend = bend_x @ self._by_matrix_exponential(at)[1][0] + bend_w
            return float(y[0, 0]), float(rate[0, 0]), float(bend[0])

        return value

    @cached_property
    def final_states(self) -> Floats:
        """States at the end, or where they settle."""
        last = self.end - self.start if math.isfinite(self.end) else self.horizon
        return np.asarray(self.states(np.array([last]))[0])

    @cached_property
    def horizon(self) -> float:
        """Time after the start, s, at which the segment ends or all that moves in it has settled."""
        slowest, _ = self.equations.speeds
        settled = SETTLED / slowest if slowest else 1.0
        grown = GROWN / self.equations.growth if self.equations.growth > 0 else math.inf
        return min(self.end - self.start, settled, grown)

    @property
    def runs_away(self) -> bool:
        """Whether the segment is so long that what grows in it must have reached a limit."""
        return self.equations.growth * (self.end - self.start) > GROWN

    @cached_property
    def grid(self) -> Floats:
        """Times after the start that show everything the segment does, from 0 to the horizon, s."""
        values = self.equations.modes[0]
        last = self.horizon
        if last <= 0:
            return np.zeros(1)
        fastest = max(self.equations.speeds[1], 1.0 / last)
        decades = min(max(math.log10(last * fastest / _EARLIEST), 1.0), _MOST_DECADES)
        times = last * _GEOMETRIC[-int(_PER_DECADE * decades) :]
        if np.iscomplexobj(values):
            return np.unique(np.concatenate([np.zeros(1), times, *self._periods(values, last)]))
        return np.concatenate([np.zeros(1), times])

    def _periods(self, values: Modal, last: float) -> list[Floats]:
        """Return times that follow every oscillation until it has died away."""
        times = []
        for value in values[np.imag(values) > 0.1 * np.abs(np.real(values))]:
            period = 2 * math.pi / value.imag
            ringing = SETTLED / max(-value.real, 1e-9 * value.imag) / 3.0
            count = int(_PER_PERIOD * min(min(last, ringing) / period, _MOST_PERIODS))
            times.append(period / _PER_PERIOD * np.arange(1, count + 1))
        return times


def _phi2(z: Modal, grown: Modal) -> Modal:
    """Return (exp(z) - 1 - z)/z^2, given exp(z) - 1."""
    small = np.abs(z) < _SMALL
    safe = np.where(small, 1.0, z)
    return np.where(small, 0.5 + z / 6 * (1 + z / 4 * (1 + z / 5)), (grown - safe) / safe**2)
