"""The rules of a review: each requirement with its limit and the function that finds its figure."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from ..analysis.bandwidth import full_power_bandwidth
from ..analysis.noise import noise
from ..analysis.operating_point import operating_point
from ..analysis.stability import loop_gain
from ..analysis.stage import Stage
from ..analysis.window import window
from ..circuit.opamp import OpAmp
from .demands import Demands
from .requirements import Requirements
from .verification import Check, Checker, Limit, checkers


@dataclass(frozen=True)
class Rule:
    """One requirement and how its figure is found.

    Attributes
    ----------
    requirement : str
        In words.
    limit : float
        SI units.
    kind : "at least", "at most" or "within"
        How figure and limit are compared.
    unit : str
        Unit of both.
    method : str
        How the figure is found, in words.
    figure : callable
        Takes the stage (at some rail), returns the figure.
    each_rail : bool
        Whether the figure depends on the rail.
    at_nominal : bool
        Whether it does, and the requirement speaks of the nominal rail only.
    band : float
        Half width for "within".
    comfortable : float
        Relative margin below which a pass is a caution.
    levers : tuple of str
        Op-amp figures that decide; a missing one is a caution, and another could mend a failure.
    """

    requirement: str
    limit: float
    kind: Limit
    unit: str
    method: str
    figure: Callable[[Stage], float]
    each_rail: bool = False
    at_nominal: bool = False
    band: float = 0.0
    comfortable: float = 0.0
    levers: tuple[str, ...] = ()

    def check(self, stage: Stage) -> Check:
        """Return the requirement with the figure of a stage.

        Parameters
        ----------
        stage : Stage
            At the rail to be judged.
        """
        value = self.figure(stage)
        return Check(self.requirement, value, self.limit, self.kind, self.unit, self.method, self.band)


def rules(stage: Stage, needed: Requirements | None, demands: Demands) -> tuple[Rule, ...]:
    """Return every rule that applies.

    Parameters
    ----------
    stage : Stage
        The stage under review.
    needed : Requirements or None
        What the signal path must do.
    demands : Demands
        What the op-amp side must do.
    """
    found = [] if needed is None else list(_of_requirements(stage, needed))
    found += list(_supply_range(stage))
    for make in (_swing, _noise, _dc_error, _stability, _current):
        found += list(make(stage, demands))
    return tuple(found)


def _of_requirements(stage: Stage, needed: Requirements) -> Iterator[Rule]:
    for make in checkers(needed):
        check = make(stage, needed)
        levers = ("gbw",) if check.requirement in {"top-end cut-off", "mid-band gain"} else ()
        yield Rule(
            check.requirement,
            check.limit,
            check.kind,
            check.unit,
            check.method,
            _figure_of(make, needed),
            at_nominal=check.requirement == "divider current",
            band=check.band,
            levers=levers,
        )


def _figure_of(make: Checker, needed: Requirements) -> Callable[[Stage], float]:
    return lambda stage: make(stage, needed).value


def _supply_range(stage: Stage) -> Iterator[Rule]:
    record = stage.opamp
    if record is None:
        return
    where = "data sheet: range of the total supply"
    shared: dict[str, Any] = {"unit": "V", "method": where, "figure": lambda s: s.supply, "each_rail": True}
    if record.supply_min:
        yield Rule("rail for the op-amp", record.supply_min, "at least", **shared)
    if math.isfinite(record.supply_max):
        yield Rule("rail for the op-amp", record.supply_max, "at most", **shared)


def _swing(stage: Stage, demands: Demands) -> Iterator[Rule]:
    if demands.output_swing is None:
        return
    swing = demands.number("output_swing")
    yield Rule(
        "undistorted output swing",
        swing,
        "at least",
        "Vpp",
        "output and common-mode limits at the real load, worst DC errors included",
        lambda s: window(s, spread="worst").swing,
        each_rail=True,
        comfortable=0.1,
        levers=("swing", "common_mode_low", "common_mode_high"),
    )
    if stage.opamp is not None and demands.full_power is not None:
        yield Rule(
            "full-power bandwidth",
            demands.number("full_power"),
            "at least",
            "Hz",
            "slew rate over 2 pi times the peak; twice the frequency is common practice",
            lambda s: full_power_bandwidth(_record(s).slew_rate, swing / 2.0),
            comfortable=1.0,
            levers=("slew_rate",),
        )


def _noise(stage: Stage, demands: Demands) -> Iterator[Rule]:
    if demands.noise is None:
        return
    low, high = demands.number("noise_low"), demands.number("noise_high")
    yield Rule(
        "output noise in the band",
        demands.number("noise"),
        "at most",
        "Vrms",
        f"all sources through the network, {low:g} Hz to {high:g} Hz, 300 K",
        lambda s: noise(s).rms(low, high),
        comfortable=0.1,
        levers=() if stage.opamp is None else ("noise_voltage", "noise_current"),
    )


def _dc_error(stage: Stage, demands: Demands) -> Iterator[Rule]:
    if demands.dc_error is None:
        return
    kelvin = demands.number("temperature")

    def figure(s: Stage) -> float:
        point = operating_point(s, spread="worst", temperature=kelvin)
        low, high = point.voltage_range("amp_out")
        rest = point.voltage("amp_out")
        return max(abs(low - rest), abs(high - rest))

    levers = () if stage.opamp is None else ("bias_current", "offset_voltage")
    yield Rule(
        "DC error at the output",
        demands.number("dc_error"),
        "at most",
        "V",
        f"bias current, offset and drift through the network, {_worst_known(stage, levers)}, worst signs",
        figure,
        each_rail=True,
        comfortable=0.1,
        levers=levers,
    )


def _stability(stage: Stage, demands: Demands) -> Iterator[Rule]:
    if demands.phase_margin is None or stage.opamp is None:
        return
    load = demands.number("load_capacitance")
    for pins in stage.circuit.opamps:
        at_output = load if pins.output == stage.circuit.node("amp_out") else 0.0
        yield Rule(
            f"phase margin of {pins.name}",
            demands.number("phase_margin"),
            "at least",
            "deg",
            "loop gain of the real network, output resistance and capacitances included",
            _margin_of(pins.name, at_output),
            comfortable=0.2,
            levers=("output_resistance", "phase_margin"),
        )


def _margin_of(name: str, load: float) -> Callable[[Stage], float]:
    return lambda s: loop_gain(s, name, load_capacitance=load).phase_margin


def _current(stage: Stage, demands: Demands) -> Iterator[Rule]:
    if demands.supply_current is None:
        return
    levers = () if stage.opamp is None else ("quiescent_current",)
    yield Rule(
        "supply current at rest",
        demands.number("supply_current"),
        "at most",
        "A",
        f"bias source, op-amps and DC loads, {_worst_known(stage, levers)}",
        lambda s: operating_point(s, spread="worst").supply_current,
        each_rail=True,
        comfortable=0.1,
        levers=levers,
    )


def _worst_known(stage: Stage, quantities: tuple[str, ...]) -> str:
    """Return that worst figures are taken, or which have no limit in the record: the typical one serves."""
    limited = {limit.quantity for limit in stage.opamp.limits} if stage.opamp is not None else set()
    typical = [name.replace("_", " ") for name in quantities if name not in limited]
    return f"typical {', '.join(typical)}: the record has no limit" if typical else "worst figures"


def _record(stage: Stage) -> OpAmp:
    """Return the op-amp record of a stage that has one."""
    if stage.opamp is None:
        raise TypeError("a rule on the op-amp was applied to a stage without one")
    return stage.opamp
