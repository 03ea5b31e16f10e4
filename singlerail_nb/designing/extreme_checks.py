"""Every requirement against its figure at the tolerance extremes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from ..analysis.boards import Floats
from ..analysis.stage import Stage
from ..analysis.tolerance import Tolerances, worst_case
from ..analysis.tolerance_extremes import Extreme, extreme
from ..analysis.tolerance_figures import DroopAt
from ..analysis.tolerance_inputs import ToleranceSet, tolerance_set
from .requirements import Requirements
from .selection_limits import local_limits
from .selection_local import LocalLimit
from .verification import Check, Limit


def extreme_checks(
    stage: Stage, needed: Requirements, tolerance: Tolerances, swing: float | None = None
) -> tuple[Check, ...]:
    """Return every requirement with the worst figure of any board within tolerance.

    Parameters
    ----------
    stage : Stage
        The stage to judge.
    needed : Requirements
        What it must do.
    tolerance : float, str, pair or mapping
        As in `analysis.tolerance.worst_case`.
    swing : float, optional
        Least output swing at the lowest rail, Vpp.

    Raises
    ------
    UnknownNameError
        If a name is no part of the stage.
    QuantityError
        If a tolerance cannot be used.
    """
    tolerances = tolerance_set(stage, tolerance)
    checks = [*_of_band(stage, needed, tolerance), *_of_bias(stage, needed, tolerances)]
    if swing is not None:
        checks.append(_of_swing(stage, needed, tolerances, swing))
    return tuple(replace(check, id=f"X{number}") for number, check in enumerate(checks, 1))


def _of_band(stage: Stage, needed: Requirements, tolerance: Tolerances) -> Iterator[Check]:
    worst = worst_case(stage, tolerance)
    gain, wanted = worst["midband_gain"], abs(needed.gain)
    farther = max(_ends(gain), key=lambda value: abs(value - wanted))
    band = wanted * needed.gain_tolerance
    yield Check("mid-band gain", farther, wanted, "within", "V/V", gain.verdict, band=band)
    seen = worst["input_impedance"]
    yield Check("input impedance", _ends(seen)[0], needed.input_impedance, "at least", "ohm", seen.verdict)
    if needed.high_cutoff is not None and "high_cutoff" in worst.figures:
        top = worst["high_cutoff"]
        yield Check("top-end cut-off", _ends(top)[0], needed.high_cutoff, "at least", "Hz", top.verdict)
    low = worst["low_cutoff"]
    if needed.low_cutoff is not None:
        yield Check("low-end cut-off", _ends(low)[1], needed.low_cutoff, "at most", "Hz", low.verdict)
    if needed.droop is not None:
        drop = extreme(worst.tolerances, DroopAt(needed.droop.frequency))
        yield Check("droop", _ends(drop)[1], needed.droop.db, "at most", "dB", drop.verdict)
    if needed.rumble_floor is not None:
        yield Check("rumble floor", _ends(low)[0], needed.rumble_floor, "at least", "Hz", low.verdict)


def _ends(found: Extreme) -> tuple[float, float]:
    """Return what no board can exceed; what the corners give where no bound is known."""
    return found.bounds if math.isfinite(found.bounds[0]) else found.limits


_OF_BIAS = {"divider_current": "divider current", "bias_filter_ratio": "bias-filter corner"}


def _of_bias(stage: Stage, needed: Requirements, tolerances: ToleranceSet) -> Iterator[Check]:
    method = "proven: a quotient that is linear in every part has its extremes at corners"
    for limit in local_limits(needed, stage):
        if limit.requirement in _OF_BIAS:
            low, high = _local_ends(stage, limit, tolerances)
            value = low if limit.sign > 0 else high
            kind: Limit = "at least" if limit.sign > 0 else "at most"
            yield Check(_OF_BIAS[limit.requirement], value, limit.limit, kind, limit.unit, method)


def bias_ends(stage: Stage, needed: Requirements, tolerance: Tolerances) -> Mapping[str, tuple[float, float]]:
    """Return lowest and highest divider current and bias-filter corner of any board within tolerance.

    Parameters
    ----------
    stage : Stage
        The stage to judge, at the nominal rail.
    needed : Requirements
        What it must do.
    tolerance : float, str, pair or mapping
        As in `analysis.tolerance.worst_case`.

    Returns
    -------
    mapping of str to (float, float)
        Requirement in words -> its ends, A and Hz; empty for a bias source other than the
        filtered divider, on which these are asked.
    """
    if stage.bias != "filtered_divider":
        return {}
    tolerances = tolerance_set(stage, tolerance)
    return {
        _OF_BIAS[limit.requirement]: _local_ends(stage, limit, tolerances)
        for limit in local_limits(needed, stage)
        if limit.requirement in _OF_BIAS
    }


def _local_ends(stage: Stage, limit: LocalLimit, tolerances: ToleranceSet) -> tuple[float, float]:
    """Return the ends of a figure over the corners of the parts that it depends on."""
    box = tolerances.box
    names = limit.parts([name for name in box if name in stage.parameters])
    corners = np.indices((2,) * len(names)).reshape(len(names), -1)
    numbers: dict[str, float | Floats] = {**stage.parameters}
    numbers.update({name: np.array(box[name])[corners[i]] for i, name in enumerate(names)})
    figure = limit.figure(numbers)
    return float(np.min(figure)), float(np.max(figure))


def _of_swing(stage: Stage, needed: Requirements, tolerances: ToleranceSet, swing: float) -> Check:
    ends = (needed.lowest_supply / stage.supply - 1.0, needed.highest_supply / stage.supply - 1.0)
    everything = {**tolerances.parts, "supply": ends}
    found: Extreme = worst_case(stage, everything)["swing"]
    return Check("output swing", _ends(found)[0], swing, "at least", "Vpp", found.verdict)


def spread_ratio(check: Check, nominal: Check) -> float:
    """Return how many times worse a figure is at the extremes than with nominal parts, at least 1.

    Parameters
    ----------
    check, nominal : Check
        The same requirement at the extremes and with nominal parts.
    """
    if not (math.isfinite(check.value) and nominal.value):
        return 1.0
    ratio = check.value / nominal.value
    return max(1.0, ratio if check.kind == "at most" else 1.0 / ratio)
