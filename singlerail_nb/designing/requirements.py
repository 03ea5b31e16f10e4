"""What a stage must do, as numbers with limits."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from typing import Any

from ..circuit.circuit import closest
from ..circuit.opamp import OpAmp
from ..errors import RequirementError
from ..quantities import QuantityLike, read_gain, read_part, read_quantity, write_quantity
from .demands import Demands
from .preferred_values import series

SUPPLY_LOWEST, SUPPLY_HIGHEST = 0.9, 60.0
"""Rails the package designs for, V; above 60 V DC other safety rules begin."""

_NOT_GIVEN: Any = None
"""A requirement that is needed and missing is refused like an unreadable one, a wrong name before it."""


@dataclass(frozen=True)
class Droop:
    """How much the gain may have dropped at a frequency.

    Attributes
    ----------
    db : float
        Allowed drop below the mid-band gain, dB, positive.
    frequency : float
        Where, Hz.
    """

    db: float
    frequency: float


@dataclass(frozen=True)
class Requirements:
    """What a single-rail stage must do.  Text quantities carry their unit: ``"9 V"``, ``"47 kohm"``.

    Attributes
    ----------
    supply : float or str
        Nominal supply voltage, V.
    gain : float or str
        Mid-band voltage gain from the source to the output, a ratio or ``"20 dB"``; the sign of an
        inverting stage may be given or left out.
    low_cutoff : float or str, optional
        Highest allowed low-end cut-off, Hz.  Give this, or ``droop``, or both.
    droop : (drop, frequency), optional
        Largest drop below mid-band at a frequency, such as ``("0.5 dB", "20 Hz")``.
    input_impedance : float or str
        Lowest allowed mid-band input impedance, ohm.
    supply_min, supply_max : float or str, optional
        Range of the rail, V; the nominal value unless given.
    source_resistance : float or str
        Resistance of the source, ohm; 0 for an ideal source.
    load : float or str, optional
        Load resistance, ohm; with it comes an output coupling capacitor.
    divider_current : float or str
        Highest allowed current through the mid-rail divider at the nominal rail, A.
    bias_filter_ratio : float or str
        Corner of the bias filter over the low-end cut-off, a ratio or ``"10%"``; a tenth is common
        practice (no published source for the figure as a law).
    rumble_floor : float or str, optional
        Lowest allowed low-end cut-off, Hz, to keep rumble out.
    high_cutoff : float or str, optional
        Lowest allowed top-end cut-off, Hz.
    gain_tolerance : float or str
        Allowed deviation of the mid-band gain with nominal parts, a ratio or ``"5%"``.
    resistor_series, capacitor_series : str
        IEC 60063 series that may be bought.
    opamp : OpAmp, optional
        The amplifier; ideal unless given.
    demands : Demands
        What is asked of the op-amp side.  Each of its limits may also be given here by its own
        name, such as ``output_swing="3 Vpp"`` or ``noise="100 uVrms"``.

    Raises
    ------
    QuantityError
        If a quantity is missing, cannot be read or is out of range.
    RequirementError
        If a name is none of these, or requirements contradict each other or the op-amp.
    UnknownNameError
        If a series does not exist.
    """

    supply: float
    gain: float
    input_impedance: float
    low_cutoff: float | None = None
    droop: Droop | None = None
    supply_min: float | None = None
    supply_max: float | None = None
    source_resistance: float = 0.0
    load: float | None = None
    divider_current: float = 100e-6
    bias_filter_ratio: float = 0.1
    rumble_floor: float | None = None
    high_cutoff: float | None = None
    gain_tolerance: float = 0.05
    resistor_series: str = "E24"
    capacitor_series: str = "E6"
    opamp: OpAmp | None = None
    demands: Demands = Demands()  # noqa: RUF009 -- frozen, so that all may share it

    def __init__(
        self,
        supply: QuantityLike = _NOT_GIVEN,
        gain: QuantityLike = _NOT_GIVEN,
        input_impedance: QuantityLike = _NOT_GIVEN,
        low_cutoff: QuantityLike | None = None,
        droop: tuple[QuantityLike, QuantityLike] | Droop | None = None,
        **others: Any,
    ) -> None:
        given = {
            "supply": supply,
            "gain": gain,
            "input_impedance": input_impedance,
            "low_cutoff": low_cutoff,
            "droop": droop,
            **others,
        }
        for name, value in _read_all(given).items():
            object.__setattr__(self, name, value)
        self._check()

    def __repr__(self) -> str:
        return f"Requirements({', '.join(f'{name}={value}' for name, value in self._given())})"

    def _given(self) -> Iterator[tuple[str, str]]:
        """Yield name and text of all that differs from its usual value, as one would type it."""
        usual = Requirements.__dataclass_fields__
        for name in usual:
            value = getattr(self, name)
            if name == "demands":
                yield from value.given()
            elif value == usual[name].default:
                continue
            elif name == "droop":
                drop, where = write_quantity(value.db, "dB"), write_quantity(value.frequency, "Hz")
                yield name, f'("{drop}", "{where}")'
            elif name in _UNITS:
                yield name, f'"{write_quantity(value, _UNITS[name][0], 6)}"'
            else:
                yield name, f"<{value.name}>" if name == "opamp" else _typed(value)

    def _check(self) -> None:
        for check in (_check_rail, _check_low_end, _check_series, _check_opamp):
            check(self)

    @property
    def lowest_supply(self) -> float:
        """Lowest supply voltage, V."""
        return self.supply if self.supply_min is None else self.supply_min

    @property
    def highest_supply(self) -> float:
        """Highest supply voltage, V."""
        return self.supply if self.supply_max is None else self.supply_max

    @property
    def target_cutoff(self) -> float:
        """The low-end cut-off to aim at, Hz: the requirement, or what a single pole needs for the droop."""
        candidates = [] if self.low_cutoff is None else [self.low_cutoff]
        if self.droop is not None:
            candidates.append(single_pole_cutoff(self.droop))
        return min(candidates)

    @property
    def opamp_loss(self) -> float:
        """Share of the mid-band gain that the op-amp takes, a ratio; 0 for an ideal one.

        A finite gain A_0 at DC takes G/A_0; a top end that is near the low end takes the ratio of
        the two, as the peak of a band-pass of one pole each shows: 1/(1 + f_low/f_high).
        """
        if self.opamp is None:
            return 0.0
        return self.noise_gain / self.opamp.dc_gain + self.target_cutoff * self.noise_gain / self.opamp.gbw

    @property
    def noise_gain(self) -> float:
        """Least noise gain of a stage of this gain: |G|, or 1 + |G| if it inverts."""
        return abs(self.gain) + (1.0 if self.gain < 0 else 0.0)


def _typed(value: float | str) -> str:
    return f'"{value}"' if isinstance(value, str) else f"{value:.6g}"


def single_pole_cutoff(droop: Droop) -> float:
    """Return the cut-off of the single pole that has a given droop, Hz: f sqrt(10^(d/10) - 1).

    Parameters
    ----------
    droop : Droop
        Allowed drop at a frequency.
    """
    return droop.frequency * math.sqrt(10.0 ** (droop.db / 10.0) - 1.0)


_UNITS: dict[str, tuple[str, float, float]] = {
    "supply": ("V", SUPPLY_LOWEST, SUPPLY_HIGHEST),
    "supply_min": ("V", SUPPLY_LOWEST, SUPPLY_HIGHEST),
    "supply_max": ("V", SUPPLY_LOWEST, SUPPLY_HIGHEST),
    "input_impedance": ("ohm", 10.0, 100e6),
    "source_resistance": ("ohm", 0.0, 100e6),
    "load": ("ohm", 1.0, 100e6),
    "low_cutoff": ("Hz", 1e-3, 1e6),
    "rumble_floor": ("Hz", 1e-4, 1e6),
    "high_cutoff": ("Hz", 1.0, 1e8),
    "divider_current": ("A", 1e-7, 0.1),
}
_DEMANDED = tuple(f.name for f in fields(Demands) if f.name not in ("supply_min", "supply_max"))
_RATIOS = {"bias_filter_ratio": (1e-3, 1.0), "gain_tolerance": (1e-4, 0.5)}


def _read_all(given: dict[str, Any]) -> dict[str, Any]:
    known = Requirements.__dataclass_fields__
    asked = {name: value for name, value in given.items() if name in _DEMANDED}
    unknown = [name for name in given if name not in known and name not in asked]
    if unknown:
        every = [*known, *_DEMANDED]
        raise RequirementError(
            unknown[0],
            given[unknown[0]],
            allowed="the name of a requirement",
            remedy=closest(unknown[0], every),
        )
    values: dict[str, Any] = {name: field.default for name, field in known.items()}
    values |= {name: value for name, value in given.items() if name not in asked}
    values["demands"] = replace(values["demands"], **asked)
    for name, (unit, low, high) in _UNITS.items():
        if values[name] is not None or known[name].default is not None:
            values[name] = read_quantity(values[name], unit, name=name, low=low, high=high)
    values["source_resistance"] = read_part("r_source", values["source_resistance"])  # 0, or what parts have
    for name, (low, high) in _RATIOS.items():
        unit = "%" if str(values[name]).strip().endswith("%") else "ratio"
        values[name] = read_quantity(values[name], unit, name=name, low=low, high=high)
    values["gain"] = read_gain(values["gain"], name="gain")
    values["droop"] = _read_droop(values["droop"])
    return values


_LEAST_DROOP_DB = 1e-3


def _read_droop(value: Any) -> Droop | None:
    if value is None:
        return None
    try:
        drop, frequency = (value.db, value.frequency) if isinstance(value, Droop) else value
    except (TypeError, ValueError):
        raise RequirementError(
            "droop", value, allowed="a pair (drop, frequency)", remedy='Write ("0.5 dB", "20 Hz").'
        ) from None
    decibels = abs(read_quantity(drop, "dB", name="droop", low=-20.0, high=20.0))
    if decibels < _LEAST_DROOP_DB:
        raise RequirementError(
            "droop",
            drop,
            allowed=f"{_LEAST_DROOP_DB:g} dB or more",
            remedy="Allow some: no coupled stage is flat to DC.",
        )
    return Droop(decibels, read_quantity(frequency, "Hz", name="droop frequency", low=1e-3, high=1e6))


def _check_rail(needed: Requirements) -> None:
    if not needed.lowest_supply <= needed.supply <= needed.highest_supply:
        raise RequirementError(
            "supply",
            f"{needed.lowest_supply:g} V, {needed.supply:g} V, {needed.highest_supply:g} V",
            allowed="supply_min <= supply <= supply_max",
            remedy="Put the three supply voltages in order.",
        )


def _check_low_end(needed: Requirements) -> None:
    if needed.low_cutoff is None and needed.droop is None:
        raise RequirementError(
            "low_cutoff",
            "not given",
            allowed="a low-end cut-off or a droop",
            remedy='Give low_cutoff="20 Hz" or droop=("0.5 dB", "20 Hz").',
        )
    target, floor, top = needed.target_cutoff, needed.rumble_floor, needed.high_cutoff
    if floor is not None and not floor < target:
        raise RequirementError(
            "rumble_floor",
            write_quantity(floor, "Hz"),
            allowed=f"below the low-end cut-off of {write_quantity(target, 'Hz')}",
            remedy="Lower the floor or raise the cut-off.",
        )
    if top is not None and not top > 10.0 * target:
        raise RequirementError(
            "high_cutoff",
            write_quantity(top, "Hz"),
            allowed=f"more than ten times the low-end cut-off of {write_quantity(target, 'Hz')}",
            remedy="With less than a decade between them there is no mid-band to speak of.",
        )


def _check_series(needed: Requirements) -> None:
    series(needed.resistor_series)
    series(needed.capacitor_series)


def _check_opamp(needed: Requirements) -> None:
    opamp = needed.opamp
    if opamp is None:
        return
    if not isinstance(opamp, OpAmp):
        raise RequirementError(
            "opamp",
            opamp,
            allowed="an OpAmp record, or None for an ideal one",
            remedy='Give a record by name, opamp=opamp("GPB"), or its data sheet, opamp=OpAmp(...).',
        )
    if needed.lowest_supply < opamp.supply_min or needed.highest_supply > opamp.supply_max:
        raise RequirementError(
            "supply",
            f"{needed.lowest_supply:g} V to {needed.highest_supply:g} V",
            allowed=f"{opamp.supply_min:g} V to {opamp.supply_max:g} V, the range of op-amp {opamp.name}",
            remedy="Choose an op-amp for this rail, or another rail.",
        )
    bandwidth = opamp.gbw / needed.noise_gain
    spread = max(10.0, 2.0 / needed.gain_tolerance)
    top = needed.high_cutoff or spread * needed.target_cutoff
    if top > bandwidth:
        name = "high_cutoff" if needed.high_cutoff else "low_cutoff"
        highest = write_quantity(bandwidth if needed.high_cutoff else bandwidth / spread, "Hz")
        raise RequirementError(
            name,
            write_quantity(needed.high_cutoff or needed.target_cutoff, "Hz"),
            allowed=f"up to {highest} with op-amp {opamp.name} (gain-bandwidth "
            f"{write_quantity(opamp.gbw, 'Hz')}) at a gain of {abs(needed.gain):g}",
            remedy="Choose a faster op-amp, less gain in this stage, or a lower frequency.",
        )
    if needed.opamp_loss > 0.5 * needed.gain_tolerance:
        raise RequirementError(
            "gain_tolerance",
            f"{needed.gain_tolerance:g}",
            allowed=f"at least {2.0 * needed.opamp_loss:.3g} with op-amp {opamp.name} at a gain of "
            f"{abs(needed.gain):g}, twice what its finite gain and bandwidth take",
            remedy="Allow a larger gain tolerance, or choose a faster op-amp or less gain in this stage.",
        )
