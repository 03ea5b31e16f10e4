"""Common-mode rejection of a stage with two inputs: what both inputs have in common should not come out.

Two things spoil it: resistors that do not match, and whatever stands between the reference resistor
and a firm voltage, such as the impedance of the bias node.  The op-amp's own rejection is not here.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from ..circuit.circuit import closest
from ..circuit.network_functions import NetworkFunction
from ..circuit.nodal_analysis import nodal_system
from ..errors import QuantityError, UnknownNameError
from .evaluation import compiled, frequencies
from .network import Solvable, require_stage
from .rational import horner
from .transfer import Transfer

BRIDGE = ("r_in", "r_in_2", "r_f", "r_ref")
"""The four resistors of a difference stage whose ratios must agree."""
_MOST_PARTS = 16


@dataclass(frozen=True)
class CommonMode:
    """What a stage does with the difference of two inputs, and with what they have in common.

    Attributes
    ----------
    stage : Stage or Network
        The stage.
    differential : Transfer
        Output per volt between the inputs, V/V.
    common : Transfer
        Output per volt on both inputs, V/V.
    leak : Transfer
        Common over differential: input-referred, the part of the common voltage that passes as signal.
    """

    stage: Solvable
    differential: Transfer
    common: Transfer
    leak: Transfer

    def rejection_db(self, f: ArrayLike) -> Any:
        """Return the common-mode rejection, dB; infinity where everything balances.

        Parameters
        ----------
        f : array_like
            Hz, any shape.

        Raises
        ------
        QuantityError
            If a frequency is negative or not finite.
        """
        return -self.leak.magnitude_db(f)

    def worst(self, tolerance: float | Mapping[str, float], f: float = 0.0) -> WorstRejection:
        """Return the least rejection over all corners of tolerance.

        With resistors alone (no capacitor counts) no board inside the box is worse: common over
        differential is a quotient of two functions that are linear in every part.

        Parameters
        ----------
        tolerance : float or mapping of str to float
            Ratio for the four resistors of the bridge, or of each part by name.
        f : float
            Hz.

        Raises
        ------
        UnknownNameError
            If a part does not exist.
        QuantityError
            If a tolerance is not between 0 and 1, or too many parts are named.
        """
        asked = self._tolerances(tolerance)
        names = tuple(asked)
        signs = np.indices((2,) * len(names)).reshape(len(names), -1) * 2.0 - 1.0
        nominal = self.stage.parameters
        values = {n: nominal[n] * (1.0 + asked[n] * sign) for n, sign in zip(names, signs, strict=True)}
        top, bottom = compiled(self.leak.function)({**nominal, **values})
        s = 2j * math.pi * float(frequencies(f))
        leak = np.abs(horner(top, s) / horner(bottom, s)) * np.ones(signs.shape[1])
        worst = int(np.argmax(leak))
        decibels = -20.0 * math.log10(leak[worst]) if leak[worst] > 0 else math.inf
        return WorstRejection(decibels, f, {n: float(v[worst]) for n, v in values.items()})

    def _tolerances(self, tolerance: float | Mapping[str, float]) -> dict[str, float]:
        known = self.stage.circuit.part_names
        if isinstance(tolerance, Mapping):
            asked = dict(tolerance)
        else:
            asked = {name: float(tolerance) for name in BRIDGE if name in known}
        for name, ratio in asked.items():
            if name not in known:
                raise UnknownNameError(
                    "part", name, allowed="a part of this stage", remedy=closest(name, known)
                )
            if not 0.0 <= ratio < 1.0:
                raise QuantityError(
                    f"tolerance of {name}", ratio, allowed="0 to below 1", remedy="1 % is 0.01."
                )
        if len(asked) > _MOST_PARTS:
            raise QuantityError(
                "tolerance", f"{len(asked)} parts", allowed=f"{_MOST_PARTS} at most", remedy="Name fewer."
            )
        return asked


@dataclass(frozen=True)
class WorstRejection:
    """The worst corner of tolerance.

    Attributes
    ----------
    decibels : float
        The common-mode rejection there, dB.
    frequency : float
        Hz.
    values : mapping of str to float
        The part values of that corner, SI units.
    """

    decibels: float
    frequency: float
    values: Mapping[str, float]


def common_mode(
    stage: Solvable, node: str = "output", inputs: tuple[str, str] = ("signal", "signal_2")
) -> CommonMode:
    """Return how a stage treats the difference of two inputs and what they have in common.

    Parameters
    ----------
    stage : Stage or Network
        With at least two inputs.
    node : str
        Where the output is taken.
    inputs : tuple of two str
        The signal sources.

    Raises
    ------
    QuantityError
        If ``stage`` is no stage.
    UnknownNameError
        If a source or the node does not exist.
    """
    require_stage(stage)
    system = nodal_system(stage.circuit, stage.model)
    one, other = (system.voltage(name, node) for name in inputs)
    both, between = one + other, one - other
    halves = {
        "differential": (between, 2 * system.determinant),
        "common": (both, system.determinant),
        "leak": (2 * both, between),
    }

    def named(what: str) -> Transfer:
        function = NetworkFunction(system, *halves[what], "V/V", f"{what} {' and '.join(inputs)} to {node}")
        return Transfer(function, dict(stage.parameters), what, node)

    return CommonMode(stage, named("differential"), named("common"), named("leak"))


def mismatch_rejection_db(gain: float, mismatch: float) -> float:
    """Return the rejection of a difference stage whose two resistor ratios differ: 20 log10((1 + G)/d).

    For small mismatch.  Four resistors at the worst corner of a tolerance t make d = 4 t; an impedance
    Z between the reference resistor R and a firm voltage makes d = Z/R.

    Parameters
    ----------
    gain : float
        Differential gain G, V/V, positive.
    mismatch : float
        Relative difference d of the two ratios.

    Returns
    -------
    float
        dB.

    Raises
    ------
    QuantityError
        If the gain or the mismatch is not positive.
    """
    for name, value in (("gain", gain), ("mismatch", mismatch)):
        if not value > 0:
            raise QuantityError(name, value, allowed="> 0", remedy="Give the magnitude as a ratio.")
    return 20.0 * math.log10((1.0 + gain) / mismatch)
