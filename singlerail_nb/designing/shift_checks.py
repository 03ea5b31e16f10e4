"""What is asked of a level shift, read and checked: points, rail, reference.

Every refusal names the nearest choice that would do.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..analysis.part_values import SUPPLY_HIGHEST, SUPPLY_LOWEST
from ..circuit.opamp import OpAmp
from ..errors import RequirementError
from ..quantities import QuantityLike, read_quantity, write_quantity

Point = tuple[float, float]
Span = tuple[float, float]
ROUNDING = 1e-9
"""Relative slack for limits, V."""


@dataclass(frozen=True)
class Wanted:
    """What a level shift must do.

    Attributes
    ----------
    points : tuple of two (float, float)
        (input, output), V.
    reference, supply, supply_min : float
        V.
    source_resistance : float
        Ohm.
    load : float or None
        Ohm.
    opamp : OpAmp or None
        The amplifier; None is ideal.
    """

    points: tuple[Point, Point]
    reference: float
    supply: float
    supply_min: float
    source_resistance: float
    load: float | None
    opamp: OpAmp | None

    @property
    def inputs(self) -> Span:
        """The two input voltages, V."""
        return self.points[0][0], self.points[1][0]

    @property
    def span(self) -> float:
        """Output span, V."""
        return abs(self.points[1][1] - self.points[0][1])

    @property
    def window(self) -> Span:
        """Lowest and highest output at the lowest rail, V."""
        if self.opamp is None:
            return 0.0, self.supply_min
        return self.opamp.output_range(self.supply_min, self.load or math.inf)

    @property
    def reference_at_lowest_rail(self) -> float:
        """The reference at the lowest rail, V: it follows if the rail itself is the reference."""
        return self.supply_min if self.reference == self.supply else self.reference


def read_wanted(
    points: Sequence[tuple[QuantityLike, QuantityLike]],
    reference: QuantityLike,
    supply: QuantityLike,
    supply_min: QuantityLike | None,
    source_resistance: QuantityLike,
    load: QuantityLike | None,
    opamp: OpAmp | None,
) -> Wanted:
    """Return what is asked for, in SI units.

    Parameters
    ----------
    points : sequence of two (float or str, float or str)
        (input, output), V.
    reference, supply, supply_min : float or str
        V.
    source_resistance, load : float or str
        Ohm.
    opamp : OpAmp or None
        The amplifier.

    Raises
    ------
    QuantityError
        If a quantity cannot be read.
    RequirementError
        If the points are equal, an output lies outside the window, or the reference does not exist.
    """
    rail = read_quantity(supply, "V", name="supply", low=SUPPLY_LOWEST, high=SUPPLY_HIGHEST)
    lowest = rail
    if supply_min is not None:
        lowest = read_quantity(supply_min, "V", name="supply_min", low=SUPPLY_LOWEST, high=rail)
    wanted = Wanted(
        points=_read_points(points),
        reference=_read_reference(reference, rail, lowest),
        supply=rail,
        supply_min=lowest,
        source_resistance=read_quantity(
            source_resistance, "ohm", name="source_resistance", low=0.0, high=100e6
        ),
        load=None if load is None else read_quantity(load, "ohm", name="load", low=1.0, high=100e6),
        opamp=opamp,
    )
    _check_outputs(wanted)
    return wanted


def _read_points(points: Sequence[tuple[QuantityLike, QuantityLike]]) -> tuple[Point, Point]:
    try:
        (x1, y1), (x2, y2) = points
    except (TypeError, ValueError):
        raise RequirementError(
            "points",
            points,
            allowed="two points (input, output)",
            remedy='Write points=[("10 mV", "1 V"), ("1 V", "4.5 V")].',
        ) from None
    named = zip(("input 1", "output 1", "input 2", "output 2"), (x1, y1, x2, y2), strict=True)
    a, b, c, d = (
        read_quantity(v, "V", name=name, low=-SUPPLY_HIGHEST, high=SUPPLY_HIGHEST) for name, v in named
    )
    if a == c:
        raise RequirementError(
            "points",
            f"two points at an input of {write_quantity(a, 'V')}",
            allowed="two different input voltages",
            remedy="Give the outputs at the lowest and at the highest input that occur.",
        )
    if b == d:
        raise RequirementError(
            "points",
            f"an output of {write_quantity(b, 'V')} at both inputs",
            allowed="two different output voltages",
            remedy="Without a slope the output is a reference, not a level shift: spread the outputs.",
        )
    return (a, b), (c, d)


def _read_reference(reference: QuantityLike, rail: float, lowest: float) -> float:
    volts = read_quantity(reference, "V", name="reference", low=-SUPPLY_HIGHEST, high=SUPPLY_HIGHEST)
    if volts == rail or 0 < volts <= lowest:
        return volts
    raise RequirementError(
        "reference",
        write_quantity(volts, "V"),
        allowed=f"above 0 V and at most {write_quantity(lowest, 'V')}, the lowest rail; or {rail:g} V for "
        "the rail itself",
        remedy=f"No such reference exists on one rail; the nearest is {write_quantity(lowest, 'V')}."
        if volts > 0
        else "One rail has no negative reference; a negative intercept needs none: give a positive one.",
    )


def _check_outputs(wanted: Wanted) -> None:
    low, high = wanted.window
    if not low < high:
        raise RequirementError(
            "supply_min",
            write_quantity(wanted.supply_min, "V"),
            allowed="a rail that leaves the output some room",
            remedy="Choose an op-amp for this rail, or a higher rail.",
        )
    for x, y in wanted.points:
        if not low - ROUNDING <= y <= high + ROUNDING:
            nearest = write_quantity(min(max(y, low), high), "V")
            rail = wanted.supply_min + max(y - high, 0.0)
            raised = f", or raise the lowest rail to {write_quantity(rail, 'V')}" if y > high else ""
            raise RequirementError(
                "points",
                f"an output of {write_quantity(y, 'V')} at {write_quantity(x, 'V')}",
                allowed=f"outputs from {write_quantity(low, 'V')} to {write_quantity(high, 'V')}, the window "
                f"at the lowest rail of {write_quantity(wanted.supply_min, 'V')}",
                remedy=f"The nearest is {nearest} at that input{raised}.",
            )
