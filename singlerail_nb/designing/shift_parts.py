"""Preferred values for a level shift: every choice of the free resistors is tried, the best is kept."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import sympy
from numpy.typing import NDArray

from ..analysis.evaluation import compiled
from ..circuit.circuit import Circuit
from ..circuit.network_functions import transfer_function
from ..circuit.symbols import part_symbol
from ..errors import RequirementError
from .preferred_values import values_between
from .shift_forms import INTERCEPT, REFERENCE, SLOPE, Line, Plan, formula_for, shift_circuit

Floats = NDArray[np.float64]
SMALLEST, LARGEST = 10.0, 10e6
"""Resistors that are looked for, ohm (common practice, no published source)."""
_MOST_CHOICES = 4000
_AS_GOOD = 1.05


@dataclass(frozen=True)
class Found:
    """Parts for a line.

    Attributes
    ----------
    circuit : Circuit
        The resistors alone.
    chosen : mapping of str to float
        Preferred values of all resistors of the plan, ohm.
    exact : mapping of str to float
        The free ones as chosen, the others exactly as the line wants them, ohm.
    sequence : mapping of str to float
        What each solved part should have been, given the preferred values before it, ohm.
    """

    circuit: Circuit
    chosen: Mapping[str, float]
    exact: Mapping[str, float]
    sequence: Mapping[str, float]


def find_parts(
    plan: Plan, line: Line, inputs: Sequence[float], source_resistance: float, series: str
) -> Found:
    """Return the preferred values whose line is nearest at the end points.

    Parameters
    ----------
    plan : Plan
        The circuit and the order of its parts.
    line : Line
        What is wanted.
    inputs : sequence of float
        Input voltages at which the line must be met, V.
    source_resistance : float
        Ohm.
    series : str
        IEC 60063 series.

    Raises
    ------
    RequirementError
        If no choice of preferred values draws the line.
    """
    circuit = shift_circuit(plan.stage, plan.parts, source_resistance > 0)
    known = _known(line, source_resistance)
    tried = _choices(plan, series)
    for step in plan.solved:
        exact = _formula(circuit, step.part, step.equation)({**known, **tried})
        usable = (exact > SMALLEST) & (exact < LARGEST)
        tried = {name: values[usable] for name, values in tried.items()}
        tried = _both_neighbours(tried, step.part, exact[usable], series)
    error = _worst_error(circuit, {**known, **tried}, line, inputs)
    if error.size == 0:
        raise RequirementError(
            "points",
            f"a slope of {line.slope:.4g} and an intercept of {line.intercept:.4g} V",
            allowed=f"a line that resistors from {SMALLEST:g} to {LARGEST:g} ohm can draw",
            remedy="Spread the range over two stages, or choose another reference.",
        )
    best = _nearest_to_start(plan, tried, error)
    chosen = {name: float(tried[name][best]) for name in plan.parts}
    return Found(circuit, chosen, *_sequences(circuit, plan, known, chosen))


def _known(line: Line, source_resistance: float) -> dict[str, float]:
    known = {"m": line.slope, "b": line.intercept, "V_ref": line.reference}
    return known | ({"r_source": source_resistance} if source_resistance > 0 else {})


def _choices(plan: Plan, series: str) -> dict[str, Floats]:
    """Return every combination of the free parts, as one array each."""
    count = max(2, int(_MOST_CHOICES ** (1.0 / len(plan.free)) / 2))
    decades = []
    for _, start in plan.free:
        low = min(max(start, SMALLEST), LARGEST / 10.0)
        values = np.array(values_between(low, low * 9.999, series))
        decades.append(values[:: max(1, -(-len(values) // count))])
    grid = np.meshgrid(*decades, indexing="ij")
    return {name: np.ravel(g) for (name, _), g in zip(plan.free, grid, strict=True)}


def _both_neighbours(tried: dict[str, Floats], part: str, exact: Floats, series: str) -> dict[str, Floats]:
    """Return the choices twice: with the part rounded down and rounded up."""
    values = np.array(values_between(SMALLEST / 2.0, LARGEST * 2.0, series))
    above = np.searchsorted(values, exact * (1.0 + 1e-9))
    both = {name: np.concatenate([column, column]) for name, column in tried.items()}
    return both | {part: np.concatenate([values[above - 1], values[above]])}


def _worst_error(
    circuit: Circuit, values: Mapping[str, float | Floats], line: Line, inputs: Sequence[float]
) -> Floats:
    """Return the largest error over the inputs for every choice, V."""
    slope, intercept = dc_line(circuit, values, line.reference)
    errors = [np.abs((slope - line.slope) * x + intercept - line.intercept) for x in inputs]
    return np.asarray(np.max(errors, axis=0))


def dc_line(
    circuit: Circuit, values: Mapping[str, float | Floats], reference: float | Floats
) -> tuple[Floats, Floats]:
    """Return slope and intercept that some parts draw.

    Parameters
    ----------
    circuit : Circuit
        From `shift_circuit`.
    values : mapping of str to float or ndarray, shape (n,)
        Resistors, ohm.
    reference : float or ndarray, shape (n,)
        V.

    Returns
    -------
    slope, intercept : ndarray, shape (n,)
        V/V and V.
    """
    end = circuit.path[-1]
    functions = tuple(transfer_function(circuit, name, end) for name in ("signal", "reference"))
    halves = compiled(*functions)(values)
    slope, share = (np.asarray(halves[k][0]) / halves[k + 1][0] for k in (0, 2))
    return np.atleast_1d(slope), np.atleast_1d(share * reference)


def _nearest_to_start(plan: Plan, tried: Mapping[str, Floats], error: Floats) -> int:
    """Return, of the choices that are nearly the best, the one with the smallest free resistors."""
    good = np.flatnonzero(error <= _AS_GOOD * np.min(error))
    size = sum(np.log(tried[name][good]) for name, _ in plan.free)
    return int(good[np.argmin(size)])


def _sequences(
    circuit: Circuit, plan: Plan, known: Mapping[str, float], chosen: Mapping[str, float]
) -> tuple[dict[str, float], dict[str, float]]:
    """Return the solved parts if all were exact, and each after the preferred values before it."""
    exact = {name: chosen[name] for name, _ in plan.free}
    sequence: dict[str, float] = {}
    before = dict(exact)
    for step in plan.solved:
        formula = _formula(circuit, step.part, step.equation)
        exact[step.part] = float(formula({**known, **exact}))
        sequence[step.part] = float(formula({**known, **before}))
        before[step.part] = chosen[step.part]
    return exact, sequence


Numeric = Callable[[Mapping[str, float | Floats]], Floats]


@lru_cache(maxsize=64)
def _formula(circuit: Circuit, part: str, equation: str) -> Numeric:
    """Return a part's formula as a function of named numbers."""
    expression = formula_for(circuit, part, equation)
    named = {"m": SLOPE, "b": INTERCEPT, "V_ref": REFERENCE}
    names = [*named, *circuit.part_names]
    symbols = [named.get(name) or part_symbol(name) for name in names]
    used = [(name, symbol) for name, symbol in zip(names, symbols, strict=True) if expression.has(symbol)]
    call = sympy.lambdify([symbol for _, symbol in used], expression, "numpy")

    def evaluate(values: Mapping[str, float | Floats]) -> Floats:
        return np.asarray(call(*(values[name] for name, _ in used)), dtype=np.float64)

    return evaluate
