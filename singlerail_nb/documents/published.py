"""Published worked figures beside what the circuit says: each with its source, recomputed on the spot.

A figure states what was printed, as it was printed; the number is read from that text, and so is how exactly
it was meant.  Nothing here stores whether a figure is right: that follows when the circuit has been solved.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Literal, get_args

from ..circuit.circuit import closest
from ..errors import UnknownNameError
from ..quantities import read_quantity, write_quantity
from ..quantities.grammar import split_number, tidy
from ..quantities.tables import markdown_table, text_table, unbroken

Verdict = Literal["agrees", "last digit", "differs"]
LAST_DIGIT = 0.01
"""Relative deviation up to which a figure that does not agree was only rounded or cut short."""
_HEADER = ("source", "what", "printed", "circuit", "verdict", "why")


@dataclass(frozen=True)
class Source:
    """A publication.

    Attributes
    ----------
    short : str
        How a table calls it.
    full : str
        Author, title, number.
    read : str
        How its figures were obtained: read in the document, or via a companion to it.
    """

    short: str
    full: str
    read: str


@dataclass(frozen=True)
class PublishedFigure:
    """One printed figure.

    Attributes
    ----------
    key : str
        By which it is asked for.
    source : Source
        Where it was printed.
    place : str
        Section, table or example.
    what : str
        Which figure, in words.
    given : str
        What the source gives, as text.
    printed : str
        The figure as printed, with its unit.
    unit : str
        Unit as `read_quantity` knows it.
    circuit : callable
        Returns the figure in SI units, from a circuit with these values.
    why : str
        Where a difference comes from; empty if there is none.
    is_exact : bool
        True if the source means the figure exactly, such as a slope that it wants to reach.
    """

    key: str
    source: Source
    place: str
    what: str
    given: str
    printed: str
    unit: str
    circuit: Callable[[], float]
    why: str = ""
    is_exact: bool = False

    @property
    def value(self) -> float:
        """The printed figure in SI units."""
        return read_quantity(self.printed, self.unit, name=self.key)

    @property
    def half_digit(self) -> float:
        """Half a unit of the last printed digit, in SI units; 0 for a figure meant exactly."""
        if self.is_exact:
            return 0.0
        split = split_number(tidy(self.printed))
        digits = split[0] if split else "0"
        decimals = len(digits.partition(".")[2])
        return 0.5 * 10.0**-decimals * abs(self.value / float(digits))

    @cached_property
    def computed(self) -> float:
        """What the circuit says, in SI units."""
        return self.circuit()

    @property
    def deviation(self) -> float:
        """Printed over computed, minus one."""
        return self.value / self.computed - 1.0

    @property
    def verdict(self) -> Verdict:
        """Whether the circuit agrees within the printed digits."""
        if abs(self.value - self.computed) <= self.half_digit * (1 + 1e-6):
            return "agrees"
        return "last digit" if abs(self.deviation) <= LAST_DIGIT else "differs"

    @property
    def cells(self) -> tuple[str, ...]:
        """Its line of the table."""
        return (
            f"{self.source.short}, {self.place}",
            f"{self.what}; {self.given}",
            self.printed,
            write_quantity(self.computed, self.unit),
            self.verdict,
            self.why,
        )

    def __repr__(self) -> str:
        return (
            f"{self.cells[0]}: {self.what}, printed {self.printed}, circuit {self.cells[3]} ({self.verdict})"
        )


class PublishedTable(tuple[PublishedFigure, ...]):
    """Published figures, in one table.

    Parameters
    ----------
    figures : iterable of PublishedFigure
        Which.
    """

    __slots__ = ()

    def figure(self, key: str) -> PublishedFigure:
        """Return one figure.

        Parameters
        ----------
        key : str
            Which.

        Raises
        ------
        UnknownNameError
            If there is none of that name.
        """
        for one in self:
            if one.key == key:
                return one
        known = ", ".join(one.key for one in self)
        raise UnknownNameError("published figure", key, allowed=known, remedy="Use one of these.")

    def of(self, *keys: str) -> PublishedTable:
        """Return some figures, in this order.

        Parameters
        ----------
        *keys : str
            Which.

        Raises
        ------
        UnknownNameError
            If there is none of that name.
        """
        return PublishedTable(self.figure(key) for key in keys)

    def judged(self, *verdicts: Verdict) -> PublishedTable:
        """Return the figures of some verdicts, the largest deviation first.

        Parameters
        ----------
        *verdicts : str
            "agrees", "last digit", "differs".

        Raises
        ------
        UnknownNameError
            If there is no such verdict.
        """
        every = get_args(Verdict)
        for given in verdicts:
            if given not in every:
                raise UnknownNameError(
                    "verdict", given, allowed=", ".join(every), remedy=closest(str(given), every)
                )
        chosen = (one for one in self if one.verdict in verdicts)
        return PublishedTable(sorted(chosen, key=lambda one: -abs(math.log(abs(one.value / one.computed)))))

    @property
    def sources(self) -> tuple[Source, ...]:
        """The publications, each once."""
        return tuple(dict.fromkeys(one.source for one in self))

    @property
    def as_printed(self) -> str:
        """The figures without the answer of the circuits."""
        rows = ((one.key, f"{one.what}; {one.given}", one.printed) for one in self)
        return text_table(("key", "what", "printed"), rows)

    def __repr__(self) -> str:
        return text_table(_HEADER, self._rows())

    def _repr_markdown_(self) -> str:
        return markdown_table(_HEADER, (unbroken(row) for row in self._rows()))

    def _rows(self) -> Iterable[tuple[str, ...]]:
        return (one.cells for one in self)
