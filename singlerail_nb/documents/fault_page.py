"""Fault finding: symptoms of a failed part, computed from the circuit with that part failed."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from ..analysis.transfer import Transfer
from ..errors import SingleRailError
from ..quantities import write_quantity
from .task import Task, broken

_TEST_FREQUENCY = 1e3
_TELLING = 0.15
"""Two faults are told apart by a reading that differs by this share."""


@dataclass(frozen=True)
class Fault:
    """A failed part and what the bench then shows.

    Attributes
    ----------
    part : str
        Name of the part.
    how : "open" or "short"
        What happened to it.
    readings : tuple of float
        Resting bias and op-amp output, V; output at 1 kHz and ripple at the output, Vpp.
    """

    part: str
    how: str
    readings: tuple[float, ...]

    def differs(self, other: Fault) -> bool:
        """Return whether some reading tells two faults apart.

        Parameters
        ----------
        other : Fault
            The other one.
        """
        pairs = zip(self.readings, other.readings, strict=True)
        return any(abs(a - b) > _TELLING * max(abs(a), abs(b)) + _FLOOR for a, b in pairs)

    @property
    def cells(self) -> tuple[str, ...]:
        """The readings as text."""
        units = ("V", "V", "Vpp", "Vpp")
        pairs = zip(self.readings, units, strict=True)
        return tuple("none seen" if u == "Vpp" and v < _FLOOR else write_quantity(v, u, 3) for v, u in pairs)


_FLOOR = 1e-3
"""What an oscilloscope still shows, V."""


def faults(task: Task, most: int = 3) -> tuple[Fault, ...]:
    """Return failed parts whose symptoms differ from the sound stage and from each other.

    Parameters
    ----------
    task : Task
        The sound circuit.
    most : int
        How many.
    """
    sound = Fault("", "", _readings(task, task.stage.transfer))
    found: list[Fault] = []
    for part, how in _candidates(task):
        fault = _fault(task, part, how)
        if fault is not None and all(fault.differs(other) for other in (sound, *found)):
            found.append(fault)
        if len(found) == most:
            break
    return tuple(found)


def sound_readings(task: Task) -> Fault:
    """Return the readings of the sound circuit.

    Parameters
    ----------
    task : Task
        The circuit.
    """
    return Fault("", "", _readings(task, task.stage.transfer))


_ORDER = (
    ("c_bias", "open"), ("r_bottom", "open"), ("c_g", "short"), ("c_in", "open"), ("r_g", "open"),
    ("r_in", "open"), ("c_out", "open"), ("r_top", "open"), ("c_in", "short"), ("r_f", "open"),
)  # fmt: skip


def _candidates(task: Task) -> Iterable[tuple[str, str]]:
    """Yield failures, starting elsewhere for every circuit so that neighbours have other ones."""
    present = [(part, how) for part, how in _ORDER if task.has(part)]
    start = round(sum(task.stage.values.values())) % len(present)
    yield from present[start:]
    yield from present[:start]


def _fault(task: Task, part: str, how: str) -> Fault | None:
    try:
        network = broken(task.stage, part, how)
        return Fault(part, how, _readings(task, network.transfer))
    except SingleRailError:  # a node is left floating: no reading can be promised
        return None


def _readings(task: Task, transfer: Callable[[str, str], Transfer]) -> tuple[float, ...]:
    supply, lab = task.stage.supply, task.lab
    low, high = task.output_range()
    bias = float(transfer("supply", "bias")(0.0).real) * supply
    free = float(transfer("supply", "amp_out")(0.0).real) * supply
    rest = min(max(free, low), high)
    room = 2.0 * min(rest - low, high - rest)
    output = min(float(abs(transfer("signal", "output")(_TEST_FREQUENCY))) * task.amplitude, room)
    ripple = float(abs(transfer("supply", "output")(lab.ripple_frequency))) * lab.ripple if room > 0 else 0.0
    return bias, rest, output, ripple
