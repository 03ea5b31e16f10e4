"""How far a right answer may be off: part tolerances and DC errors of the op-amp."""

from __future__ import annotations

from collections.abc import Callable

import sympy

from ..analysis.operating_point import operating_point
from .task import Task


def spread(task: Task, value: Callable[[Task], float | sympy.Expr]) -> tuple[float, float]:
    """Return the lowest and highest value over the tolerances: every part at the end that harms most.

    The direction of each part is found by moving it alone; for figures that are monotonic in every
    part over their tolerances, as resting voltages, gains and cut-offs of these stages are, these
    two corners are the extremes.

    Parameters
    ----------
    task : Task
        The circuit.
    value : callable
        Task -> figure.
    """
    middle = float(value(task))
    corners: tuple[dict[str, float], dict[str, float]] = ({}, {})
    for part in task.stage.circuit.parts:
        tolerance = task.lab.tolerance.get(part.name, task.lab.tolerance.get(f"{part.kind}s", 0.0))
        nominal = task.stage.values[part.name]
        up, down = nominal * (1.0 + tolerance), nominal * (1.0 - tolerance)
        rises = float(value(task.changed(**{part.name: up}))) >= middle
        corners[0][part.name], corners[1][part.name] = (down, up) if rises else (up, down)
    ends = [float(value(task.changed(**corner))) for corner in corners]
    return min(middle, *ends), max(middle, *ends)


def dc_errors(task: Task, node: str) -> tuple[float, float]:
    """Return how far the DC errors of the op-amp may move a node down and up, V.

    Parameters
    ----------
    task : Task
        The circuit.
    node : str
        Which node.
    """
    point = operating_point(task.stage, spread="worst")
    low, high = point.voltage_range(node)
    middle = point.voltage(node)
    return min(0.0, low - middle), max(0.0, high - middle)
