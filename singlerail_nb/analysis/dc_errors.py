"""What moves the resting voltages: input currents, offset voltage and drift, leakage of capacitors."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from ..circuit.circuit import closest
from ..circuit.nodal_analysis import Excitation, Injection, InputError
from ..circuit.opamp import REFERENCE_TEMPERATURE
from ..circuit.opamp_figures import Spread
from ..errors import QuantityError, UnknownNameError
from .network import Solvable

LEAKAGE_FLOOR = 3e-6
"""Smallest leakage limit of an aluminium electrolytic, A."""
LEAKAGE_SLOPE = 0.01
"""Leakage limit per volt and farad, A/(V F)."""
SMALLEST_ELECTROLYTIC = 1e-6
"""Capacitors from this value on are taken as electrolytic by the rule, F (common practice, no
published source)."""


@dataclass(frozen=True, slots=True)
class DcSource:
    """One cause of a DC error: amounts that enter together.

    Attributes
    ----------
    name : str
        What it is, for tables.
    terms : tuple of (Excitation, float)
        Where it enters, with its amount in ampere or volt.
    sign_known : bool
        False if it may go either way.
    """

    name: str
    terms: tuple[tuple[Excitation, float], ...]
    sign_known: bool


def electrolytic_leakage(capacitance: float, rated_voltage: float) -> float:
    """Return the usual leakage limit of an aluminium electrolytic: 0.01 C V or 3 uA, the greater.

    A limit after two minutes at 20 degC, as many part lists state it; typical parts leak 1/50 to
    1/100 of it, parts from long storage more.

    Parameters
    ----------
    capacitance : float
        F.
    rated_voltage : float
        V.

    Returns
    -------
    float
        A.

    Raises
    ------
    QuantityError
        If a value is not positive.
    """
    for name, value in (("capacitance", capacitance), ("rated_voltage", rated_voltage)):
        if not value > 0:
            raise QuantityError(name, value, allowed="> 0", remedy="Give SI values.")
    return max(LEAKAGE_SLOPE * capacitance * rated_voltage, LEAKAGE_FLOOR)


def leakage_table(
    stage: Solvable, leakage: Mapping[str, float] | str | None, rated_voltage: float | None = None
) -> dict[str, float]:
    """Return the leakage of every capacitor that leaks, A.

    Parameters
    ----------
    stage : Stage or Network
        The network.
    leakage : mapping of str to float, "electrolytic" or None
        A for each capacitor; or the rule of `electrolytic_leakage` for every capacitor of 1 uF or
        more; or none.
    rated_voltage : float, optional
        For the rule, V; the supply voltage unless given.

    Raises
    ------
    UnknownNameError
        If a name is no capacitor of the stage, or the rule is unknown.
    QuantityError
        If a leakage is negative.
    """
    names = [part.name for part in stage.circuit.capacitors]
    if leakage is None:
        return {}
    if isinstance(leakage, str):
        if leakage != "electrolytic":
            raise UnknownNameError(
                "leakage", leakage, allowed='"electrolytic" or a table', remedy='Write "electrolytic".'
            )
        rated = stage.supply if rated_voltage is None else rated_voltage
        values = {name: stage.parameters[name] for name in names}
        return {
            name: electrolytic_leakage(value, rated)
            for name, value in values.items()
            if value >= SMALLEST_ELECTROLYTIC
        }
    for name, current in leakage.items():
        if name not in names:
            raise UnknownNameError(
                "capacitor", name, allowed="a capacitor of this stage", remedy=closest(name, names)
            )
        if not current >= 0:
            raise QuantityError(
                f"leakage of {name}", current, allowed=">= 0 A", remedy="Its direction follows the voltage."
            )
    return dict(leakage)


def opamp_errors(stage: Solvable, spread: Spread, temperature: float) -> Iterable[DcSource]:
    """Yield the DC errors of the op-amps.

    The offset current enters as half of it into one pin and half out of the other.

    Parameters
    ----------
    stage : Stage or Network
        The network.
    spread : "typical" or "worst"
        Which figures.
    temperature : float
        K.
    """
    record = stage.opamp
    if record is None:
        return
    bias = record.bias_current_at(temperature, spread)
    half = record.figure("offset_current", spread) / 2
    drift = record.figure("offset_drift", spread) * abs(temperature - REFERENCE_TEMPERATURE)
    several = len(stage.circuit.opamps) > 1
    for pins in stage.circuit.opamps:
        of = f" of {pins.name}" if several else ""
        plus, minus, error = Injection(pins.plus), Injection(pins.minus), InputError(pins.name)
        # A current into the pin leaves the node.
        yield DcSource(f"bias current{of}", ((plus, -bias), (minus, -bias)), sign_known=True)
        yield DcSource(f"offset current{of}", ((plus, -half), (minus, half)), sign_known=False)
        offset = record.figure("offset_voltage", spread)
        yield DcSource(f"offset voltage{of}", ((error, offset),), sign_known=False)
        yield DcSource(f"offset drift{of}", ((error, drift),), sign_known=False)


def leakage_errors(
    stage: Solvable, voltages: Mapping[str, float], leakage: Mapping[str, float]
) -> Iterable[DcSource]:
    """Yield the leakage of capacitors: it flows through them from the more positive node.

    Parameters
    ----------
    stage : Stage or Network
        The network.
    voltages : mapping of str to float
        Resting voltages, V.
    leakage : mapping of str to float
        A for each capacitor.
    """
    for name, current in leakage.items():
        one, other = stage.circuit.part(name).nodes
        if one not in voltages or other not in voltages or voltages[one] == voltages[other]:
            continue
        high, low = (one, other) if voltages[one] > voltages[other] else (other, one)
        yield DcSource(f"leakage of {name}", ((Injection(low, high), current),), sign_known=True)
