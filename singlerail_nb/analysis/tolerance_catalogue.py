"""The figures that make sense for a stage, by name, and their nominal values."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from ..circuit.circuit import closest
from ..errors import CircuitError, UnknownNameError
from ..quantities import QuantityLike, read_quantity
from .stage import Stage
from .supply_rejection import supply_rejection
from .tolerance_figures import Cutoff, Figure, Magnitude, Measured, Ripple
from .tolerance_stage_figures import Resting, Settling, Swing


def standard_figures(stage: Stage, line: QuantityLike = 100.0) -> dict[str, Figure]:
    """Return the figures that make sense for a stage, by name.

    Parameters
    ----------
    stage : Stage
        The stage.
    line : float or str
        Frequency of the supply ripple, Hz.
    """
    line = read_quantity(line, "Hz", name="line")
    whole = stage.transfer("signal", "output")
    figures: list[Figure] = [Magnitude("midband_gain", "mid-band gain", "V/V", "signal")]
    if whole.low_cutoff() > 0:
        figures.append(Cutoff("low_cutoff", "low-end cut-off", "low"))
    if math.isfinite(whole.high_cutoff()):
        figures.append(Cutoff("high_cutoff", "top-end cut-off", "high"))
    if _takes_current(stage):
        figures.append(Magnitude("input_impedance", "input impedance", "ohm", "input", stage.signal_band))
    if abs(stage.transfer("supply", "output")(line)) > 0:
        label = f"ripple by the bias path at {line:g} Hz"
        figures.append(Magnitude("supply_gain", label, "V/V", "supply", line))
    if supply_rejection(stage).opamp_path.terms:
        figures.append(Ripple(line, label=f"ripple by both paths at {line:g} Hz"))
    if stage.circuit.has_node("bias"):
        figures.append(Resting("bias_voltage", "mid-rail bias", "bias"))
    if not stage.findings:
        figures.append(Resting("output_rest", "resting output", "amp_out"))
    if stage.opamp is not None and not stage.findings:
        figures.append(Swing())
    figures.append(Settling())
    return {figure.name: figure for figure in figures}


def _takes_current(stage: Stage) -> bool:
    """Return whether the signal source delivers a current: at an op-amp input alone it does not."""
    try:
        stage.input_impedance()
    except CircuitError:
        return False
    return True


def chosen_figures(stage: Stage, wanted: tuple[str | Figure, ...], line: QuantityLike) -> tuple[Figure, ...]:
    """Return figures by name; figures given as such are taken as they are.

    Parameters
    ----------
    stage : Stage
        The stage.
    wanted : tuple of str or Figure
        Names from `standard_figures`, or figures.
    line : float or str
        Frequency of the supply ripple, Hz.

    Raises
    ------
    UnknownNameError
        If the stage has no such figure.
    """
    known = standard_figures(stage, line)
    for name in wanted:
        if isinstance(name, str) and name not in known:
            raise UnknownNameError(
                "figure", name, allowed="a figure that this stage has", remedy=closest(name, known)
            )
    return tuple(known[name] if isinstance(name, str) else name for name in wanted)


def nominal_value(stage: Stage, figure: Figure) -> float:
    """Return a figure of the stage itself.

    Parameters
    ----------
    stage : Stage
        The stage.
    figure : Figure
        Which.
    """
    return float(figure.on(single_board(stage))[0])


def single_board(stage: Stage, **changes: float) -> Measured:
    """Return one board: the stage with some values changed.

    Parameters
    ----------
    stage : Stage
        The stage.
    **changes : float
        New values, SI units.
    """
    values: Mapping[str, float] = {**stage.parameters, **changes}
    return Measured(stage, {name: np.array([value]) for name, value in values.items()})
