"""The circuit one student faces, with every figure it has.

Each figure is read from the circuit.  A mistake is the same figure of a changed circuit, so no
wrong answer is ever typed in.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import sympy

from ..analysis.network import Solvable
from ..analysis.output_load import midband_frequency, output_load
from ..analysis.rail_window import RailWindow
from ..analysis.stage import Stage
from ..analysis.startup import startup
from ..analysis.startup_run import Startup
from ..analysis.supply_rejection import SourceState, supply_rejection
from ..analysis.transfer import Transfer
from ..circuit.symbols import part_symbol
from ..measurement.instruments import PROBE, Instrument, loaded
from .expressions import number
from .lab import Lab

FIRM = 1e6
"""Factor on a capacitor that makes its node firm for every signal."""


@dataclass(frozen=True)
class Task:
    """The circuit one student faces.

    Attributes
    ----------
    lab : Lab
        The declared conditions.
    stage : Stage
        The student's circuit.
    amplitude : float
        Source amplitude of the bench tests, Vpp.
    middle : float
        Frequency in mid-band, Hz.
    probe : (str, Instrument) or None
        An instrument at a node; figures are then what it shows.
    """

    lab: Lab
    stage: Stage
    amplitude: float
    middle: float
    probe: tuple[str, Instrument] | None = None

    def __reduce__(self) -> tuple[Any, ...]:
        return (Task, (self.lab, self.stage, self.amplitude, self.middle, self.probe))

    @classmethod
    def of(cls, lab: Lab, stage: Stage) -> Task:
        """Return the task of a stage: its test amplitude keeps 20 % headroom at the lowest rail.

        Parameters
        ----------
        lab : Lab
            The declared conditions.
        stage : Stage
            The circuit.
        """
        middle = midband_frequency(stage)
        sagged = cls(lab, replace(stage, supply=stage.supply * lab.sag), 0.0, middle)
        most = sagged.swing() / 1.2 / abs(sagged.gain())
        return cls(lab, stage, _step_below(most), middle)

    def changed(self, **values: float) -> Task:
        """Return the task with other part values.

        Parameters
        ----------
        **values : float
            SI units.
        """
        return replace(self, stage=replace(self.stage, values={**self.stage.values, **values}))

    def scaled(self, **factors: float) -> Task:
        """Return the task with some parts multiplied.

        Parameters
        ----------
        **factors : float
            By part name.
        """
        return self.changed(**{name: self.stage.values[name] * factor for name, factor in factors.items()})

    def at(self, node: str, known: Instrument) -> Task:
        """Return the task with an instrument at a node.

        Parameters
        ----------
        node : str
            Where.
        known : Instrument
            What looks.
        """
        return replace(self, probe=(node, known))

    def has(self, *parts: str) -> bool:
        """Return whether the stage has all of some parts.

        Parameters
        ----------
        *parts : str
            Part names.
        """
        return all(self.stage.values.get(name, 0.0) > 0 for name in parts)

    @cached_property
    def network(self) -> Solvable:
        """The circuit that is solved, with the instrument in it."""
        return self.stage if self.probe is None else loaded(self.stage, *self.probe)

    def seen_at(self, node: str) -> str:
        """Return the node at which a voltage is read: what the instrument shows, if one is there.

        Parameters
        ----------
        node : str
            Which node.
        """
        return PROBE if self.probe is not None and self.probe[0] == node else node

    def equation(self, step: str, name: str) -> sympy.Expr:
        """Return a formula of the derivation.

        Parameters
        ----------
        step, name : str
            As in `Derivation.step` and `DerivationStep.equation`.
        """
        return self.stage.derivation().step(step).equation(name).expression

    def number(self, expression: sympy.Expr) -> float:
        """Return a formula with the values of the stage in it, SI units.

        Parameters
        ----------
        expression : sympy expression
            In part symbols.
        """
        return number(expression, {part_symbol(name): value for name, value in self.stage.values.items()})

    def rest(self, node: str) -> float:
        """Return where a node rests, V, without the DC errors of the op-amp.

        Parameters
        ----------
        node : str
            Which node.
        """
        return float(self.network.transfer("supply", self.seen_at(node))(0.0).real) * self.stage.supply

    @property
    def whole(self) -> Transfer:
        """Source to output."""
        return self.network.transfer("signal", self.seen_at("output"))

    def gain(self) -> float:
        """Return the mid-band gain from source to output with its sign, V/V."""
        at = complex(self.whole(self.middle))
        return math.copysign(abs(at), at.real)

    def output_range(self) -> tuple[float, float]:
        """Return the lowest and highest output voltage before it clips visibly, V above ground."""
        if self.stage.opamp is None:
            return 0.0, self.stage.supply
        load = abs(output_load(self.stage, self.middle))
        return self.stage.opamp.output_range(self.stage.supply, load, linear=False)

    def rooms(self) -> tuple[float, float]:
        """Return the room of the resting output below and above, V."""
        (low, high), rest = self.output_range(), self.rest("amp_out")
        return rest - low, high - rest

    def swing(self) -> float:
        """Return the largest symmetric output without clipping, Vpp; the input range counts as well."""
        stage, rest = self.stage, self.rest(self.plus)
        moves = [abs(stage.transfer("signal", node)(self.middle)) for node in ("amp_out", self.plus)]
        gain = moves[0] / moves[1] if moves[1] > _STILL * moves[0] else math.inf
        full = (0.0, stage.supply)
        inputs = full if stage.opamp is None else stage.opamp.input_range(stage.supply)
        out = self.rest("amp_out")
        return RailWindow(
            stage.supply, self.output_range(), inputs, (out, out), (rest, rest), gain, self.rest("bias")
        ).swing

    def rejection(self, source: SourceState = "connected") -> float:
        """Return the ripple at the output in the ripple test, Vpp.

        Parameters
        ----------
        source : "connected" or "open"
            Whether the source is there.
        """
        if source == "connected":
            path = self.network.transfer("supply", self.seen_at("output"))
            return float(abs(path(self.lab.ripple_frequency))) * self.lab.ripple
        found = supply_rejection(self.stage, "output", source=source).bias_path
        return float(abs(found(self.lab.ripple_frequency))) * self.lab.ripple

    @cached_property
    def start(self) -> Startup:
        """The start-up after a step of the rail, with the clamps of the op-amp."""
        low, high = self.output_range()
        return startup(self.stage, low=low, high=self.stage.supply - high)

    @property
    def plus(self) -> str:
        """Node of the + input of the amplifier."""
        return self.stage.circuit.opamp("opamp").plus

    def ready(self) -> float:
        """Return the time until + input and op-amp output both stay within 1 % of where they rest, s."""
        return max(self.start.settling_time(node, within=0.01) for node in (self.plus, "amp_out"))


_STILL = 1e-3


def _step_below(most: float) -> float:
    """Return the largest 1, 2, 5 step up to a value; 0 if that is not positive."""
    if not most > 0:
        return 0.0
    decade = 10.0 ** math.floor(math.log10(most))
    return max(float(f"{step * decade:.1g}") for step in (1, 2, 5) if step * decade <= most * (1 + 1e-9))
