"""At what bias sources are compared, and one row of the comparison."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from numbers import Real
from typing import Any

from ..analysis.stage import Stage
from ..circuit.supplies import Supply
from ..errors import QuantityError
from ..quantities import read_fields, read_quantity
from .bias_sizing import RailRange

_ENDS = 2
_UNITS = {
    **dict.fromkeys(("low", "high", "dropout"), "V"),
    **dict.fromkeys(("resistor_tolerance", "zener_tolerance", "reference_tolerance", "within"), "%"),
    **dict.fromkeys(("zener_noise", "reference_noise"), "V/sqrt(Hz)"),
    **dict.fromkeys(("other_current", "follower_current", "reference_current"), "A"),
    **dict.fromkeys(("knee_current", "sink_current"), "A"),
    **dict.fromkeys(("psrr_db", "reference_db"), "dB"),
    **dict.fromkeys(("psrr_corner", "reference_corner"), "Hz"),
    "ramp_time": "s",
}


@dataclass(frozen=True)
class BiasConditions:
    """What the stage lives on, and figures of parts that a circuit does not hold.

    Quantities may be SI numbers or text with unit, such as ``dropout="300 mV"``.

    The defaults for noise, tolerance and current of Zener, reference and follower are invented
    class figures; give those of the real part.

    Attributes
    ----------
    rail : RailRange
        The rail.
    lines : tuple of float
        Frequencies of its ripple, Hz.
    band : tuple of (float, float)
        Band in which noise counts, Hz.
    ramp_time : float
        Rise time of the rail, s.
    low, high : float or None
        Distances from ground and rail that op-amp outputs keep, V; those of the op-amp record, or
        none, unless given.
    dropout : float
        Least distance of a reference below the rail, V.
    within : float
        Fraction of its final voltage at which the amplifier output counts as awake.
    capacity : float
        Of the battery, Ah; 0 if the rail is no battery.
    other_current : float
        What everything else draws from the battery, A.
    resistor_tolerance, zener_tolerance, reference_tolerance : float
        Fractions.
    zener_noise, reference_noise : float
        V/sqrt(Hz), white.
    follower_current, reference_current : float
        Own supply current of a follower (unless the stage's op-amp record says it) and of a
        reference, A.
    psrr_db, psrr_corner, reference_db, reference_corner : float or None
        As in `supply_rejection`.
    knee_current : float
        Least current of a Zener, A.
    sink_current : float
        Largest current that the stage pushes into the bias node, A.

    Raises
    ------
    QuantityError
        If a field is no such quantity.
    """

    rail: RailRange
    lines: tuple[float, ...] = (100.0,)
    band: tuple[float, float] = (20.0, 20e3)
    ramp_time: float = 1e-3
    low: float | None = None
    high: float | None = None
    dropout: float = 0.3
    within: float = 0.01
    capacity: float = 0.0
    other_current: float = 0.0
    resistor_tolerance: float = 0.01
    zener_tolerance: float = 0.05
    reference_tolerance: float = 0.01
    zener_noise: float = 100e-9
    reference_noise: float = 300e-9
    follower_current: float = 0.35e-3
    reference_current: float = 0.1e-3
    psrr_db: float | None = None
    psrr_corner: float | None = None
    reference_db: float | None = 60.0
    reference_corner: float | None = 1e3
    knee_current: float = 0.25e-3
    sink_current: float = 0.0

    def __post_init__(self) -> None:
        capacity: Any = self.capacity
        if not isinstance(capacity, Real):
            raise QuantityError(
                "capacity", capacity, allowed="ampere-hours as a number", remedy="500 mA h is 0.5."
            )
        read_fields(self, _UNITS)
        for name in ("lines", "band"):
            given = getattr(self, name)
            several = (given,) if isinstance(given, (str, Real)) else given
            if not isinstance(several, Iterable):
                raise QuantityError(name, given, allowed="frequencies", remedy="Give them in Hz.")
            object.__setattr__(self, name, tuple(read_quantity(f, "Hz", name=name) for f in several))
        if len(self.band) != _ENDS:
            raise QuantityError(
                "band", self.band, allowed="its two ends", remedy="Give both in Hz, such as (20, 20e3)."
            )

    @classmethod
    def on(cls, supply: Supply, **others: Any) -> BiasConditions:
        """Return the conditions on a rail of the scenario.

        Parameters
        ----------
        supply : Supply
            Range, ripple lines, rise time and capacity are taken from it; a rail without ripple is
            looked at at 100 Hz.
        **others
            Further fields.
        """
        own = {
            "lines": tuple(supply.ripple) or (100.0,),
            "ramp_time": supply.rise_time,
            "capacity": supply.capacity,
        }
        return cls(RailRange(supply.lowest, supply.nominal, supply.highest), **{**own, **others})


@dataclass(frozen=True)
class BiasRow:
    """One bias source on the stage.

    Attributes
    ----------
    name, title : str
        The bias source; the name is the key of the choice.
    stage : Stage
        The stage with it.
    volts : float
        Resting voltage of the bias node at the nominal rail, V.
    error : tuple of (float, float)
        Worst case below and above that, V: tolerances, and the op-amp's bias current and offset.
    rejection_db : tuple of float
        Rail to output at each line, dB: 20 dB means that a tenth comes through; negative if the
        ripple is amplified.  Both paths, source connected.
    open_rejection_db : tuple of float
        The same with the source taken off.
    impedance : tuple of float
        Of the bias node inside the stage at DC and at each line, ohm.
    noise : float
        What the bias source adds at the output in the band, Vrms.
    wake_up : float
        Until the amplifier output is within the limit, s.
    current : float
        What the bias source draws at the nominal rail, A.
    battery_life : float
        Hours on the battery with everything else; infinite without a battery.
    tracking : float
        Change of the bias per change of the rail, V/V: 0.5 follows mid-rail, 0 stays.
    parts : int
        Number of parts to place.
    problems : tuple of str
        What does not work somewhere in the range of the rail.
    """

    name: str
    title: str
    stage: Stage
    volts: float
    error: tuple[float, float]
    rejection_db: tuple[float, ...]
    open_rejection_db: tuple[float, ...]
    impedance: tuple[float, ...]
    noise: float
    wake_up: float
    current: float
    battery_life: float
    tracking: float
    parts: int
    problems: tuple[str, ...]
