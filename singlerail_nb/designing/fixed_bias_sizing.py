"""Size a bias that does not follow the rail: a Zener, or a reference; and what cannot work."""

from __future__ import annotations

from dataclasses import replace

from ..errors import RequirementError
from ..quantities import QuantityLike, read_quantity, write_quantity
from .bias_sizing import BiasChoice, RailRange, filter_capacitor
from .preferred_values import preferred

ZENER_SERIES = "E24"
"""Zener diodes come in these voltages (common practice, no published source)."""
LOWEST_ZENER = 2.4


def zener_resistor(supply: float, zener: float, current: float) -> float:
    """Return the feed resistor that sends a current through a Zener, ohm, not rounded.

    Parameters
    ----------
    supply, zener : float
        Rail and Zener voltage at that current, V.
    current : float
        A.

    Raises
    ------
    RequirementError
        If the Zener is not below the rail or the current not positive.
    """
    if not 0 < zener < supply:
        raise RequirementError(
            "zener",
            f"{zener:g} V on a rail of {supply:g} V",
            allowed="a Zener below the lowest rail",
            remedy="Choose a Zener near half the lowest rail, or a divider, which follows the rail.",
        )
    if not current > 0:
        raise RequirementError(
            "zener current", f"{current:g} A", allowed="> 0 A", remedy="Take 0.5 mA to 5 mA."
        )
    return (supply - zener) / current


def zener_choice(
    rail: RailRange,
    *,
    wanted: float | None = None,
    current: QuantityLike = 1e-3,
    load_current: QuantityLike = 0.0,
    knee_current: QuantityLike = 0.25e-3,
    test_current: QuantityLike = 5e-3,
    dynamic_resistance: float = 50.0,
    series: str = "E24",
) -> BiasChoice:
    """Return a Zener with its feed resistor.

    Parameters
    ----------
    rail : RailRange
        The rail.
    wanted : float, optional
        Bias voltage, V; half the nominal rail unless given.
    current : float or str
        Zener current at the lowest rail, A.
    load_current : float or str
        DC that the stage draws from the bias, A.
    knee_current : float or str
        Least current at which the diode still is a Zener, A.
    test_current : float or str
        Current at which its voltage is specified, A.
    dynamic_resistance : float
        Ohm.
    series : str
        Preferred values of the feed resistor.

    Raises
    ------
    RequirementError
        If the Zener is not below the lowest rail, or its knee current is not reached there.
    QuantityError
        If a value makes no sense.
    """
    amperes = read_quantity(current, "A", name="current", low=1e-9)
    load = read_quantity(load_current, "A", name="load_current", low=0.0)
    tested = read_quantity(test_current, "A", name="test_current", low=1e-9)
    volts = preferred(max(wanted or rail.nominal / 2.0, LOWEST_ZENER), ZENER_SERIES)
    level = volts - tested * dynamic_resistance
    at_current = level + amperes * dynamic_resistance
    r_zener = preferred(zener_resistor(rail.lowest, at_current, amperes + load), series, "down")
    values = {"zener": level, "r_zener": r_zener, "r_dynamic": dynamic_resistance}
    knee = read_quantity(knee_current, "A", name="knee_current", low=0.0)
    least = require_above_knee(values, rail.lowest, knee, load)
    reasons = (
        f"{write_quantity(volts, 'V')} is the {ZENER_SERIES} Zener nearest the wanted bias.",
        f"{write_quantity(r_zener, 'ohm')} leaves it {write_quantity(least, 'A', 3)} at the lowest rail.",
    )
    return BiasChoice("zener", values, reasons)


def with_filter(choice: BiasChoice, cutoff: float, *, r_filter: float = 10e3) -> BiasChoice:
    """Return a fixed bias with an RC filter after it.

    Parameters
    ----------
    choice : BiasChoice
        A Zener or a reference.
    cutoff : float
        Low-end cut-off of the stage, Hz.
    r_filter : float
        Filter resistor, ohm.

    Raises
    ------
    QuantityError
        If a value makes no sense.
    """
    c_bias, reason = filter_capacitor(r_filter, cutoff)
    values = {**choice.values, "r_filter": r_filter, "c_bias": c_bias}
    return replace(choice, values=values, reasons=(*choice.reasons, reason))


def require_above_knee(
    values: dict[str, float], lowest_rail: float, knee_current: float, load_current: float = 0.0
) -> float:
    """Return the Zener current at the lowest rail, A, or raise if it is below the knee.

    Parameters
    ----------
    values : dict of str to float
        ``zener`` (V), ``r_zener`` and ``r_dynamic`` (ohm).
    lowest_rail : float
        V.
    knee_current, load_current : float
        A.

    Raises
    ------
    RequirementError
        If the current does not reach the knee.
    """
    r_zener, r_dynamic = values["r_zener"], values["r_dynamic"]
    current = (lowest_rail - values["zener"] - load_current * r_zener) / (r_zener + r_dynamic)
    if current < knee_current:
        raise RequirementError(
            "zener current",
            f"{write_quantity(current, 'A', 3)} at a rail of {lowest_rail:g} V",
            allowed=f"at least the knee current of {write_quantity(knee_current, 'A', 3)}",
            remedy="Make r_zener smaller, choose a lower Zener, or take a divider.",
        )
    return current


def reference_choice(
    rail: RailRange,
    level: QuantityLike,
    *,
    dropout: QuantityLike = 0.3,
    output_resistance: float = 1.0,
    sinks: bool = True,
    sink_current: QuantityLike = 0.0,
) -> BiasChoice:
    """Return a fixed reference or regulator.

    Parameters
    ----------
    rail : RailRange
        The rail.
    level : float or str
        Its voltage, V.
    dropout : float or str
        Least distance below the rail, V.
    output_resistance : float
        Ohm.
    sinks : bool
        Whether it can take current as well as give it.
    sink_current : float or str
        Largest current that the stage pushes into the bias node, A.

    Raises
    ------
    RequirementError
        If the rail is too low for it, or it must sink current and cannot.
    QuantityError
        If a value makes no sense.
    """
    volts = read_quantity(level, "V", name="level", low=1e-3)
    needed = volts + read_quantity(dropout, "V", name="dropout", low=0.0)
    if needed > rail.lowest:
        raise RequirementError(
            "reference",
            f"{volts:g} V from a rail of {rail.lowest:g} V",
            allowed=f"a lowest rail of {needed:g} V or more (level and dropout)",
            remedy="Choose a lower reference, or a divider, which follows the rail.",
        )
    sunk = read_quantity(sink_current, "A", name="sink_current", low=0.0)
    if sunk > 0 and not sinks:
        raise RequirementError(
            "reference",
            f"{write_quantity(sunk, 'A', 3)} to be sunk by a source-only reference",
            allowed="a reference that sinks, or no current into the bias node",
            remedy="Take a reference that sinks, buffer it, or load it with a resistor to ground.",
        )
    values = {"reference": volts, "r_reference": output_resistance}
    reason = f"{write_quantity(volts, 'V')} leaves its dropout down to {write_quantity(needed, 'V')}."
    return BiasChoice("reference" if sinks else "source_only_reference", values, (reason,))
