"""The symptoms of a fault: every measurement on the sound board and on the broken one, side by side."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from ..analysis.network import require_stage
from ..analysis.stage import Stage
from ..cautions import caution
from ..circuit.circuit import closest
from ..errors import UnknownNameError
from ..quantities.tables import markdown_table, text_table
from .bench import Bench, Measurement
from .catalogue import Fault, fault_named
from .readings import Reading, reading

_ELECTROLYTIC = ("reversed", "leaking")


class Symptom(NamedTuple):
    """One measurement on both boards.

    Attributes
    ----------
    measurement : Measurement
        What is measured.
    sound, broken : Reading
        What the sound and the broken board show.
    """

    measurement: Measurement
    sound: Reading
    broken: Reading

    @property
    def is_seen(self) -> bool:
        """Whether no sound board within tolerance can show what the broken one shows."""
        return self.sound.differs(self.broken)

    @property
    def distance(self) -> float:
        """How far the two are apart, in widths of their bands together."""
        if math.isnan(self.sound.value) or math.isnan(self.broken.value):
            return 0.0
        width = (self.sound.high - self.sound.low) + (self.broken.high - self.broken.low)
        return abs(self.sound.value - self.broken.value) / width


@dataclass(frozen=True)
class Symptoms:
    """Everything that the bench shows of a fault.

    Attributes
    ----------
    fault : Fault
        What is wrong.
    rows : tuple of Symptom
        One per measurement, what is easy first.
    """

    fault: Fault
    rows: tuple[Symptom, ...]

    @property
    def seen(self) -> tuple[Symptom, ...]:
        """The measurements that show that something is wrong."""
        return tuple(row for row in self.rows if row.is_seen)

    @property
    def undetected(self) -> str:
        """Why no measurement shows it; empty if one does."""
        if self.seen:
            return ""
        if self.fault.kind == "reversed" and self.fault.assumption:
            return f"Not seen. {self.fault.assumption}"
        near = max(self.rows, key=lambda row: row.distance)
        return (
            "Not seen: every reading stays within what parts in tolerance and the instruments allow. "
            f"Nearest is {near.measurement}: boards like this show {near.broken.band_text}, "
            f"sound ones {near.sound.band_text}."
        )

    @property
    def caution(self) -> str:
        """What to mind with a board like this; empty if nothing special."""
        if self.fault.kind not in _ELECTROLYTIC:
            return ""
        found = caution("electrolytic_polarity")
        return f"{found.title}. {found.text}"

    def row(self, key: str) -> Symptom:
        """Return the row of a measurement.

        Parameters
        ----------
        key : str
            Such as ``"volts at amp_out"``.

        Raises
        ------
        UnknownNameError
            If it was not measured.
        """
        rows = {row.measurement.key: row for row in self.rows}
        if key not in rows:
            raise UnknownNameError(
                "measurement", key, allowed="one that was taken", remedy=closest(key, rows)
            )
        return rows[key]

    @property
    def _words(self) -> list[str]:
        notes = dict.fromkeys(row.broken.note for row in self.seen if row.broken.note)
        assumed = [f"Assumed: {self.fault.assumption}"] if self.fault.assumption and self.seen else []
        found = [f"{self.fault.what} {self.fault.why}", *assumed]
        found += [f"{note[0].upper()}{note[1:]}." for note in notes]
        return found + ([self.undetected] if self.undetected else [])

    _HEADER = ("measurement", "sound board", "sound boards show", "this board")

    def _cells(self) -> Iterable[tuple[str, ...]]:
        for row in self.seen:
            yield row.measurement.key, row.sound.text, row.sound.band_text, row.broken.text

    def __repr__(self) -> str:
        warn = [f"Caution. {self.caution}"] if self.caution else []
        table = [text_table(self._HEADER, self._cells())] if self.seen else []
        return "\n".join([*self._words, *table, *warn])

    def _repr_markdown_(self) -> str:
        warn = [f"> ⚠ **Caution.** {self.caution}"] if self.caution else []
        table = [markdown_table(self._HEADER, self._cells())] if self.seen else []
        return "\n\n".join([*self._words, *table, *warn])


def symptoms(
    stage: Stage,
    fault: Fault | str,
    *,
    bench: Bench | None = None,
    measurements: Sequence[Measurement] | None = None,
) -> Symptoms:
    """Return what the bench shows of a fault, beside what it shows of the sound stage.

    Parameters
    ----------
    stage : Stage
        The sound stage.
    fault : Fault or str
        A fault of `faults`, or its short name, such as ``"c_in open"``.
    bench : Bench, optional
        Instruments, test signals and tolerances; the usual ones unless given.
    measurements : sequence of Measurement, optional
        What is measured; everything that the bench offers unless given.

    Raises
    ------
    QuantityError
        If ``stage`` is no stage.
    UnknownNameError
        If the stage cannot have that fault.
    CircuitError
        If the fault joins the rail or an output to another source: nothing limits the current.
    """
    require_stage(stage)
    wrong = fault_named(stage, fault) if isinstance(fault, str) else fault
    known = Bench.of(stage) if bench is None else bench
    taken = known.measurements if measurements is None else measurements
    rows = (Symptom(m, reading(known, None, m), reading(known, wrong, m)) for m in taken)
    return Symptoms(wrong, tuple(rows))
