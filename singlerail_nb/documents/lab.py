"""The declared conditions of a lab: what is on the bench and on the shelf, the same for everybody."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from ..circuit.opamp import OpAmp
from ..circuit.opamp_library import opamp
from ..designing.stock import Stock
from ..measurement.instruments import INSTRUMENTS, Instrument


@dataclass(frozen=True)
class Lab:
    """What is on the bench and on the shelf, the same for everybody.

    Attributes
    ----------
    stock : Stock
        Values that can be had.
    topology : str
        Name of the stage.
    supplies : tuple of float
        Rails that can be had, V.
    supply_kind : str
        What the rail comes from, for the cautions: "battery", "usb", "vehicle", "aircraft", "mains" or "".
    opamp : OpAmp
        The amplifier on the bench.
    tolerance : mapping of str to float
        Relative tolerance of "resistors" and "capacitors".
    meter, scope : Instrument
        For resting voltages, and for everything that moves.
    ripple, ripple_frequency : float
        What is put on the rail in the ripple test, Vpp and Hz.
    sag : float
        Lowest rail over nominal rail.
    floor : float
        Lowest frequency the generator and oscilloscope can be trusted at, Hz.
    """

    stock: Stock = field(default_factory=lambda: Stock.of("E24", "E6", capacitor_range=("10n", "220u")))
    topology: str = "noninverting"
    supplies: tuple[float, ...] = (5.0, 9.0, 12.0)
    supply_kind: str = ""
    opamp: OpAmp = field(default_factory=lambda: opamp("GPB"))
    tolerance: Mapping[str, float] = field(default_factory=lambda: {"resistors": 0.05, "capacitors": 0.2})
    meter: Instrument = INSTRUMENTS["meter"]
    scope: Instrument = INSTRUMENTS["scope_10x"]
    ripple: float = 0.5
    ripple_frequency: float = 100.0
    sag: float = 0.9
    floor: float = 3.0
