"""Figures of rest, swing and start-up on many boards."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..circuit.loop import drive_name, driven_at_output
from ..circuit.network_functions import source_impedance_seen
from ..circuit.opamp_figures import Spread, interpolated_swing
from ..errors import CircuitError
from .boards import Floats
from .output_load import midband_frequency
from .stage import Stage
from .startup import startup
from .tolerance_boards import Boards
from .tolerance_figures import Measured


@dataclass(frozen=True)
class Resting:
    """The resting voltage of a node, without the DC errors of the op-amp.

    Attributes
    ----------
    name, label, node, unit : str
        For results and tables, and where.
    """

    name: str
    label: str
    node: str
    unit: str = "V"

    def on(self, boards: Measured) -> Floats:
        """Return the voltage on every board, V, shape (boards,).

        Parameters
        ----------
        boards : Measured
            The boards.
        """
        return boards.resting(self.node)


@dataclass(frozen=True)
class Swing:
    """The largest symmetric output swing without clipping, op-amp errors included.

    Attributes
    ----------
    spread : "typical" or "worst"
        Which data-sheet figures make the errors.
    name, label, unit : str
        For results and tables.
    """

    spread: Spread = "typical"
    name: str = "swing"
    label: str = "output swing"
    unit: str = "Vpp"

    def on(self, boards: Measured) -> Floats:
        """Return the swing of every board, Vpp, shape (boards,).

        Parameters
        ----------
        boards : Measured
            The boards.
        """
        return swing_of_boards(boards, self.spread)


@dataclass(frozen=True)
class Settling:
    """The settling time of a start-up, board by board: milliseconds each, so ask for few boards.

    Attributes
    ----------
    node : str
        Where.
    within : float
        Fraction of the final voltage.
    ramp_time : float
        Rise time of the rail, s.
    low, high : float
        Distances of the output from ground and rail, V.
    name, label, unit : str
        For results and tables.
    """

    node: str = "amp_out"
    within: float = 0.01
    ramp_time: float = 0.0
    low: float = 0.0
    high: float = 0.0
    name: str = "settling_time"
    label: str = "settling time after power-on"
    unit: str = "s"

    def on(self, boards: Measured) -> Floats:
        """Return the settling time of every board, s, shape (boards,).

        Parameters
        ----------
        boards : Measured
            The boards.
        """
        return np.array([self._of(boards.stage_of(i)) for i in range(len(boards))])

    def _of(self, stage: Stage) -> float:
        run = startup(stage, ramp_time=self.ramp_time, low=self.low, high=self.high)
        return run.settling_time(self.node, within=self.within)


_STILL = 1e-3
"""A + input that moves less than this share of the output counts as resting, as in `window`."""


def swing_of_boards(boards: Boards, spread: Spread = "typical") -> Floats:
    """Return the largest symmetric swing of the op-amp output on every board, Vpp, shape (boards,).

    The same limits as `analysis.window.window` at one rail, as arrays.

    Parameters
    ----------
    boards : Boards
        The boards; the stage has an op-amp record, or reaches both rails.
    spread : "typical" or "worst"
        Which data-sheet figures make the DC errors.
    """
    stage, supply = boards.stage, boards.level("supply")
    pins = stage.circuit.opamp("opamp")
    rest, held = boards.resting_range(pins.output, spread), boards.resting_range(pins.plus, spread)
    low, high = _output_limits(boards, midband_frequency(stage))
    limits = [2.0 * (rest[0] - low), 2.0 * (supply - high - rest[1])]
    if stage.opamp is not None:
        f = midband_frequency(stage)
        out, moved = (np.abs(boards.transfer("signal", node, f)) for node in (pins.output, pins.plus))
        for room in (held[0] - stage.opamp.common_mode_low, supply - stage.opamp.common_mode_high - held[1]):
            still = np.where(room >= 0, math.inf, -math.inf)
            ratio = np.divide(out, moved, out=np.full(len(boards), math.inf), where=moved > 0)
            moving = 2.0 * np.where(np.isfinite(ratio), ratio, 0.0) * room
            limits.append(np.where(moved > _STILL * out, moving, still))
    return np.asarray(np.maximum(0.0, np.minimum.reduce(limits)))


def _output_limits(boards: Boards, f: float) -> tuple[Floats, Floats]:
    """Return the distances of the output range from ground and rail on every board, V."""
    record = boards.stage.opamp
    if record is None:
        return np.zeros(len(boards)), np.zeros(len(boards))
    loads = _loads(boards, f)
    pairs = np.array([interpolated_swing(record.swing, load) for load in np.unique(loads)])
    low, high = pairs[np.unique(loads, return_inverse=True)[1]].T
    return low + record.linear_margin, high + record.linear_margin


def _loads(boards: Boards, f: float) -> Floats:
    """Return the magnitude of what the op-amp output drives on every board, ohm."""
    circuit = driven_at_output(boards.stage.circuit, "opamp")
    try:
        seen = source_impedance_seen(circuit, drive_name("opamp"), "ideal")
    except CircuitError:
        return np.full(len(boards), math.inf)
    return np.asarray(np.abs(boards.response(seen, f)))
