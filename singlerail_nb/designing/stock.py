"""Which values can be bought: E series over decades, or a list from a CSV file."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from os import PathLike
from pathlib import Path

from ..errors import QuantityError
from ..files import MEGABYTE, read_text
from ..quantities import QuantityLike, read_part
from .preferred_values import SERIES, values_between

_RESISTORS = ("10R", "10M")
_CAPACITORS = ("100p", "100u")
_COLUMNS = ("kind", "value")
LARGEST_FILE = MEGABYTE
"""Bytes; the whole E192 series over ten decades has some 30,000."""


@dataclass(frozen=True)
class Stock:
    """The values on the shelf.

    Attributes
    ----------
    resistors, capacitors : tuple of float
        Ascending, ohm and farad.
    parts : mapping of str to tuple of float
        Parts that have a shelf of their own, such as film capacitors for ``c_in``.
    title : str
        What it is, in words.

    Raises
    ------
    QuantityError
        If a shelf is empty.
    """

    resistors: tuple[float, ...]
    capacitors: tuple[float, ...]
    parts: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    title: str = "stock"

    def __post_init__(self) -> None:
        shelves = {"resistors": self.resistors, "capacitors": self.capacitors, **self.parts}
        for name, values in shelves.items():
            if not values:
                raise QuantityError(
                    f"stock of {name}",
                    "empty",
                    allowed="at least one value",
                    remedy='Declare a series, such as Stock.of("E24", "E12"), or add lines to the list.',
                )

    @classmethod
    def of(
        cls,
        resistors: str = "E24",
        capacitors: str = "E12",
        *,
        resistor_range: tuple[QuantityLike, QuantityLike] = _RESISTORS,
        capacitor_range: tuple[QuantityLike, QuantityLike] = _CAPACITORS,
        parts: Mapping[str, tuple[str, QuantityLike, QuantityLike]] | None = None,
    ) -> Stock:
        """Return a stock of E series.

        Parameters
        ----------
        resistors, capacitors : str
            Names of series.
        resistor_range, capacitor_range : (float or str, float or str)
            Lowest and highest value.
        parts : mapping of str to (str, float or str, float or str), optional
            Series, lowest and highest value of parts with a shelf of their own.

        Raises
        ------
        QuantityError
            If a range cannot be read, or no value lies in it.
        UnknownNameError
            If a series does not exist.
        """
        own = {name: _shelf(name, *given) for name, given in (parts or {}).items()}
        return cls(
            _shelf("r_", resistors, *resistor_range),
            _shelf("c_", capacitors, *capacitor_range),
            own,
            f"{resistors} resistors, {capacitors} capacitors",
        )

    @classmethod
    def from_csv(cls, path: str | PathLike[str]) -> Stock:
        """Return the stock listed in a CSV file with the columns ``kind`` and ``value``.

        Parameters
        ----------
        path : path
            The file, UTF-8.  ``kind`` is ``resistor``, ``capacitor`` or the name of a part;
            ``value`` a text such as ``4k7``.  Other columns are ignored.

        Raises
        ------
        QuantityError
            If the file cannot be read, a column is missing, a value makes no sense, or a shelf stays empty.
        """
        lines = _lines(read_text(path, "stock list", largest=LARGEST_FILE), Path(path).name)
        shelves: dict[str, set[float]] = {"resistor": set(), "capacitor": set()}
        for number, line in enumerate(lines, 2):
            kind, value = (_cell(line, column, number) for column in _COLUMNS)
            name = {"resistor": "r_", "capacitor": "c_"}.get(kind, kind)
            try:
                shelves.setdefault(kind, set()).add(read_part(name, value))
            except ValueError as error:
                raise QuantityError(
                    f"line {number} of {Path(path).name}",
                    value,
                    allowed='the kind "resistor", "capacitor" or a part such as c_in, and its value',
                    remedy=str(error),
                ) from None
        own = {name: tuple(sorted(v)) for name, v in shelves.items() if name not in ("resistor", "capacitor")}
        resistors, capacitors = (tuple(sorted(shelves[kind])) for kind in ("resistor", "capacitor"))
        return cls(resistors, capacitors, own, Path(path).name)

    @classmethod
    def read(cls, given: Stock | str | PathLike[str] | None) -> Stock:
        """Return a stock as people give it.

        Parameters
        ----------
        given : Stock, path or None
            A path is that of a CSV file, as for `from_csv`; None is the stock of `of`.

        Raises
        ------
        QuantityError
            If it is none of these, or the file cannot be used.
        """
        if given is None:
            return cls.of()
        if isinstance(given, Stock):
            return given
        if isinstance(given, (str, PathLike)) and str(given).upper() not in SERIES:
            return cls.from_csv(given)
        raise QuantityError(
            "stock",
            given if isinstance(given, str) else type(given).__name__,
            allowed="a Stock, or the path of a CSV file",
            remedy='Declare series of resistors and capacitors, such as Stock.of("E24", "E12").',
        )

    def values(self, part: str, low: float = 0.0, high: float = float("inf")) -> tuple[float, ...]:
        """Return the values for a part, ascending.

        Parameters
        ----------
        part : str
            Its name.
        low, high : float
            Only values in this range, the ends included.
        """
        shelf = self.parts.get(part, self.resistors if part.startswith("r_") else self.capacitors)
        return tuple(v for v in shelf if low * (1 - _SAME) <= v <= high * (1 + _SAME))


_SAME = 1e-9


def _lines(text: str, name: str) -> list[dict[str, str | None]]:
    try:
        return list(csv.DictReader(io.StringIO(text, newline="")))
    except csv.Error as problem:
        raise QuantityError(
            f"stock list {name}",
            f"{problem}",
            allowed="lines of cells parted by commas",
            remedy="Mend the file.",
        ) from None


def _shelf(name: str, series: str, low: QuantityLike, high: QuantityLike) -> tuple[float, ...]:
    return values_between(read_part(name, low, zero=False), read_part(name, high, zero=False), series)


def _cell(line: Mapping[str, str | None], column: str, number: int) -> str:
    text = (line.get(column) or "").strip()
    if not text:
        raise QuantityError(
            f"line {number} of the stock",
            _listed(line),
            allowed="columns kind and value, both filled",
            remedy="Write a line such as: resistor,4k7",
        )
    return text


def _listed(line: Mapping[str, str | None]) -> str:
    cells: Iterable[str] = (f"{name}={value}" for name, value in line.items())
    return ", ".join(cells) or "nothing"
