"""Whether an op-amp can draw a line: gain, bandwidth, offset, common-mode range."""

from __future__ import annotations

import math

from ..analysis.operating_point import operating_point
from ..analysis.stage import Stage
from ..circuit.nodal_analysis import InputError
from ..circuit.opamp import OpAmp
from ..errors import RequirementError
from ..quantities import write_quantity
from .shift_checks import ROUNDING, Wanted


def check_opamp(stage: Stage, wanted: Wanted, accuracy: float, bandwidth: float | None) -> None:
    """Raise unless the op-amp can do what the parts ask of it.

    Parameters
    ----------
    stage : Stage
        With preferred values.
    wanted : Wanted
        What it must do.
    accuracy : float
        What the op-amp may add as error, as a ratio of the output span.
    bandwidth : float or None
        Hz.

    Raises
    ------
    RequirementError
        If the slope is too large for its gain or bandwidth, its offset too large for the span, or
        its + input leaves the common-mode range.
    """
    if wanted.opamp is None:
        return
    noise_gain = abs(stage.transfer(InputError("opamp"), "amp_out")(0.0))
    _check_slope(wanted, wanted.opamp, noise_gain, accuracy, bandwidth)
    _check_offset(wanted, wanted.opamp, noise_gain, accuracy)
    _check_common_mode(stage, wanted, wanted.opamp)


def _check_slope(
    wanted: Wanted, opamp: OpAmp, noise_gain: float, accuracy: float, bandwidth: float | None
) -> None:
    (x1, y1), (x2, y2) = wanted.points
    slope = (y2 - y1) / (x2 - x1)
    limits = {"gain at DC": accuracy * opamp.dc_gain}
    if bandwidth is not None:
        limits["gain-bandwidth product"] = opamp.gbw / bandwidth
    reason, most = min(limits.items(), key=lambda item: item[1])
    if noise_gain > most:
        nearest = abs(slope) * most / noise_gain
        raise RequirementError(
            "slope",
            f"{slope:.4g}, a noise gain of {noise_gain:.4g}",
            allowed=f"a slope up to {nearest:.4g} with op-amp {opamp.name}: its {reason} allows a noise gain "
            f"of {most:.4g}",
            remedy=f"Take two stages of {math.sqrt(abs(slope)):.3g} each, or a faster op-amp.",
        )


def _check_offset(wanted: Wanted, opamp: OpAmp, noise_gain: float, accuracy: float) -> None:
    offset = abs(opamp.figure("offset_voltage", "worst")) * noise_gain
    if offset > accuracy * wanted.span:
        most = accuracy * wanted.span / noise_gain
        raise RequirementError(
            "accuracy",
            f"{accuracy:.3g} of the output span",
            allowed=f"at least {offset / wanted.span:.3g} with op-amp {opamp.name}: its worst offset makes "
            f"{write_quantity(offset, 'V')} at the output",
            remedy=f"Take an op-amp with an offset of at most {write_quantity(most, 'V')}, or trim it.",
        )


def _check_common_mode(stage: Stage, wanted: Wanted, opamp: OpAmp) -> None:
    low, high = opamp.input_range(wanted.supply_min)
    pins = stage.circuit.opamp("opamp")
    for x in wanted.inputs:
        volts = operating_point(stage, signal=x).voltage(pins.plus)
        if not low - ROUNDING <= volts <= high + ROUNDING:
            raise RequirementError(
                "opamp",
                f"{opamp.name}, whose + input is at {write_quantity(volts, 'V')} for an input of "
                f"{write_quantity(x, 'V')}",
                allowed=f"{write_quantity(low, 'V')} to {write_quantity(high, 'V')}, its common-mode range "
                "at the lowest rail",
                remedy="Take an op-amp whose range reaches there, or keep the inputs inside "
                f"by {write_quantity(max(low - volts, volts - high), 'V')} at the pin.",
            )
