"""Which measurement to take next: the one that is expected to leave the fewest candidates.

All candidates are equally likely.  Two of them count as told apart only where no board within
tolerance can show the same reading for both, so what is promised holds for every board.  If fault i
is there, n_i candidates remain; the information is the mean of log2(N / n_i), in bits.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from .bench import Bench, Measurement
from .catalogue import Fault
from .readings import Reading, reading

_MOST_NAMED = 4


@dataclass(frozen=True)
class Group:
    """Candidates that a measurement does not tell apart.

    Attributes
    ----------
    readings : tuple of Reading
        What each of them would show, ascending.
    faults : tuple of Fault
        The candidates, in that order.
    """

    readings: tuple[Reading, ...]
    faults: tuple[Fault, ...]

    @property
    def text(self) -> str:
        """What is read and which faults would show it."""
        ends = dict.fromkeys((self.readings[0].text, self.readings[-1].text))
        names = [fault.key for fault in self.faults[:_MOST_NAMED]]
        more = len(self.faults) - len(names)
        return f"{' to '.join(ends)}: {', '.join(names)}" + (f" and {more} more" if more else "")


@dataclass(frozen=True)
class Choice:
    """A measurement and what it is worth.

    Attributes
    ----------
    measurement : Measurement
        What would be measured.
    candidates : int
        How many faults are possible before it.
    remaining : float
        How many are expected to remain after it.
    bits : float
        Information, from 0 to log2 of the candidates.
    groups : tuple of Group
        Candidates that stay together, by their reading.
    """

    measurement: Measurement
    candidates: int
    remaining: float
    bits: float
    groups: tuple[Group, ...]

    @property
    def worth(self) -> str:
        """Its worth in a few words."""
        left = "none" if self.bits == 0 else f"{self.candidates - self.remaining:.3g}"
        return f"{self.measurement} is expected to exclude {left} of {self.candidates} ({self.bits:.3g} bits)"

    @property
    def why(self) -> str:
        """Why: what it would show for which candidates, a line each."""
        if self.bits == 0:
            return f"{self.worth}: all of them show the same."
        return "\n  ".join([f"{self.worth}:", *(group.text for group in self.groups)])

    def __repr__(self) -> str:
        return self.why


def choice(bench: Bench, candidates: Sequence[Fault], what: Measurement) -> Choice:
    """Return what a measurement is worth.

    Parameters
    ----------
    bench : Bench
        The bench.
    candidates : sequence of Fault
        Faults that are still possible, one at least.
    what : Measurement
        The measurement.
    """
    readings = [reading(bench, fault, what) for fault in candidates]
    alike = [[j for j, other in enumerate(readings) if not own.differs(other)] for own in readings]
    number = len(candidates)
    left = [len(same) for same in alike]
    bits = sum(math.log2(number / n) for n in left) / number
    groups = sorted((_group(together, readings, candidates) for together in _joined(alike)), key=_height)
    return Choice(what, number, sum(left) / number, bits, tuple(groups))


def _group(together: list[int], readings: Sequence[Reading], candidates: Sequence[Fault]) -> Group:
    ordered = sorted(together, key=lambda i: (math.isnan(readings[i].value), readings[i].value))
    return Group(tuple(readings[i] for i in ordered), tuple(candidates[i] for i in ordered))


def _height(group: Group) -> tuple[bool, float]:
    value = group.readings[0].value
    return math.isnan(value), value


def _joined(alike: list[list[int]]) -> Iterator[list[int]]:
    """Yield the sets of candidates that are linked by readings that may be the same."""
    waiting = set(range(len(alike)))
    while waiting:
        found: set[int] = set()
        grown = {min(waiting)}
        while grown != found:
            found = grown
            grown = found | {j for i in found for j in alike[i]}
        waiting -= found
        yield sorted(found)


def ranked(
    bench: Bench, candidates: Sequence[Fault], measurements: Sequence[Measurement] | None = None
) -> tuple[Choice, ...]:
    """Return the measurements with the most informative first; of equal ones the easier first.

    Parameters
    ----------
    bench : Bench
        The bench.
    candidates : sequence of Fault
        Faults that are still possible, one at least.
    measurements : sequence of Measurement, optional
        What may be measured; everything unless given.
    """
    allowed = bench.measurements if measurements is None else measurements
    found = [choice(bench, candidates, what) for what in allowed]
    return tuple(sorted(found, key=lambda one: -round(one.bits, 9)))
