"""What is known of an operational amplifier, as far as the small-signal network needs it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import CircuitError


@dataclass(frozen=True, slots=True)
class OpAmp:
    """A single-pole operational amplifier: A(s) = 1 / (1/A_0 + s/omega_t).

    Attributes
    ----------
    name : str
        Its name in tables.
    gbw : float
        Gain-bandwidth product, Hz.
    dc_gain : float
        Open-loop gain at DC, V/V.
    supply_min, supply_max : float
        Range of the total supply voltage, V.
    source : str
        Where the figures come from; "invented" for demonstration data.

    Raises
    ------
    CircuitError
        If a figure is not positive, or the supply range is empty.
    """

    name: str
    gbw: float
    dc_gain: float = 1e5
    supply_min: float = 0.0
    supply_max: float = math.inf
    source: str = "entered by the user"

    def __post_init__(self) -> None:
        for quantity, value in (("gbw", self.gbw), ("dc_gain", self.dc_gain)):
            if not (value > 0 and math.isfinite(value)):
                raise CircuitError(
                    f"op-amp {self.name}, {quantity}",
                    value,
                    allowed="positive and finite",
                    remedy="Take the typical figure from the data sheet.",
                )
        if not 0 <= self.supply_min < self.supply_max:
            raise CircuitError(
                f"op-amp {self.name}, supply range",
                f"{self.supply_min} V to {self.supply_max} V",
                allowed="0 V <= supply_min < supply_max",
                remedy="Give the range of the total supply voltage from the data sheet.",
            )

    @property
    def inverse_gain(self) -> float:
        """1/A_0, ratio."""
        return 1.0 / self.dc_gain

    @property
    def unity_time(self) -> float:
        """1/omega_t = 1/(2 pi GBW), seconds."""
        return 1.0 / (2.0 * math.pi * self.gbw)
