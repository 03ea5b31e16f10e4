"""Fault finding on a student's circuit: boards with one failed part, as the bench of the lab shows them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ..errors import CircuitError
from ..fault_finding.bench import Bench, tolerances
from ..fault_finding.catalogue import Fault, faults
from ..fault_finding.readings import Reading, reading
from .task import Task

_TEST_FREQUENCY = 1e3
AS_SOUND = "as sound"
"""For a reading that a sound board may show too."""
_COLUMNS = ("volts at bias", "volts at amp_out", "signal at output", "ripple at output")


@dataclass(frozen=True)
class FailedBoard:
    """A board and what the bench shows of it.

    Attributes
    ----------
    part : str
        Name of the failed part; empty for the sound board.
    how : "open", "short" or ""
        What happened to it.
    readings : tuple of Reading
        Resting bias and op-amp output, output at 1 kHz, ripple at the output.
    """

    part: str
    how: str
    readings: tuple[Reading, ...]

    def differs(self, other: FailedBoard) -> bool:
        """Return whether some reading tells two boards apart, whatever their parts in tolerance are.

        Parameters
        ----------
        other : FailedBoard
            The other one.
        """
        return any(one.differs(two) for one, two in zip(self.readings, other.readings, strict=True))

    @property
    def cells(self) -> tuple[str, ...]:
        """The readings as text."""
        return tuple(found.text for found in self.readings)

    def cells_beside(self, sound: FailedBoard) -> tuple[str, ...]:
        """Return the readings as text, as numbers only where they tell the board from a sound one.

        A reading that the fault leaves alone would be the answer to a prediction.

        Parameters
        ----------
        sound : FailedBoard
            The sound board.
        """
        pairs = zip(self.readings, sound.readings, strict=True)
        return tuple(one.text if one.differs(two) else AS_SOUND for one, two in pairs)


_ORDER = (
    "c_bias open", "r_bottom open", "c_g short", "c_in open", "r_g open", "r_in open", "c_out open",
    "r_top open", "c_in short", "r_f open",
)  # fmt: skip


def failed_boards(task: Task, most: int = 3) -> tuple[FailedBoard, ...]:
    """Return boards with a failed part whose symptoms differ from the sound board and from each other.

    Parameters
    ----------
    task : Task
        The sound circuit.
    most : int
        How many.
    """
    bench, sound = bench_of(task), sound_board(task)
    found: list[FailedBoard] = []
    for fault in _candidates(task):
        board = failed_board(bench, fault)
        if board is not None and all(board.differs(other) for other in (sound, *found)):
            found.append(board)
        if len(found) == most:
            break
    return tuple(found)


def sound_board(task: Task) -> FailedBoard:
    """Return what the bench shows of the sound circuit.

    Parameters
    ----------
    task : Task
        The circuit.
    """
    bench = bench_of(task)
    return FailedBoard("", "", tuple(reading(bench, None, bench.measurement(key)) for key in _COLUMNS))


def failed_board(bench: Bench, fault: Fault) -> FailedBoard | None:
    """Return what the bench shows of a fault; None where it cannot be promised.

    Parameters
    ----------
    bench : Bench
        The bench of the lab.
    fault : Fault
        What is wrong.
    """
    try:
        readings = tuple(reading(bench, fault, bench.measurement(key)) for key in _COLUMNS)
    except CircuitError:  # the rail or an output is shorted
        return None
    promised = not any(found.note for found in readings)
    return FailedBoard(fault.part, fault.kind, readings) if promised else None


def bench_of(task: Task) -> Bench:
    """Return the bench of the lab with a student's circuit on it.

    Parameters
    ----------
    task : Task
        The circuit.
    """
    lab = task.lab
    allowed = tolerances(task.stage, lab.tolerance["resistors"], lab.tolerance["capacitors"])
    return Bench(
        task.stage, lab.meter, lab.scope, task.amplitude, _TEST_FREQUENCY, 0.0, allowed,
        lab.ripple, lab.ripple_frequency,
    )  # fmt: skip


def _candidates(task: Task) -> Iterator[Fault]:
    """Yield failures, starting elsewhere for every circuit so that neighbours have other ones."""
    known = {fault.key: fault for fault in faults(task.stage, "open", "short")}
    present = [known[key] for key in _ORDER if key in known]
    start = round(sum(task.stage.values.values())) % len(present)
    yield from present[start:]
    yield from present[:start]
