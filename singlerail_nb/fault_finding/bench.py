"""What can be measured on a board: the instruments of a bench, and the measurements in order of effort."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

from ..analysis.output_load import midband_frequency
from ..analysis.stage import Stage
from ..analysis.tolerance_inputs import Limits, tolerance_set
from ..circuit.circuit import closest
from ..errors import UnknownNameError
from ..measurement.instruments import INSTRUMENTS, Instrument
from ..quantities import write_quantity
from .board import AMPLIFIER, Board

RESISTORS, CAPACITORS = 0.01, 0.2
"""Usual tolerances of metal film and electrolytic parts (common practice, no published source)."""
RIPPLE, RIPPLE_FREQUENCY = 0.1, 100.0
"""Ripple put on the rail, Vpp and Hz."""
FULL = 0.5
"""Share of the largest sine at the output that the test signal of a sound stage takes."""
FLAT_BAND = 1e3
"""Test frequency of a stage without corners, Hz."""

KINDS = ("volts", "signal", "low end", "ripple", "wait")


@dataclass(frozen=True)
class Measurement:
    """Something that can be measured.

    Attributes
    ----------
    key : str
        Short name, such as ``"volts at amp_out"``.
    kind : str
        One of `KINDS`.
    node : str
        Where.
    how : str
        What to do, one sentence.
    """

    key: str
    kind: str
    node: str
    how: str

    def __str__(self) -> str:
        return self.key

    @property
    def unit(self) -> str:
        """Unit of the reading."""
        return {"volts": "V", "wait": "s"}.get(self.kind, "Vpp")


@dataclass(frozen=True)
class Bench:
    """A stage on a bench: instruments, test signals, and what the parts are allowed to be off.

    Attributes
    ----------
    stage : Stage
        The sound stage.
    meter, scope : Instrument
        What is at hand.
    amplitude : float
        Test signal of the source, Vpp.
    frequency, low_frequency : float
        Test frequencies in mid-band and at the low-end cut-off, Hz; the second is 0 if there is none.
    tolerance : tuple of (str, (float, float))
        Lowest and highest value of each part over its nominal one.
    ripple, ripple_frequency : float
        What is put on the rail to see what comes through, Vpp and Hz.
    """

    stage: Stage
    meter: Instrument
    scope: Instrument
    amplitude: float
    frequency: float
    low_frequency: float
    tolerance: tuple[tuple[str, Limits], ...] = field(repr=False)
    ripple: float = RIPPLE
    ripple_frequency: float = RIPPLE_FREQUENCY

    @classmethod
    def of(cls, stage: Stage, *, resistors: float = RESISTORS, capacitors: float = CAPACITORS) -> Bench:
        """Return the usual bench for a stage, with a test signal that leaves it room.

        Parameters
        ----------
        stage : Stage
            The sound stage.
        resistors, capacitors : float
            Their tolerances, such as 0.01.

        Raises
        ------
        QuantityError
            If a tolerance makes no sense.
        """
        whole = stage.transfer("signal", "output")
        found = midband_frequency(stage)
        frequency = found if 0.0 < found < math.inf else FLAT_BAND
        gain = max(abs(stage.transfer("signal", node)(frequency)) for node in (_output(stage), "output"))
        return cls(
            stage, INSTRUMENTS["meter"], INSTRUMENTS["scope_10x"],
            _step_below(FULL * _room(stage) / max(gain, 1e-3)), frequency, whole.low_cutoff(),
            tolerances(stage, resistors, capacitors),
        )  # fmt: skip

    @property
    def measurements(self) -> tuple[Measurement, ...]:
        """Everything that can be measured, what is easy first."""
        return tuple(self._measurements())

    def measurement(self, key: str) -> Measurement:
        """Return a measurement by its short name.

        Parameters
        ----------
        key : str
            Such as ``"volts at amp_out"``.

        Raises
        ------
        UnknownNameError
            If it cannot be measured here.
        """
        known = {found.key: found for found in self.measurements}
        if key not in known:
            raise UnknownNameError(
                "measurement",
                key,
                allowed="what this bench can measure",
                remedy=closest(key, known),
            )
        return known[key]

    def _measurements(self) -> Iterator[Measurement]:
        circuit = self.stage.circuit
        driven = {s.name for s in circuit.sources} - {"supply"}
        for node in circuit.nodes:
            if node not in driven:
                yield Measurement(f"volts at {node}", "volts", node, f"DC volts at {node}, no signal.")
        sine = f"{write_quantity(self.amplitude, 'Vpp')} from the source at"
        middle, low = (write_quantity(f, "Hz", 3) for f in (self.frequency, self.low_frequency))
        for node in self._watched():
            how = f"Scope at {node}, {sine} {middle}."
            yield Measurement(f"signal at {node}", "signal", node, how)
        if self.low_frequency > 0.0:
            how = f"Scope at output, {sine} {low}, where a sound stage is 3 dB down."
            yield Measurement("low end at output", "low end", "output", how)
        line = write_quantity(self.ripple_frequency, "Hz")
        ripple = f"{write_quantity(self.ripple, 'Vpp')} of {line} on the rail"
        for node in ("bias", "output"):
            if circuit.has_node(node):
                yield Measurement(f"ripple at {node}", "ripple", node, f"Scope at {node}, {ripple}.")
        how = "Scope at the op-amp output from the moment the rail comes on, until it stays near its end."
        yield Measurement("wait at amp_out", "wait", _output(self.stage), how)

    def _watched(self) -> tuple[str, ...]:
        """Return the nodes that a scope is put to, each once, along the signal path."""
        circuit = self.stage.circuit
        names = ("source", circuit.opamp(AMPLIFIER).plus, "bias", _output(self.stage), "output")
        present = {circuit.node(name): name for name in names if circuit.has_node(name)}
        return tuple(name for name in names if name in present.values())


def tolerances(stage: Stage, resistors: float, capacitors: float) -> tuple[tuple[str, Limits], ...]:
    """Return the lowest and highest value of each part over its nominal one.

    Parameters
    ----------
    stage : Stage
        The stage.
    resistors, capacitors : float
        Their tolerances, such as 0.01.

    Raises
    ------
    QuantityError
        If a tolerance makes no sense.
    """
    box = tolerance_set(stage, {"resistors": resistors, "capacitors": capacitors}).parts
    return tuple((name, part.factors) for name, part in box.items())


def _output(stage: Stage) -> str:
    return stage.circuit.opamp(AMPLIFIER).output


def _room(stage: Stage) -> float:
    """Return the largest sine about the resting output, Vpp; at least a tenth of the rail."""
    board = Board.of(stage)
    low, high = board.output_limits()
    rest = float(board.rest().voltage(_output(stage))[0])
    room = 2.0 * min(rest - low, high - rest)
    return float(room) if room > 0.1 * stage.supply else 0.1 * stage.supply


def _step_below(most: float) -> float:
    """Return the largest 1, 2, 5 step up to a positive value."""
    decade = 10.0 ** math.floor(math.log10(most))
    return max(float(f"{step * decade:.1g}") for step in (1, 2, 5) if step * decade <= most * (1 + 1e-9))
