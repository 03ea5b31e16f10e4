"""Which part moves which figure by how many per cent per per cent: exact, and as a formula.

The straight-line program of a network function is run with derivatives (forward automatic
differentiation), so a sensitivity has no step size.  With ``S_x(s) = x/H dH/dx``:

- magnitude at a frequency: the real part of ``S_x``;
- cut-off: the root moves by ``-(Re S_x(j w_c) - Re S_x(j w_m)) / Re(s/H dH/ds)`` (implicit
  derivative), where w_m is the frequency of the mid-band gain it is relative to.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal

import numpy as np
import sympy

from ..circuit.network_functions import NetworkFunction
from ..circuit.symbols import part_symbol
from ..errors import UnknownNameError
from .boards import Floats
from .differentiation import run_with_slopes
from .evaluation import compiled
from .stage import Stage
from .tolerance_catalogue import nominal_value
from .tolerance_figures import Cutoff, Figure, Magnitude, Measured
from .tolerance_inputs import varying
from .tolerance_stage_figures import Resting
from .transfer import Transfer

_STEP = 1e-4
"""Relative step of central differences, where no derivative is at hand."""


@dataclass(frozen=True)
class Sensitivities:
    """How much one figure follows each part.

    Attributes
    ----------
    figure : Figure
        The figure.
    value : float
        Its nominal value, in its unit.
    shares : mapping of str to float
        Relative change of the figure per relative change of a part: 1 is 1 % per 1 %.
    method : "exact" or "central difference"
        Where they come from.
    """

    figure: Figure
    value: float
    shares: Mapping[str, float]
    method: Literal["exact", "central difference"]

    def ranked(self) -> tuple[tuple[str, float], ...]:
        """Return parts with their shares, the strongest first; parts without any effect are left out."""
        felt = [(name, share) for name, share in self.shares.items() if abs(share) > _NOTHING]
        return tuple(sorted(felt, key=lambda pair: -abs(pair[1])))

    def __repr__(self) -> str:
        lines = [f"{self.figure.label}: % per % ({self.method})"]
        lines += [f"  {name:<10} {share:+.4f}" for name, share in self.ranked()]
        return "\n".join(lines)


_NOTHING = 1e-12


def sensitivities(stage: Stage, figure: Figure) -> Sensitivities:
    """Return the relative sensitivity of a figure to every part, the supply and the source levels.

    Parameters
    ----------
    stage : Stage
        The stage.
    figure : Figure
        From `tolerance_figures.standard_figures`.
    """
    value, numbers = nominal_value(stage, figure), stage.parameters
    if isinstance(figure, Magnitude):
        transfer = figure.transfer(stage)
        f = transfer.midband.frequency if figure.frequency is None else figure.frequency
        shares = {name: share.real for name, share in log_shares(transfer.function, numbers, f).items()}
    elif isinstance(figure, Cutoff):
        shares = _of_cutoff(figure.transfer(stage), numbers, value)
    elif isinstance(figure, Resting):
        shares = _of_resting(stage, figure.node, value)
    else:
        return Sensitivities(figure, value, _by_difference(stage, figure, value), "central difference")
    known = dict.fromkeys(varying(stage), 0.0)
    return Sensitivities(figure, value, {**known, **shares}, "exact")


def _of_cutoff(transfer: Transfer, numbers: Mapping[str, float], cutoff: float) -> dict[str, float]:
    at_edge = log_shares(transfer.function, numbers, cutoff)
    middle = log_shares(transfer.function, numbers, transfer.midband.frequency)
    slope = frequency_slope(transfer.function, numbers, cutoff).real
    return {name: -(at_edge[name] - middle[name]).real / slope for name in at_edge}


def _of_resting(stage: Stage, node: str, value: float) -> dict[str, float]:
    total: dict[str, float] = {}
    for source, volts in {"supply": stage.supply, **stage.levels}.items():
        transfer = stage.transfer(source, node)
        part = volts * transfer(0.0).real / value
        total[source] = part
        if part:
            for name, share in log_shares(transfer.function, stage.parameters, 0.0).items():
                total[name] = total.get(name, 0.0) + part * share.real
    return total


def _by_difference(stage: Stage, figure: Figure, value: float) -> dict[str, float]:
    known = varying(stage)
    names = list(known)
    steps = np.ones((2 * len(names), len(names)))
    for i in range(len(names)):
        steps[2 * i, i], steps[2 * i + 1, i] = 1.0 + _STEP, 1.0 - _STEP
    values = {name: known[name] * steps[:, i] for i, name in enumerate(names)}
    found = figure.on(Measured(stage, values))
    difference = (found[0::2] - found[1::2]) / (2.0 * _STEP * value) if value else np.zeros(len(names))
    return dict(zip(names, map(float, difference), strict=True))


def log_shares(function: NetworkFunction, numbers: Mapping[str, float], f: float) -> dict[str, complex]:
    """Return ``x/H dH/dx`` at a frequency for every parameter x of a network function.

    Parameters
    ----------
    function : NetworkFunction
        The function H.
    numbers : mapping of str to float
        Value of every parameter, SI units.
    f : float
        Hz; 0 and infinity are allowed where H has a value other than 0 there.

    Returns
    -------
    dict of str to complex
        The real part is the relative change of the magnitude, the imaginary part that of the
        phase in radians, per relative change of x.
    """
    names, (top, bottom) = _coefficients_with_slopes(function, numbers)
    shares = _share(top, f) - _share(bottom, f)
    return dict(zip(names, map(complex, shares), strict=True))


def frequency_slope(function: NetworkFunction, numbers: Mapping[str, float], f: float) -> complex:
    """Return ``s/H dH/ds`` at a frequency: the real part is the slope of ln|H| over ln f.

    Parameters
    ----------
    function : NetworkFunction
        The function H.
    numbers : mapping of str to float
        Value of every parameter, SI units.
    f : float
        Hz, positive and finite.
    """
    _, halves = _coefficients_with_slopes(function, numbers)
    s = 2j * math.pi * f
    ends = []
    for values, _ in halves:
        powers = s ** np.arange(len(values))
        ends.append(complex((values * np.arange(len(values)) * powers).sum() / (values * powers).sum()))
    return ends[0] - ends[1]


def _coefficients_with_slopes(
    function: NetworkFunction, numbers: Mapping[str, float]
) -> tuple[tuple[str, ...], list[tuple[Floats, Floats]]]:
    """Return the parameters, and for both polynomials coefficients (k,) and slopes (parameters, k)."""
    program = compiled(function.reduced).program
    return program.inputs, run_with_slopes(program, numbers)


def _share(half: tuple[Floats, Floats], f: float) -> Any:
    """Return sum(slope_k s^k) / sum(value_k s^k) for every parameter."""
    values, slopes = half
    if f == 0 or math.isinf(f):
        k = np.flatnonzero(values)[0 if f == 0 else -1]
        return slopes[:, k] / values[k]
    reference = 2.0 * math.pi * f
    powers = (1j * reference) ** np.arange(len(values))
    return (slopes @ powers) / (values @ powers)


@lru_cache(maxsize=256)
def _formula(function: NetworkFunction, part: str, at_infinity: bool) -> sympy.Expr:
    expression = function.at_infinity() if at_infinity else function.expression
    x = part_symbol(part)
    return sympy.factor(sympy.cancel(x * sympy.diff(expression, x) / expression))


def sensitivity_formula(transfer: Transfer, part: str, *, midband: bool = False) -> sympy.Expr:
    """Return ``x/H dH/dx`` as a formula.

    Parameters
    ----------
    transfer : Transfer
        The function.
    part : str
        A resistor or capacitor of the circuit.
    midband : bool
        Of the limit for high frequencies instead: the mid-band sensitivity of a stage with an
        ideal op-amp and no feedback capacitor.

    Returns
    -------
    sympy expression
        In s and the part symbols; at s = j omega its real part is the sensitivity of the magnitude.

    Raises
    ------
    UnknownNameError
        If the circuit has no such part.
    """
    names = transfer.function.system.circuit.part_names
    if part not in names:
        raise UnknownNameError("part", part, allowed=", ".join(names), remedy="Name a part of the circuit.")
    return _formula(transfer.function, part, midband)
