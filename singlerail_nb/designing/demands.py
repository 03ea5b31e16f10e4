"""What is asked of the op-amp side of a stage: swing, noise, offset, slewing, stability, current."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, fields

from ..errors import RequirementError
from ..quantities import QuantityLike, read_quantity, write_quantity

_UNITS = {
    "supply_min": "V",
    "supply_max": "V",
    "output_swing": "Vpp",
    "full_power": "Hz",
    "noise": "Vrms",
    "noise_low": "Hz",
    "noise_high": "Hz",
    "dc_error": "V",
    "phase_margin": "deg",
    "load_capacitance": "F",
    "supply_current": "A",
    "temperature": "ratio",
}


@dataclass(frozen=True)
class Demands:
    """Limits that a review holds the op-amp and its network against; what is None is not asked.

    Quantities may be SI numbers or text with unit.

    Attributes
    ----------
    supply_min, supply_max : float or str, optional
        Range of the rail, V; the nominal supply unless given.
    output_swing : float or str, optional
        Least undistorted swing at the op-amp output, Vpp, at every rail.
    full_power : float or str, optional
        Frequency up to which that swing is needed, Hz.
    noise : float or str, optional
        Most noise at the output in the noise band, Vrms.
    noise_low, noise_high : float or str
        The noise band, Hz.
    dc_error : float or str, optional
        Most that the op-amp output may rest beside its ideal value, V.
    phase_margin : float or str, optional
        Least phase margin of every op-amp, degrees; 45 is common practice (no published source).
    load_capacitance : float or str
        Capacitance at the output for that, F.
    supply_current : float or str, optional
        Most current from the rail at rest, A.
    temperature : float
        For drift, K.

    Raises
    ------
    QuantityError
        If a quantity cannot be read.
    RequirementError
        If limits contradict each other.
    """

    supply_min: QuantityLike | None = None
    supply_max: QuantityLike | None = None
    output_swing: QuantityLike | None = None
    full_power: QuantityLike | None = None
    noise: QuantityLike | None = None
    noise_low: QuantityLike = 20.0
    noise_high: QuantityLike = 20e3
    dc_error: QuantityLike | None = None
    phase_margin: QuantityLike | None = None
    load_capacitance: QuantityLike = 0.0
    supply_current: QuantityLike | None = None
    temperature: QuantityLike = 298.15

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            if value is not None:
                read = read_quantity(value, _UNITS[field.name], name=field.name, low=0.0)
                object.__setattr__(self, field.name, read)
                self._refuse_zero(field.name, read)
        if self.full_power is not None and self.output_swing is None:
            raise RequirementError(
                "full_power",
                f"{self.number('full_power'):g} Hz",
                allowed="together with output_swing",
                remedy="Say how large the swing must be up to that frequency.",
            )
        if not self.number("noise_low") < self.number("noise_high"):
            raise RequirementError(
                "noise band",
                f"{self.number('noise_low'):g} Hz to {self.number('noise_high'):g} Hz",
                allowed="noise_low < noise_high",
                remedy="Put the ends of the band in order.",
            )

    def _refuse_zero(self, name: str, value: float) -> None:
        if value == 0 and name != "load_capacitance":
            raise RequirementError(
                name,
                "0",
                allowed="more than 0",
                remedy="No stage can meet it: leave it out if it is not asked.",
            )

    def given(self) -> Iterator[tuple[str, str]]:
        """Yield name and text of all that differs from its usual value, as one would type it."""
        for field in fields(self):
            value = getattr(self, field.name)
            if value != field.default:
                yield field.name, f'"{write_quantity(value, _UNITS[field.name], 6)}"'

    def __repr__(self) -> str:
        return f"Demands({', '.join(f'{name}={value}' for name, value in self.given())})"

    def number(self, name: str) -> float:
        """Return a limit as a number, SI units; not a number if it is not asked.

        Parameters
        ----------
        name : str
            Name of a field.
        """
        value = getattr(self, name)
        return math.nan if value is None else float(value)
