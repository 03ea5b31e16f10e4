"""A board with an unknown fault: measure, narrow, name it, and look.

The fault and the actual part values follow from a seed.  They are in no text that the board shows,
so a notebook with a mystery holds the question and not the answer.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..analysis.evaluation import Value
from ..analysis.limited_rest import BIAS_CURRENT, OFFSET
from ..circuit.circuit import closest
from ..circuit.opamp import REFERENCE_TEMPERATURE
from ..errors import QuantityError, UnknownNameError
from ..quantities import write_quantity
from .bench import Bench, Measurement
from .board import Board
from .catalogue import Fault
from .narrowing import Choice, choice, ranked
from .readings import CURSOR, RESOLUTION, reading
from .shown import CLEAN, shown, wait

_DRAWN = 0.6
"""Share of a tolerance that actual parts use: few sit at the limit (common practice, no published
source)."""


@dataclass(frozen=True)
class Step:
    """A measurement that was taken.

    Attributes
    ----------
    choice : Choice
        The measurement with what it was worth before it was taken.
    best : Choice
        What would have been worth most.
    value : float
        What was read; not a number if there was no steady reading.
    shape : str
        Shape of the wave; empty for other readings.
    remaining : tuple of Fault
        The candidates that can show this.
    """

    choice: Choice
    best: Choice
    value: float
    shape: str
    remaining: tuple[Fault, ...]

    @property
    def was_best(self) -> bool:
        """Whether no other measurement was worth more."""
        return self.choice.bits >= self.best.bits - 1e-9

    @property
    def shown(self) -> str:
        """What the instrument showed."""
        if math.isnan(self.value):
            return "no steady reading"
        unit = self.choice.measurement.unit
        if unit == "Vpp" and self.value < RESOLUTION["Vpp"]:
            return "nothing seen"
        shape = "" if self.shape in ("", CLEAN) else f", {self.shape}"
        return f"{write_quantity(self.value, unit, 3)}{shape}"

    @property
    def judgement(self) -> str:
        """How good the choice was, with the reason."""
        if self.was_best:
            return f"Nothing would have told more: {self.choice.worth}."
        return f"{self.best.measurement} would have told more. {self.choice.worth}; {self.best.worth}."

    def __repr__(self) -> str:
        names = ", ".join(fault.key for fault in self.remaining)
        left = f"left {len(self.remaining)} of {self.choice.candidates}: {names}"
        return f"{self.choice.measurement}: {self.shown}\n  {left}\n  {self.judgement}"


class Mystery:
    """A board with one fault out of some candidates; made by `mystery`.

    Parameters
    ----------
    bench : Bench
        The bench.
    candidates : sequence of Fault
        What may be wrong.
    sealed : Fault
        What is wrong.
    seed : int
        Fixes the actual part values.
    """

    def __init__(self, bench: Bench, candidates: Sequence[Fault], sealed: Fault, seed: int) -> None:
        self.bench = bench
        self.candidates = tuple(candidates)
        self._fault = sealed
        self._seed = seed
        self._steps: list[Step] = []

    @property
    def steps(self) -> tuple[Step, ...]:
        """What was measured, in order."""
        return tuple(self._steps)

    @property
    def remaining(self) -> tuple[Fault, ...]:
        """The candidates that fit everything measured so far."""
        return self._steps[-1].remaining if self._steps else self.candidates

    @property
    def choices(self) -> tuple[Choice, ...]:
        """Everything that can be measured, what tells most first."""
        return ranked(self.bench, self.remaining)

    @property
    def best(self) -> Choice:
        """The measurement that tells most now."""
        return self.choices[0]

    def measure(self, what: str | Measurement) -> Step:
        """Take a measurement.

        Parameters
        ----------
        what : str or Measurement
            Such as ``"volts at amp_out"``.

        Raises
        ------
        UnknownNameError
            If it cannot be measured here.
        """
        wanted = self.bench.measurement(str(what))
        taken, best = choice(self.bench, self.remaining, wanted), self.best
        value, shape = self._read(wanted)
        fits = tuple(f for f in self.remaining if self._fits(f, wanted, value, shape))
        step = Step(taken, best, value, shape, fits)
        self._steps.append(step)
        return step

    def judge(self, key: str) -> tuple[bool, str]:
        """Return whether a named fault is the one, and a sentence; it never tells the answer.

        Parameters
        ----------
        key : str
            Short name of a candidate.

        Raises
        ------
        UnknownNameError
            If it is no candidate.
        """
        known = {fault.key: fault for fault in self.candidates}
        if key not in known:
            raise UnknownNameError("fault", key, allowed="one of the candidates", remedy=closest(key, known))
        if key == self._fault.key:
            return True, f"Right: {self._fault.what}"
        for step in self._steps:
            what = step.choice.measurement
            if not self._fits(known[key], what, step.value, step.shape):
                would = reading(self.bench, known[key], what)
                return False, f"No: {key} would show {would.band_text} for {what}, and you read {step.shown}."
        return False, f"No, though everything measured so far fits it. Next: {self.best.measurement}."

    def answer_text(self) -> str:
        """Return the fault in words, for a question that guards it."""
        return f"{self._fault.key}. {self._fault.what} {self._fault.why}"

    def reveal(self) -> str:
        """Return what is wrong, once something was measured.

        Raises
        ------
        QuantityError
            If nothing was measured yet.
        """
        if not self._steps:
            raise QuantityError(
                "measurement", "none yet", allowed="one at least", remedy="Measure first, then look."
            )
        taken = f"{len(self._steps)} measurement{'s' if len(self._steps) > 1 else ''}"
        left = f"{taken} left {len(self.remaining)} of {len(self.candidates)}"
        return f"{self.answer_text()} ({left}.)"

    def __repr__(self) -> str:
        taken = [f"{step.choice.measurement}: {step.shown}" for step in self._steps]
        names = ", ".join(fault.key for fault in self.remaining)
        head = f"A board with one fault. Possible: {names}"
        return "\n".join([head, *(["Measured:"] if taken else []), *(f"  {line}" for line in taken)])

    def _fits(self, fault: Fault, what: Measurement, value: float, shape: str) -> bool:
        band = reading(self.bench, fault, what)
        if math.isnan(value):
            return math.isnan(band.value) or not math.isfinite(band.high)
        inside = band.low <= value <= band.high
        return inside and (not band.shapes or not shape or shape in band.shapes)

    def _read(self, what: Measurement) -> tuple[float, str]:
        """Return what the instrument shows of this very board."""
        rng = np.random.default_rng([self._seed, *what.key.encode()])
        known = self.bench.meter if what.kind == "volts" else self.bench.scope
        probed = self._actual().with_instrument(what.node, known)
        if what.kind == "wait":
            return self._rounded(wait(probed) * (1.0 + CURSOR * rng.uniform(-_DRAWN, _DRAWN)), what), ""
        numbers: dict[str, Value] = {n: np.array([v]) for n, v in {**probed.numbers, **self._pins()}.items()}
        found = shown(self.bench, probed, what, numbers)
        value = float(found.values[0]) * (1.0 + known.accuracy * rng.uniform(-_DRAWN, _DRAWN))
        return self._rounded(value, what), (found.shapes or ("",))[0]

    def _rounded(self, value: float, what: Measurement) -> float:
        step = RESOLUTION[what.unit]
        return value if math.isnan(value) else round(value / step) * step

    def _actual(self) -> Board:
        """Return the board with its actual part values."""
        board = self._fault.on(self.bench.stage)
        rng = np.random.default_rng([self._seed, 1])
        allowed = {**dict(self.bench.tolerance), **board.spread}
        drawn = {}
        for name, (low, high) in sorted(allowed.items()):
            if name in board.values:
                at = rng.uniform(-_DRAWN, _DRAWN)
                drawn[name] = board.values[name] * (high**at if at > 0 else low**-at)
        return replace(board, values={**board.values, **drawn})

    def _pins(self) -> dict[str, float]:
        """Return the actual input current and offset of its op-amps."""
        opamp = self.bench.stage.opamp
        if opamp is None:
            return {}
        rng = np.random.default_rng([self._seed, 2])
        offset = opamp.figure("offset_voltage", "worst") * rng.uniform(-_DRAWN, _DRAWN)
        return {BIAS_CURRENT: opamp.bias_current_at(REFERENCE_TEMPERATURE, "typical"), OFFSET: offset}
