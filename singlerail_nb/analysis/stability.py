"""Loop gain of the real network: broken at the op-amp output, behind its output resistance.

Everything that hangs on the output and around it counts: load capacitance, feedback capacitor,
input capacitance, an isolation resistor.  The open-loop gain has the two poles of the record.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.polynomial import polynomial as poly
from numpy.typing import ArrayLike, NDArray

from ..circuit.elements import GROUND, OpAmpPart, Part
from ..circuit.loop import broken_at_output, drive_name, output_resistance_name
from ..circuit.opamp import OpAmp
from ..errors import QuantityError
from ..quantities import QuantityLike, read_quantity, write_quantity
from .evaluation import frequencies
from .network import Network, Solvable, require_stage
from .rational import Rational

_LOAD_NAME = "c_load"
ENOUGH_MARGIN = 45.0
"""Phase margin that is usually asked for, degrees (common practice, no published source)."""


@dataclass(frozen=True)
class LoopGain:
    """The loop gain T(s) of one op-amp in its network; negative feedback counts positive.

    Attributes
    ----------
    function : Rational
        T(s), s in rad/s.
    opamp : str
        Which op-amp.
    """

    function: Rational
    opamp: str

    @property
    def text(self) -> str:
        """Crossover, phase margin and whether the loop is stable, as plain text."""
        found = len(self.crossovers)
        if not found:
            where = "stays below 1 at every frequency"
        else:
            at, margin = write_quantity(self.crossover, "Hz"), write_quantity(self.phase_margin, "deg", 3)
            where = f"crosses 1 at {at} with a phase margin of {margin}"
            where += f" (the least of {found} crossovers)" if found > 1 else ""
        verdict = "stable" if self.is_stable else "not stable: it oscillates"
        return f"Loop gain of {self.opamp}: {where}\n  closed loop: {verdict}"

    def __repr__(self) -> str:
        return self.text

    def __call__(self, f: ArrayLike) -> NDArray[np.complex128]:
        """Return the complex loop gain.

        Parameters
        ----------
        f : array_like
            Hz, any shape.

        Raises
        ------
        QuantityError
            If a frequency is negative or not finite.
        """
        return np.asarray(self.function(2j * math.pi * frequencies(f)))

    @property
    def crossovers(self) -> NDArray[np.float64]:
        """Every frequency at which |T| is 1, ascending, Hz."""
        return self.function.crossings(1.0)

    @property
    def crossover(self) -> float:
        """The crossover that leaves the least phase margin, Hz; 0 if |T| stays below 1."""
        found = self.crossovers
        return float(found[np.argmin([self._margin_at(f) for f in found])]) if found.size else 0.0

    @property
    def phase_margin(self) -> float:
        """Phase margin in degrees, the least over all crossovers; infinity if |T| stays below 1."""
        return min((self._margin_at(f) for f in self.crossovers), default=math.inf)

    def _margin_at(self, f: float) -> float:
        """Return 180 degrees plus the phase at a frequency, between -180 and 180."""
        return float(np.degrees(np.angle(-self.function(2j * math.pi * f))))

    @property
    def is_stable(self) -> bool:
        """Whether the closed loop has no pole in the right half plane: roots of 1 + T."""
        closed = poly.polyadd(self.function.numerator, self.function.denominator)
        return bool((Rational([1.0], closed).poles().real < 0).all())


def loop_gain(
    stage: Solvable,
    opamp: str = "opamp",
    *,
    load_capacitance: QuantityLike = 0.0,
    load_node: str | None = None,
) -> LoopGain:
    """Return the loop gain of an op-amp in its stage.

    Parameters
    ----------
    stage : Stage or Network
        With an op-amp record.
    opamp : str
        Which op-amp of the stage.
    load_capacitance : float or str
        To ground, F.
    load_node : str, optional
        Where; the output of the op-amp unless given.

    Raises
    ------
    QuantityError
        If the op-amp is ideal, or the capacitance is negative, or ``stage`` is no stage.
    UnknownNameError
        If the op-amp or the node does not exist.
    """
    require_stage(stage)
    record = stage.opamp
    if record is None:
        raise QuantityError(
            "opamp", "ideal", allowed="an op-amp record", remedy='Give one, such as opamp("GPB").'
        )
    farads = read_quantity(load_capacitance, "F", name="load_capacitance", low=0.0)
    pins = stage.circuit.opamp(opamp)
    at = stage.circuit.node(load_node or pins.output)
    opened = _opened(stage, record, pins, {_LOAD_NAME: (at, farads)})
    drive = drive_name(opamp)
    back, other = (
        opened.transfer(drive, opened.circuit.node(pin)).rational for pin in (pins.minus, pins.plus)
    )
    feedback = np.asarray(poly.polysub(back.numerator, other.numerator), dtype=np.float64)
    return LoopGain(_times_open_loop(feedback, back.denominator, record), opamp)


def _opened(stage: Solvable, record: OpAmp, pins: OpAmpPart, loads: dict[str, tuple[str, float]]) -> Network:
    """Return the network broken at the op-amp output, with the capacitances that count added."""
    at_pins = {"c_pin_plus": pins.plus, "c_pin_minus": pins.minus}
    wanted = loads | {name: (node, record.input_capacitance) for name, node in at_pins.items()}
    present = {name: (node, farad) for name, (node, farad) in wanted.items() if farad > 0 and node != GROUND}
    parts = tuple(
        Part(name, "capacitor", (node, GROUND), "Capacitance to ground")
        for name, (node, _) in present.items()
    )
    circuit = broken_at_output(stage.circuit, pins.name, parts)
    values = dict(stage.parameters) | {name: farad for name, (_, farad) in present.items()}
    resistance = output_resistance_name(pins.name)
    if record.output_resistance:
        values[resistance] = record.output_resistance
    else:
        circuit = circuit.shorted(resistance)
    return Network(circuit, values, record)


def _times_open_loop(
    numerator: NDArray[np.float64], denominator: NDArray[np.float64], record: OpAmp
) -> Rational:
    """Multiply by A(s) = 1 / ((1/A_0 + s/omega_t)(1 + s/omega_2))."""
    slow = [record.inverse_gain, record.unity_time]
    second = record.second_pole_frequency
    fast = [1.0, 0.0 if math.isinf(second) else 1.0 / (2.0 * math.pi * second)]
    return Rational(numerator, poly.polymul(denominator, poly.polymul(slow, fast)))


@dataclass(frozen=True)
class MarginSweep:
    """Phase margin against load capacitance.

    Attributes
    ----------
    capacitance : ndarray, shape (n,)
        F.
    phase_margin : ndarray, shape (n,)
        Degrees.
    crossover : ndarray, shape (n,)
        Hz.
    """

    capacitance: NDArray[np.float64]
    phase_margin: NDArray[np.float64]
    crossover: NDArray[np.float64]

    @property
    def enough(self) -> NDArray[np.bool_]:
        """Where the margin is 45 degrees or more (common practice, no published source), shape (n,)."""
        return np.asarray(self.phase_margin >= ENOUGH_MARGIN)


def margin_against_load(
    stage: Solvable, capacitances: ArrayLike, opamp: str = "opamp", load_node: str | None = None
) -> MarginSweep:
    """Return the phase margin for several load capacitances.

    Parameters
    ----------
    stage : Stage or Network
        With an op-amp record.
    capacitances : array_like, shape (n,)
        F.
    opamp : str
        Which op-amp of the stage.
    load_node : str, optional
        Where the capacitance sits; the output of the op-amp unless given.

    Raises
    ------
    QuantityError
        If the op-amp is ideal, or a capacitance is negative.
    UnknownNameError
        If the op-amp or the node does not exist.
    """
    values = np.atleast_1d(np.asarray(capacitances, dtype=np.float64))
    return sweep(
        values, (loop_gain(stage, opamp, load_capacitance=float(c), load_node=load_node) for c in values)
    )


def sweep(values: NDArray[np.float64], loops: Iterable[LoopGain]) -> MarginSweep:
    """Return margin and crossover of several loops.

    Parameters
    ----------
    values : ndarray, shape (n,)
        The capacitance of each, F.
    loops : iterable of LoopGain
        One for each.
    """
    pairs = [(loop.phase_margin, loop.crossover) for loop in loops]
    margins, crossovers = np.array(pairs).T
    return MarginSweep(values, margins, crossovers)
