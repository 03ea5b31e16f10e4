"""DC voltage on every capacitor in every phase of life: running, starting, power-down, single faults."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from ..circuit.bias_sources import bias_circuit
from ..circuit.circuit import Circuit
from ..circuit.elements import GROUND
from ..circuit.loop import drive_name, driven_at_output
from ..circuit.network_functions import transfer_function
from ..circuit.opamp_figures import Spread
from ..errors import CircuitError
from .operating_point import operating_point
from .output_load import midband_frequency, output_load
from .stage import Stage
from .startup import power_down, startup
from .startup_extremes import extremes
from .startup_run import Startup
from .transfer import Transfer


@dataclass(frozen=True)
class PhaseVoltage:
    """What is on a capacitor in one phase, first node to second, V.

    Attributes
    ----------
    phase : str
        "running", "starting", "power-down", or a fault in words.
    lowest, highest : float
        V; equal where the phase is one resting state.
    is_fault : bool
        Whether the phase is a single fault.
    """

    phase: str
    lowest: float
    highest: float
    is_fault: bool = False

    @property
    def largest(self) -> float:
        """The voltage farthest from zero, with its sign, V."""
        return max((self.lowest, self.highest), key=abs)


def capacitor_voltages(
    stage: Stage,
    *,
    supply_max: float | None = None,
    ramp_time: float = 0.0,
    fall_time: float = 0.0,
    spread: Spread = "typical",
) -> dict[str, tuple[PhaseVoltage, ...]]:
    """Return the DC voltage on every capacitor in every phase, at the highest rail.

    Faults are single ones: the op-amp output stuck at ground or at the rail, each resistor of the
    bias source open.

    Parameters
    ----------
    stage : Stage
        The stage.
    supply_max : float, optional
        Highest rail, V; the nominal supply unless given.
    ramp_time, fall_time : float
        Rise and fall time of the rail, s.
    spread : "typical" or "worst"
        Which data-sheet figures make the DC errors.

    Returns
    -------
    dict of str to tuple of PhaseVoltage
        For each capacitor; a phase in which a node drifts is left out.

    Raises
    ------
    CircuitError
        If the start-up never stops switching.
    """
    at_top = stage if supply_max is None else replace(stage, supply=supply_max)
    found: dict[str, list[PhaseVoltage]] = {part.name: [] for part in stage.circuit.capacitors}
    for state in operating_point(at_top, spread=spread).capacitors:
        if not math.isnan(state.voltage):
            found[state.name].append(PhaseVoltage("running", state.voltage, state.voltage))
    if not stage.findings:
        low, high = _clamps(at_top)
        runs = {
            "starting": startup(at_top, ramp_time=ramp_time, low=low, high=high),
            "power-down": power_down(at_top, fall_time=fall_time, low=low, high=high),
        }
        for phase, run in runs.items():
            for name, phases in found.items():
                phases.append(_range(phase, run, name))
    for fault, circuit, levels in _faults(at_top):
        for name, phases in found.items():
            volts = _at_rest(at_top, circuit, levels, name)
            if not math.isnan(volts):
                phases.append(PhaseVoltage(fault, volts, volts, is_fault=True))
    return {name: tuple(phases) for name, phases in found.items()}


def _clamps(stage: Stage) -> tuple[float, float]:
    if stage.opamp is None:
        return 0.0, 0.0
    load = abs(output_load(stage, midband_frequency(stage)))
    low, high = stage.opamp.output_range(stage.supply, load, linear=False)
    return max(0.0, low), max(0.0, stage.supply - high)


def _range(phase: str, run: Startup, name: str) -> PhaseVoltage:
    low, high = extremes(run.segments, [run.capacitor_output(name)] * len(run.segments))
    return PhaseVoltage(phase, low.volts, high.volts)


def _faults(stage: Stage) -> Iterator[tuple[str, Circuit, dict[str, float]]]:
    levels = {"supply": stage.supply, **stage.levels}
    for pins in stage.circuit.opamps:
        stuck = driven_at_output(stage.circuit, pins.name)
        drive = drive_name(pins.name)
        yield f"output of {pins.name} at ground", stuck, {**levels, drive: 0.0}
        yield f"output of {pins.name} at the rail", stuck, {**levels, drive: stage.supply}
    own = {part.name for part in bias_circuit(stage.bias).resistors} if stage.type.uses_bias else set()
    for part in stage.circuit.resistors:
        if part.name in own and not part.one_way:
            yield f"{part.name} open", stage.circuit.opened(part.name), levels


def _at_rest(stage: Stage, circuit: Circuit, levels: dict[str, float], capacitor: str) -> float:
    """Return the voltage on a capacitor with the rail on, V; not a number where a node drifts.

    An op-amp cannot leave the rails: node voltages are held between ground and the highest level.
    """
    top = max(levels.values())
    ends = []
    for node in circuit.part(capacitor).nodes:
        if node == GROUND:
            ends.append(0.0)
            continue
        try:
            volts = sum(v * _dc(stage, circuit, source, node) for source, v in levels.items() if v)
        except CircuitError:
            return math.nan
        ends.append(min(max(volts, 0.0), top))
    return ends[0] - ends[1]


def _dc(stage: Stage, circuit: Circuit, source: str, node: str) -> float:
    function = transfer_function(circuit, source, node, stage.model)
    rational = Transfer(function.reduced, dict(stage.parameters), source, node).rational
    if not rational.denominator[0]:
        return math.nan
    return float(rational.numerator[0] / rational.denominator[0])
