"""The rails of the demonstration scenario, read from a data file of the package."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from ..errors import UnknownNameError
from ..quantities import read_quantity
from .circuit import closest

_SHIPPED = Path(__file__).parents[1] / "data" / "supplies.toml"


@dataclass(frozen=True)
class Supply:
    """A rail.

    Attributes
    ----------
    name, title : str
        Short name and heading.
    kind : str
        "battery", "usb", "vehicle", "aircraft" or "mains": decides which cautions apply.
    lowest, nominal, highest : float
        V.
    ripple : mapping of float to float
        Frequency (Hz) -> Vpp.  Invented.
    rise_time : float
        s.  Invented.
    capacity : float
        Of a battery, Ah; 0 otherwise.  Invented.
    range_source : str
        Where the range comes from.
    """

    name: str
    title: str
    kind: str
    lowest: float
    nominal: float
    highest: float
    ripple: Mapping[float, float]
    rise_time: float
    capacity: float
    range_source: str


def supplies() -> tuple[str, ...]:
    """Return the names of the rails of the beehive monitor."""
    return tuple(_shipped())


def supply_rail(name: str) -> Supply:
    """Return a rail of the beehive monitor.

    Parameters
    ----------
    name : str
        A name from `supplies`.

    Raises
    ------
    UnknownNameError
        If there is no such rail.
    """
    known = _shipped()
    if name not in known:
        raise UnknownNameError("supply", name, allowed="a rail of the scenario", remedy=closest(name, known))
    return known[name]


@cache
def _shipped() -> Mapping[str, Supply]:
    tables = tomllib.loads(_SHIPPED.read_text(encoding="utf-8"))
    return {name: _read(name, table) for name, table in tables.items()}


def _read(name: str, table: Mapping[str, Any]) -> Supply:
    volts = {
        key: read_quantity(table[key], "V", name=key, low=0.0) for key in ("lowest", "nominal", "highest")
    }
    ripple = {
        read_quantity(line["at"], "Hz", name="ripple"): read_quantity(line["volts"], "Vpp", name="ripple")
        for line in table["ripple"]
    }
    return Supply(
        name,
        table["title"],
        table["kind"],
        **volts,
        ripple=ripple,
        rise_time=read_quantity(table["rise_time"], "s", name="rise_time", low=0.0),
        capacity=float(table.get("capacity", 0.0)),
        range_source=table["range_source"],
    )
