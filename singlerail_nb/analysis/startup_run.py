"""What a start-up was like: voltages at any time, saturation, settling."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from ..errors import QuantityError
from ..quantities import QuantityLike, read_quantity, write_quantity
from ..quantities.tables import text_table
from .stage import Stage
from .startup_crossings import last_outside
from .startup_extremes import extremes
from .startup_inputs import Limits, Rail
from .startup_modes import Saturation, node_voltage
from .startup_segments import Outputs, Segment
from .state_equations import Floats
from .state_space import StateSpace

_NEAR_GROUND = 0.01
"""Distance in volts within which a node that rests at ground counts as settled."""


@dataclass(frozen=True)
class Startup:
    """The voltages of a stage from the first moment of its rail on.

    Attributes
    ----------
    stage : Stage
        The stage.
    rail : Rail
        Its supply over time.
    limits : Limits
        What the op-amp outputs and references keep from the rails.
    space : StateSpace
        Its state equations.
    segments : tuple of Segment
        The exact solution, piece by piece.
    """

    stage: Stage
    rail: Rail
    limits: Limits
    space: StateSpace = field(repr=False)
    segments: tuple[Segment, ...] = field(repr=False)

    @property
    def text(self) -> str:
        """Final voltages, settling times, peak at the output and saturated phases, as plain text."""
        return "\n".join([self._headline, text_table(*self._table), *self._remarks])

    def __repr__(self) -> str:
        return self.text

    @property
    def _headline(self) -> str:
        return f"Start-up of {self.stage.title} on {write_quantity(self.rail.points[-1][1], 'V')}"

    @property
    def _table(self) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
        """A row for the bias node, each op-amp output and the output."""
        outputs = [pins.output for pins in self.stage.circuit.opamps]
        nodes = [n for n in ("bias", *outputs, "output") if self.stage.circuit.has_node(n)]
        return ("node", "settles at", "within", "after"), [self._row(n) for n in dict.fromkeys(nodes)]

    def _row(self, node: str) -> tuple[str, ...]:
        final = self.final_voltage(node)
        at_ground = abs(final) < 1e-9 * self.rail.highest
        within = _NEAR_GROUND if at_ground else abs(final) / 100.0
        time = self.settling_time(node, volts=within)
        words = write_quantity(within, "V") if at_ground else "1 %"
        return node, write_quantity(0.0 if at_ground else final, "V"), words, write_quantity(time, "s")

    @property
    def _remarks(self) -> list[str]:
        """The peak at the output, and when op-amp outputs sat at a limit."""
        low, high = extremes(self.segments, self.node_outputs("output"))
        peak = max(low, high, key=lambda e: abs(e.volts))
        times = [
            f"{s.opamp} {s.side} from {write_quantity(s.start, 's', 3)} to {write_quantity(s.end, 's', 3)}"
            for s in self.saturated
        ]
        more = [f"and {len(times) - 3} more"] if len(times) > 3 else []
        words = "; ".join([*times[:3], *more]) or "no op-amp output"
        at = write_quantity(peak.time, "s", 3)
        return [f"peak at the output: {write_quantity(peak.volts, 'V')} at {at}", f"at a limit: {words}"]

    @cached_property
    def times(self) -> Floats:
        """Times in s that show everything that happens, from 0 until all has settled."""
        pieces = [segment.start + segment.grid for segment in self.segments]
        return np.unique(np.concatenate(pieces))

    def voltage(self, node: str, t: ArrayLike) -> Any:
        """Return the voltage of a node to ground, V.

        Parameters
        ----------
        node : str
            A node name.
        t : array_like
            Times in s, 0 or later, any shape; at a step the value just after it.

        Raises
        ------
        UnknownNameError
            If the node does not exist.
        QuantityError
            If a time is negative or not a number.
        """
        name = self.stage.circuit.node(node)
        return self._evaluated(lambda s: node_voltage(self.space, s.equations, name), t)

    def capacitor_voltage(self, name: str, t: ArrayLike) -> Any:
        """Return the voltage across a capacitor, its first node positive, V.

        Parameters
        ----------
        name : str
            Name of the capacitor.
        t : array_like
            Times in s, 0 or later, any shape.

        Raises
        ------
        UnknownNameError
            If there is no such part.
        QuantityError
            If the part is no capacitor, or a time is negative or not a number.
        """
        wanted = self.capacitor_output(name)
        return self._evaluated(lambda _: wanted, t)

    def capacitor_voltages(self, t: ArrayLike) -> dict[str, Any]:
        """Return the voltages across all capacitors at once, V.

        Parameters
        ----------
        t : array_like
            Times in s, 0 or later, any shape.

        Raises
        ------
        QuantityError
            If a time is negative or not a number.
        """
        number = len(self.space.capacitors)
        c, d = np.eye(number, len(self.space.states)), np.zeros((number, len(self.space.inputs)))
        every = Outputs(c, d, d)
        voltages = self._all_evaluated(lambda _: every, number, t)
        return dict(zip((part.name for part in self.space.capacitors), voltages, strict=True))

    def capacitor_output(self, name: str) -> Outputs:
        """Return the voltage across a capacitor as a function of states and inputs.

        Parameters
        ----------
        name : str
            Name of the capacitor.

        Raises
        ------
        UnknownNameError
            If there is no such part.
        QuantityError
            If the part is no capacitor.
        """
        if self.stage.circuit.part(name).kind != "capacitor":
            raise QuantityError(
                "capacitor", name, allowed="a capacitor of the stage", remedy="Ask for a node voltage."
            )
        c, d = np.zeros((1, len(self.space.states))), np.zeros((1, len(self.space.inputs)))
        c[0, self.space.states.index(name)] = 1.0
        return Outputs(c, d, d)

    def node_outputs(self, node: str) -> list[Outputs]:
        """Return a node voltage as a function of states and inputs, for each segment.

        Parameters
        ----------
        node : str
            A node name.

        Raises
        ------
        UnknownNameError
            If the node does not exist.
        """
        name = self.stage.circuit.node(node)
        return [node_voltage(self.space, segment.equations, name) for segment in self.segments]

    def _evaluated(self, wanted: Callable[[Segment], Outputs], t: ArrayLike) -> Any:
        (voltage,) = self._all_evaluated(wanted, 1, t)
        return voltage

    def _all_evaluated(self, wanted: Callable[[Segment], Outputs], number: int, t: ArrayLike) -> list[Any]:
        times = np.asarray(t, dtype=np.float64)
        if not (times >= 0).all():
            raise QuantityError("t", str(t), allowed="0 s or later", remedy="The rail starts at 0 s.")
        flat = times.ravel()
        starts = np.array([segment.start for segment in self.segments])
        which = np.searchsorted(starts, flat, side="right") - 1
        result = np.empty((len(flat), number))
        for i in np.unique(which):
            segment, at = self.segments[i], which == i
            result[at] = segment.outputs(flat[at] - segment.start, wanted(segment))[0]
        if times.ndim == 0:
            return [float(voltage) for voltage in result[0]]
        return [column.reshape(times.shape) for column in result.T]

    @cached_property
    def saturated(self) -> tuple[Saturation, ...]:
        """When op-amp outputs sat at a limit, in order of time."""
        found: list[Saturation] = []
        for i, opamp in enumerate(self.stage.circuit.opamps):
            open_at: dict[str, Saturation] = {}
            for segment in self.segments:
                state = segment.mode.outputs[i]
                before = open_at.pop(state, None)
                found += open_at.values()
                open_at.clear()
                if state != "loop" and segment.end > segment.start:
                    start = before.start if before else segment.start
                    open_at[state] = Saturation(opamp.name, state, start, segment.end)
            found += open_at.values()
        return tuple(sorted(found, key=lambda s: s.start))

    def final_voltage(self, node: str) -> float:
        """Return where a node settles, V.

        Parameters
        ----------
        node : str
            A node name.

        Raises
        ------
        UnknownNameError
            If the node does not exist.
        """
        last = self.segments[-1]
        return float(self.voltage(node, last.start + last.horizon))

    def settling_time(
        self, node: str, within: QuantityLike | None = None, *, volts: QuantityLike | None = None
    ) -> float:
        """Return the time after which a node stays near its final voltage, s from the rail's start.

        Parameters
        ----------
        node : str
            A node name.
        within : float or str, optional
            Fraction of the final voltage, such as 0.01 or "1 %"; 0.01 unless ``volts`` is given.
        volts : float or str, optional
            The same in volts, for a node that settles at 0 V.

        Raises
        ------
        UnknownNameError
            If the node does not exist.
        QuantityError
            If the distance is not positive, or a fraction of 0 V.
        """
        final = self.final_voltage(node)
        distance = self._distance(node, final, within, volts)
        for segment, output in zip(reversed(self.segments), reversed(self.node_outputs(node)), strict=True):
            crossing = last_outside(segment, output, final, distance)
            if crossing is not None:
                return segment.start + crossing
        return 0.0

    def _distance(
        self, node: str, final: float, within: QuantityLike | None, volts: QuantityLike | None
    ) -> float:
        if volts is not None:
            return read_quantity(volts, "V", name="volts", low=1e-9 * max(self.rail.highest, 1.0))
        fraction = 0.01 if within is None else _fraction(within)
        if abs(final) < 1e-9 * self.rail.highest:
            raise QuantityError(
                f"settling of {node}",
                f"a fraction of {final:.3g} V",
                allowed="a node that does not settle at 0 V",
                remedy="It settles at ground: give the distance in volts, such as volts=0.01.",
            )
        return abs(fraction * final)

    def settling_to_bits(self, node: str, bits: int | str, full_scale: QuantityLike) -> float:
        """Return the time after which a node stays within half a step of a converter, s.

        Parameters
        ----------
        node : str
            A node name.
        bits : int or str
            Resolution, 1 to 24, such as 12 or "12".
        full_scale : float or str
            Range of the converter, V.

        Raises
        ------
        UnknownNameError
            If the node does not exist.
        QuantityError
            If the resolution or the range makes no sense.
        """
        number = read_quantity(bits, "ratio", name="bits")
        if not (number.is_integer() and 1 <= number <= 24):
            raise QuantityError(
                "bits",
                bits,
                allowed="a whole number from 1 to 24",
                remedy="Give the converter's resolution, such as 12.",
            )
        span = read_quantity(full_scale, "V", name="full_scale", low=1e-3)
        return self.settling_time(node, volts=span / 2.0 ** (number + 1))


def _fraction(within: QuantityLike) -> float:
    """Read a share of the final voltage: 0.01, "0.01" or "1 %"."""
    unit = "%" if str(within).strip().endswith("%") else "ratio"
    fraction = read_quantity(within, unit, name="within")
    if not 0 < fraction < 1:
        raise QuantityError(
            "within", within, allowed="between 0 and 1", remedy='For one per cent, give 0.01 or "1 %".'
        )
    return fraction
