"""How far parts may be from their values: initial tolerance, temperature, ageing, DC bias.

Limits are relative to the nominal value: -0.2 and 0.8 for the old -20/+80 % parts.  The causes
multiply: ``C (1 + initial)(1 + temperature)(1 + ageing)(1 - bias loss)``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from ..circuit.circuit import closest
from ..errors import QuantityError, UnknownNameError
from ..quantities import read_quantity
from .network import require_stage
from .stage import Stage

Limits = tuple[float, float]
ToleranceLike = Any
"""A number or text (0.05, "5 %"), a pair (-0.2, 0.8), or a `PartTolerance`."""

_GROUPS = {"resistors": "resistor", "capacitors": "capacitor"}


@dataclass(frozen=True)
class PartTolerance:
    """Every cause that moves one part, each as (lowest, highest) relative change.

    Attributes
    ----------
    initial : (float, float)
        As delivered.
    temperature : (float, float)
        Over the temperature range: coefficient times temperature difference.
    ageing : (float, float)
        Over the life.
    bias_loss : (float, float)
        Change by the DC voltage on it; negative for a loss.
    """

    initial: Limits = (0.0, 0.0)
    temperature: Limits = (0.0, 0.0)
    ageing: Limits = (0.0, 0.0)
    bias_loss: Limits = (0.0, 0.0)

    def __post_init__(self) -> None:
        for name, (low, high) in self.causes.items():
            if not (-1.0 < low <= high < 1.0):
                raise QuantityError(
                    f"{name} tolerance",
                    f"{low:g} to {high:g}",
                    allowed="more than -100 % and less than 100 %, lowest first",
                    remedy="A part that may lose all of its value is no part to design with; give ratios "
                    'such as 0.05, or text such as "5 %".',
                )

    @property
    def causes(self) -> dict[str, Limits]:
        """The causes by name."""
        return {
            "initial": self.initial,
            "temperature": self.temperature,
            "ageing": self.ageing,
            "bias_loss": self.bias_loss,
        }

    @property
    def factors(self) -> Limits:
        """Lowest and highest value over the nominal one, every cause at its end."""
        low = high = 1.0
        for below, above in self.causes.values():
            low, high = low * (1.0 + below), high * (1.0 + above)
        return low, high

    @property
    def is_exact(self) -> bool:
        """True if nothing moves the part."""
        return all(limits == (0.0, 0.0) for limits in self.causes.values())


def temperature_limits(coefficient: float | str, lowest: float, highest: float) -> Limits:
    """Return the relative change over a temperature range about 25 degC, either sign of the coefficient.

    Parameters
    ----------
    coefficient : float or str
        Relative change per kelvin: 100e-6 for 100 ppm/K.
    lowest, highest : float
        Temperature range, degC.

    Raises
    ------
    QuantityError
        If the range is not in order.
    """
    if not lowest <= highest:
        raise QuantityError(
            "temperature range",
            f"{lowest:g} to {highest:g} degC",
            allowed="lowest first",
            remedy="Swap them.",
        )
    slope = abs(read_quantity(coefficient, "ratio", name="temperature coefficient", low=-1.0, high=1.0))
    far = max(abs(highest - _ROOM), abs(lowest - _ROOM))
    return -slope * far, slope * far


_ROOM = 25.0


def read_tolerance(name: str, given: ToleranceLike) -> PartTolerance:
    """Return the tolerance of one part.

    Parameters
    ----------
    name : str
        The part, for errors.
    given : float, str, (float, float) or PartTolerance
        A symmetrical initial tolerance, a pair of limits, or everything.

    Raises
    ------
    QuantityError
        If it is negative, 100 % or more, or cannot be read.
    """
    if isinstance(given, PartTolerance):
        return given
    if isinstance(given, tuple | list):
        if len(given) != 2:
            raise QuantityError(
                f"tolerance of {name}", str(given), allowed="two limits", remedy="Write (-0.2, 0.8)."
            )
        low, high = (float(v) for v in given)
        return PartTolerance(initial=(low, high))
    share = _read_share(name, given)
    return PartTolerance(initial=(-share, share))


def _read_share(name: str, given: float | str) -> float:
    share = read_quantity(given, "%", name=f"tolerance of {name}") if isinstance(given, str) else float(given)
    if not 0.0 <= share < 1.0:
        raise QuantityError(
            f"tolerance of {name}",
            f"{100.0 * share:g} %",
            allowed="0 % or more and less than 100 %",
            remedy='Five per cent is 0.05 or "5 %".',
        )
    return share


@dataclass(frozen=True)
class ToleranceSet:
    """The tolerances of a stage, in the fixed order of its parameters.

    Attributes
    ----------
    stage : Stage
        The stage.
    parts : mapping of str to PartTolerance
        What varies; parts that are exact are not in it.
    """

    stage: Stage
    parts: Mapping[str, PartTolerance] = field(default_factory=dict)

    @property
    def nominal(self) -> dict[str, float]:
        """Nominal value of everything that varies, SI units."""
        known = varying(self.stage)
        return {name: known[name] for name in self.parts}

    @property
    def box(self) -> dict[str, Limits]:
        """Lowest and highest value of everything that varies, SI units."""
        nominal = self.nominal
        return {
            name: (nominal[name] * low, nominal[name] * high)
            for name, (low, high) in ((n, p.factors) for n, p in self.parts.items())
        }


def varying(stage: Stage) -> dict[str, float]:
    """Return everything that may have a tolerance: parts, op-amp parameters, supply, source levels.

    Parameters
    ----------
    stage : Stage
        The stage.
    """
    return {**stage.parameters, "supply": stage.supply, **stage.levels}


def tolerance_set(stage: Stage, tolerance: ToleranceLike | Mapping[str, ToleranceLike]) -> ToleranceSet:
    """Return the tolerances of a stage.

    Parameters
    ----------
    stage : Stage
        The stage.
    tolerance : float, str, pair or mapping
        One for every resistor and capacitor, or per part; ``"resistors"`` and ``"capacitors"``
        stand for all parts of a kind not named themselves, ``"supply"`` for the rail.  A part that
        is not named is exact, and so is a source resistance of 0 ohm.

    Raises
    ------
    UnknownNameError
        If a name is no part of the stage.
    QuantityError
        If a tolerance cannot be used, or ``stage`` is no stage.
    """
    require_stage(stage)
    if not isinstance(tolerance, Mapping):
        tolerance = dict.fromkeys(_GROUPS, tolerance)
    known = varying(stage)
    for name in tolerance:
        if name not in known and name not in _GROUPS and name not in stage.values:
            names = [*known, *_GROUPS]
            raise UnknownNameError(
                "tolerance of", name, allowed="a part of this stage", remedy=closest(name, names)
            )
    kinds = {part.name: f"{part.kind}s" for part in stage.circuit.parts}
    given = {name: tolerance.get(name, tolerance.get(kinds.get(name, ""))) for name in known}
    read = {name: read_tolerance(name, value) for name, value in given.items() if value is not None}
    return ToleranceSet(stage, {name: part for name, part in read.items() if not part.is_exact})
