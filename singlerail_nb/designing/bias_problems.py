"""What is wrong with the bias of a stage somewhere in the range of its rail."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from ..analysis.operating_point import OperatingPoint, operating_point
from ..analysis.stage import Stage
from ..errors import CircuitError, RequirementError
from ..quantities import write_quantity
from .bias_sizing import RailRange, require_reaches_mid_rail
from .fixed_bias_sizing import require_above_knee


def bias_problems(
    stage: Stage,
    rail: RailRange,
    *,
    knee_current: float = 0.25e-3,
    dropout: float = 0.3,
    sink_current: float = 0.0,
    low: float | None = None,
    high: float | None = None,
) -> tuple[str, ...]:
    """Return what is wrong with the bias, one sentence with its remedy each; empty if nothing is.

    Parameters
    ----------
    stage : Stage
        The stage.
    rail : RailRange
        Its rail; lowest and highest are checked.
    knee_current : float
        Least current of a Zener, A.
    dropout : float
        Least distance of a reference below the rail, V.
    sink_current : float
        Largest current that the stage pushes into the bias node beside the resting one, A.
    low, high : float, optional
        Distances from ground and rail that the amplifier's output keeps, V; the linear swing of the
        op-amp record, or none, unless given.
    """
    found: list[str] = []
    for volts in dict.fromkeys((rail.lowest, rail.highest)):
        try:
            at = replace(stage, supply=volts)
        except CircuitError as error:  # a Zener or reference at or above this rail
            found.append(str(error))
            continue
        point = operating_point(at)
        found += _one_way(at, point, sink_current)
        found += _level_sources(at, knee_current, dropout)
        found += _output(at, point, low, high)
    if stage.bias == "buffered_divider" and stage.opamp is not None:
        try:
            require_reaches_mid_rail(rail, stage.opamp)
        except RequirementError as error:
            found.append(str(error))
    return tuple(dict.fromkeys(found))


def _one_way(stage: Stage, point: OperatingPoint, sink_current: float) -> Iterator[str]:
    """Yield the one-way parts through which the current would have to flow backwards."""
    for part in stage.circuit.resistors:
        if part.one_way and part.nodes[0] == "reference":
            one, other = (point.voltage(node) for node in part.nodes)
            given = (one - other) / stage.values[part.name] - sink_current
            if given < -1e-12:
                yield (
                    f"The reference would have to sink {write_quantity(-given, 'A', 3)} and cannot: take one "
                    "that sinks, buffer it, or load it with a resistor to ground."
                )


def _level_sources(stage: Stage, knee_current: float, dropout: float) -> Iterator[str]:
    values = {**stage.values, **stage.levels}
    if "zener" in values:
        try:
            require_above_knee(values, stage.supply, knee_current)
        except RequirementError as error:
            yield str(error)
    if "reference" in values and values["reference"] + dropout > stage.supply:
        yield (
            f"At a rail of {stage.supply:g} V the reference has less than its dropout of {dropout:g} V: "
            "choose a lower reference, or a divider, which follows the rail."
        )


def _output(stage: Stage, point: OperatingPoint, low: float | None, high: float | None) -> Iterator[str]:
    """Yield a sentence if the idle output would have to rest outside its limits."""
    lowest, highest = 0.0, stage.supply
    if stage.opamp is not None:
        lowest, highest = stage.opamp.output_range(stage.supply, stage.values.get("r_load", math.inf))
    lowest = lowest if low is None else low
    highest = highest if high is None else stage.supply - high
    rest = point.voltages.get(stage.circuit.node("amp_out"))
    if rest is not None and not lowest <= rest <= highest:
        yield (
            f"At a rail of {stage.supply:g} V the idle output would rest at {rest:.3g} V, outside "
            f"{lowest:.3g} V to {highest:.3g} V: choose a bias that follows the rail, or a lower one."
        )
