"""The declared conditions of a lab: what is on the bench and on the shelf, the same for everybody."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from ..cautions import cautions_for
from ..circuit.opamp import OpAmp
from ..circuit.opamp_library import opamp
from ..designing.stock import Stock
from ..errors import QuantityError, UnknownNameError
from ..measurement.instruments import INSTRUMENTS, Instrument
from ..quantities import read_quantity


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


def declared(stock: Stock | None = None, **conditions: Any) -> Lab:
    """Return the conditions of a lab from what an instructor declares.

    Parameters
    ----------
    stock : Stock, optional
        Values on the shelf.
    **conditions
        Other fields of `Lab`.  ``supplies`` may be one rail or several, as numbers or with units;
        ``opamp`` may be the name of a class.

    Raises
    ------
    QuantityError
        If a rail is no voltage, or stock or tolerance are of another kind.
    UnknownNameError
        If there is no such condition, op-amp or kind of supply.
    """
    for name in conditions:
        if name not in Lab.__dataclass_fields__:
            raise UnknownNameError(
                "condition", name, allowed=", ".join(Lab.__dataclass_fields__), remedy="Use one of these."
            )
    if not isinstance(stock, Stock | None):
        raise QuantityError(
            "stock", str(stock), allowed="a Stock", remedy='Declare it: Stock.of("E12", "E6").'
        )
    cautions_for(supply=conditions.get("supply_kind", ""))  # refuses a kind that would bring no caution
    read = {name: _READERS[name](value) if name in _READERS else value for name, value in conditions.items()}
    return Lab(**read) if stock is None else Lab(stock=stock, **read)


_LOWEST_RAIL, _HIGHEST_RAIL = 0.9, 60.0


def _rails(given: Any) -> tuple[float, ...]:
    rails = (given,) if isinstance(given, str | int | float) else tuple(given)
    if not rails:
        raise QuantityError("supplies", "none", allowed="one rail or more", remedy='Such as ("5 V", "9 V").')
    return tuple(
        read_quantity(rail, "V", name="supplies", low=_LOWEST_RAIL, high=_HIGHEST_RAIL) for rail in rails
    )


def _tolerances(given: Any) -> Mapping[str, float]:
    if not isinstance(given, Mapping) or set(given) - {"resistors", "capacitors"}:
        raise QuantityError(
            "tolerance",
            str(given),
            allowed='{"resistors": 0.05, "capacitors": 0.2}',
            remedy="Give both kinds of parts by name.",
        )
    return {"resistors": 0.05, "capacitors": 0.2, **given}


_READERS: Mapping[str, Callable[[Any], Any]] = {
    "supplies": _rails,
    "opamp": lambda given: opamp(given) if isinstance(given, str) else given,
    "tolerance": _tolerances,
}
