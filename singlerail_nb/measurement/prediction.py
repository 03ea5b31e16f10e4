"""The gain that the circuit predicts for an instrument, and how far parts within tolerance move it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from ..analysis.differentiation import run_with_slopes
from ..analysis.evaluation import Value, compiled
from ..analysis.rational import horner
from ..analysis.stage import Stage
from ..analysis.tolerance_inputs import ToleranceSet
from ..circuit.network_functions import NetworkFunction, node_ratio, transfer_function
from .bands import corners, on_few_points
from .bench_network import on_the_bench
from .instruments import Instrument
from .measured import Floats

MOST_CORNERS = 4096


@dataclass(frozen=True)
class ResponsePrediction:
    """The gain that an instrument shows over frequency.

    Attributes
    ----------
    function : NetworkFunction
        Of the circuit with the instrument in it.
    numbers : mapping of str to float
        Nominal value of everything it depends on, SI units.
    """

    function: NetworkFunction
    numbers: Mapping[str, float]

    @cached_property
    def names(self) -> tuple[str, ...]:
        """What the gain depends on."""
        return compiled(self.function.reduced).program.inputs

    def complex_gain(self, frequency: Floats, **changes: float) -> Any:
        """Return the complex gain, V/V, shape (points,).

        Parameters
        ----------
        frequency : array, shape (points,)
            Hz.
        **changes : float
            Values that differ from the nominal ones, SI units.
        """
        top, bottom = compiled(self.function.reduced)({**self.numbers, **changes})
        s = 2j * math.pi * frequency
        return horner(top, s) / horner(bottom, s)

    def log_slopes(self, frequency: Floats, names: tuple[str, ...], **changes: float) -> Any:
        """Return ``x/H dH/dx``, complex, shape (points, names): exact, by differentiating the program.

        Parameters
        ----------
        frequency : array, shape (points,)
            Hz.
        names : tuple of str
            The parts x.
        **changes : float
            As in `complex_gain`.
        """
        program = compiled(self.function.reduced).program
        s = 2j * math.pi * frequency
        total = np.zeros((frequency.size, len(program.inputs)), dtype=np.complex128)
        for sign, (values, slopes) in zip((1.0, -1.0), run_with_slopes(program, {**self.numbers, **changes}),
                                          strict=True):  # fmt: skip
            powers = s[:, np.newaxis] ** np.arange(len(values))
            total += sign * (powers @ slopes.T) / (powers @ values)[:, np.newaxis]
        return total[:, [program.inputs.index(name) for name in names]]

    def band(self, frequency: Floats, tolerances: ToleranceSet) -> tuple[Floats, Floats]:
        """Return lowest and highest gain over the corners of the tolerances, V/V, each shape (points,).

        Parameters
        ----------
        frequency : array, shape (points,)
            Hz, ascending.
        tolerances : ToleranceSet
            The limits.
        """
        found = corners(tolerances, self.names, MOST_CORNERS)
        boards: dict[str, Value] = {name: values[:, np.newaxis] for name, values in found.items()}
        top, bottom = compiled(self.function.reduced)({**self.numbers, **boards})

        def gains(f: Floats) -> tuple[Floats, Floats]:
            s = 2j * math.pi * f[np.newaxis, :]
            size = np.abs(np.atleast_2d(horner(top, s) / horner(bottom, s)))
            return size.min(axis=0), size.max(axis=0)

        return on_few_points(frequency, gains, logarithmic=True)


def predicted_response(
    stage: Stage, node: str, probe: Instrument | None, reference: str = "signal"
) -> ResponsePrediction:
    """Return the gain that an instrument at a node shows.

    Parameters
    ----------
    stage : Stage
        The stage.
    node : str
        Where the output was measured.
    probe : Instrument or None
        What it was measured with.
    reference : str
        Where the input was measured: ``"signal"``, or a node behind the source resistance.

    Raises
    ------
    UnknownNameError
        If a node does not exist.
    """
    network, shown = on_the_bench(stage, node, probe)
    if reference == "signal":
        function = transfer_function(network.circuit, "signal", shown, network.model)
    else:
        function = node_ratio(network.circuit, "signal", shown, reference, network.model)
    return ResponsePrediction(function, network.parameters)
