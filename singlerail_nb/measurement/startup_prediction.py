"""The start-up that the circuit predicts for an instrument, and how far parts within tolerance move it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

import numpy as np

from ..analysis.stage import Stage
from ..analysis.startup import startup, swing_distances
from ..analysis.tolerance_inputs import ToleranceSet
from .bands import corners, on_few_points
from .bench_network import BenchNetwork
from .measured import Floats

MOST_CORNERS = 256


@dataclass(frozen=True)
class StartupPrediction:
    """The voltage that an instrument shows from the moment the rail comes on.

    Attributes
    ----------
    stage : Stage
        Without the instrument: its output swing decides the limits.
    network : BenchNetwork
        With the instrument.
    shown : str
        The node that the instrument shows.
    ramp_time : float
        Rise time of the rail, s.
    """

    stage: Stage
    network: BenchNetwork
    shown: str
    ramp_time: float

    @property
    def names(self) -> tuple[str, ...]:
        """What the voltage depends on: the parts."""
        return self.network.circuit.part_names

    def volts(self, time: Floats, **changes: float) -> Floats:
        """Return the voltage, V, shape (points,); before time 0 that at the start.

        Parameters
        ----------
        time : array, shape (points,)
            s from the moment the rail comes on.
        **changes : float
            Values that differ from the nominal ones, SI units.
        """
        low, high = swing_distances(self.stage)
        with_changes = {**self.network.values, **changes}
        board = BenchNetwork(
            self.network.circuit, with_changes, self.network.opamp, self.network.supply, self.network.levels
        )
        # The start-up asks of a stage only what a network with levels has.
        run = startup(cast("Stage", board), ramp_time=self.ramp_time, low=low, high=high)
        return np.asarray(run.voltage(self.shown, np.maximum(time, 0.0)))

    def band(self, time: Floats, tolerances: ToleranceSet) -> tuple[Floats, Floats]:
        """Return lowest and highest voltage over corners of the tolerances, V, each shape (points,).

        Parameters
        ----------
        time : array, shape (points,)
            s, ascending.
        tolerances : ToleranceSet
            The limits.
        """
        found = corners(tolerances, self.names, MOST_CORNERS)
        count = max((c.size for c in found.values()), default=1)

        def volts(t: Floats) -> tuple[Floats, Floats]:
            boards = ({name: float(c[i]) for name, c in found.items()} for i in range(count))
            runs = np.array([self.volts(t, **board) for board in boards])
            return runs.min(axis=0), runs.max(axis=0)

        return on_few_points(time, volts, logarithmic=False, together=True)
