"""One capacitor on the desk: its figures, what to mind about it, and its cautions."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ..circuit.elements import Part
from ..quantities import write_quantity
from .capacitor_classes import CapacitorClass
from .capacitor_volts import PhaseVoltage
from .tolerance_inputs import PartTolerance

REVERSE_LIMIT = 1.0
"""Reverse voltage from which an electrolytic is damaged, V (1 to 1.5 V, secondary sources)."""

_SETS_THE_CUTOFF = 0.2
_HIGH_IMPEDANCE = 10e3
_FELT_SHIFT = 0.01
_STORED_ENERGY = 0.1


@dataclass(frozen=True)
class CapacitorRow:
    """One capacitor on the desk.

    Attributes
    ----------
    part : Part
        The capacitor.
    value : float
        Marked value, F.
    kind : CapacitorClass
        Its type.
    phases : tuple of PhaseVoltage
        Volts and sign in each phase, first node to second.
    rated : float
        Rated voltage, V.
    effective : (float, float)
        Smallest and largest capacitance with every cause at its end, while running, F.
    leakage : float
        Largest usual leakage while running, A.
    resistance : float
        What it sees at DC, ohm.
    shift : float
        How far that leakage moves the op-amp output, V.
    spread : PartTolerance
        The causes, for the tolerance analyses.
    cutoff_share : float
        Relative change of the low-end cut-off per relative change of this capacitor.
    """

    part: Part
    value: float
    kind: CapacitorClass
    phases: tuple[PhaseVoltage, ...]
    rated: float
    effective: tuple[float, float]
    leakage: float
    resistance: float
    shift: float
    spread: PartTolerance
    cutoff_share: float

    @property
    def name(self) -> str:
        """Name of the part."""
        return self.part.name

    @property
    def worst(self) -> PhaseVoltage:
        """The phase with the largest voltage, faults included."""
        return max(self.phases, key=lambda phase: abs(phase.largest))

    @property
    def running(self) -> float:
        """DC voltage while running, first node to second, V; 0 if it drifts."""
        return next((phase.largest for phase in self.phases if phase.phase == "running"), 0.0)

    @property
    def stress(self) -> float:
        """Largest voltage over rated voltage."""
        return abs(self.worst.largest) / self.rated

    @property
    def plus_node(self) -> str:
        """The node at which a polarised part has its + sign."""
        return self.part.nodes[0] if self.running >= 0 else self.part.nodes[1]

    @property
    def reverse(self) -> PhaseVoltage | None:
        """The phase with the largest voltage against the sign of running; None if there is none."""
        sign = 1.0 if self.running >= 0 else -1.0
        against = {p: min(sign * p.lowest, sign * p.highest) for p in self.phases}
        worst = min(against, key=against.__getitem__)
        return worst if against[worst] < -_ROUNDING * self.rated else None

    @property
    def reverse_volts(self) -> float:
        """The largest reverse voltage, V, positive."""
        phase = self.reverse
        if phase is None:
            return 0.0
        return abs(phase.lowest if self.running >= 0 else phase.highest)

    @property
    def advice(self) -> tuple[str, ...]:
        """What to mind, each with its reason."""
        return tuple(_advice(self))

    @property
    def cautions(self) -> tuple[str, ...]:
        """Safety cautions that come with this part."""
        return tuple(_cautions(self))

    @property
    def cells(self) -> tuple[str, ...]:
        """Name, value, type, running and worst voltage, + node, effective range, leakage, shift, rating."""
        low, high = (write_quantity(c, "F", 3) for c in self.effective)
        return (
            self.name,
            write_quantity(self.value, "F"),
            self.kind.title,
            write_quantity(self.running, "V", 3),
            f"{write_quantity(self.worst.largest, 'V', 3)} ({self.worst.phase})",
            f"+ at {self.plus_node}" if self.kind.polarised else "either way",
            f"{low} to {high}",
            write_quantity(self.leakage, "A", 3),
            write_quantity(self.shift, "V", 3),
            f"{write_quantity(self.rated, 'V', 3)}, {write_quantity(self.stress, '%', 2)} used",
        )


_ROUNDING = 1e-6


def _advice(row: CapacitorRow) -> Iterator[str]:
    kind, value = row.kind, write_quantity(row.value, "F")
    if not kind.smallest <= row.value <= kind.largest:
        low, high = write_quantity(kind.smallest, "F"), write_quantity(kind.largest, "F")
        yield f"{kind.title} comes from {low} to {high}: {value} is unusual."
    if row.stress > kind.stress * (1.0 + 1e-9):
        yield (
            f"{write_quantity(row.worst.largest, 'V', 3)} ({row.worst.phase}) on a {row.rated:g} V part: "
            f"more than {kind.stress:.0%} of the rated voltage (common practice, no published source)."
        )
    if kind.polarised and row.reverse is not None:
        danger = "damages it" if row.reverse_volts >= REVERSE_LIMIT else "is short of the damaging 1 V"
        yield (
            f"{write_quantity(row.reverse_volts, 'V', 3)} the wrong way round ({row.reverse.phase}): that "
            f"{danger}; take a part without polarity if it lasts."
        )
    if abs(row.cutoff_share) >= _SETS_THE_CUTOFF and kind.bias_loss[0] < 0:
        yield (
            f"It sets the cut-off ({row.cutoff_share:+.2f} % per %) and loses up to "
            f"{1.0 - row.effective[0] / row.value:.0%}: take film or C0G here."
        )
    if kind.microphonic == "yes" and row.resistance >= _HIGH_IMPEDANCE:
        yield f"Microphonic, on a node of {write_quantity(row.resistance, 'ohm', 3)}: knocks become signal."
    if abs(row.shift) >= _FELT_SHIFT:
        yield (
            f"Leakage of {write_quantity(row.leakage, 'A', 3)} moves the resting output by "
            f"{write_quantity(row.shift, 'V', 3)}; a part from long storage leaks more."
        )


def _cautions(row: CapacitorRow) -> Iterator[str]:
    if row.kind.polarised:
        yield f"{row.name}: observe polarity, + at {row.plus_node}; reversed, it can vent or burst."
    if 0.5 * row.value * row.worst.largest**2 >= _STORED_ENERGY:
        energy = write_quantity(0.5 * row.value * row.worst.largest**2, "J", 2)
        yield f"{row.name}: stores {energy}; discharge it through a resistor before touching it."
