"""The gain leg on the bias node instead of on a capacitor to ground: one part saved, and its price.

The impedance of the bias node is then part of the gain leg, so the bias filter sets a corner of the
signal path, and the signal current moves the bias of everything that shares it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.optimize import brentq

from ..errors import CircuitError
from ..quantities import write_quantity
from .output_load import midband_frequency
from .stage import Stage

_SEARCHED = (1e-9, 10e-3)
"""Bias-filter capacitors among which one with the same cut-off is looked for, F."""


@dataclass(frozen=True)
class LegReturn:
    """A non-inverting stage both ways.

    Attributes
    ----------
    grounded, returned : Stage
        The gain leg on its capacitor to ground; on the bias node.
    """

    grounded: Stage
    returned: Stage

    @property
    def cutoffs(self) -> tuple[float, float]:
        """Low-end cut-off of the whole stage, leg on ground and leg on the bias node, Hz."""
        one, other = (s.transfer("signal", "output").low_cutoff() for s in (self.grounded, self.returned))
        return one, other

    @property
    def isolated_pole(self) -> float:
        """The corner that the bias node makes if the + input is driven firmly, Hz.

        The bias-filter capacitor sees the gain-leg resistor and the bias source in parallel.
        """
        own = self.returned.bias_filter()
        capacitance, filtered = self.returned.values["c_bias"], abs(own.poles()[0])
        return float((filtered + 1.0 / (self.returned.values["r_g"] * capacitance)) / (2.0 * math.pi))

    def bias_moves(self, f: float | None = None) -> float:
        """Return the signal on the bias node per volt of signal at the input, V/V.

        Parameters
        ----------
        f : float, optional
            Hz; the low-end cut-off unless given.

        Raises
        ------
        QuantityError
            If the frequency is negative or not finite.
        """
        at = self.cutoffs[1] if f is None else f
        return float(abs(self.returned.transfer("signal", "bias")(at)))

    @property
    def capacitor_for_the_same_cutoff(self) -> float:
        """The bias-filter capacitor that brings the cut-off back to that of the leg on ground, F.

        Not a number if none from 1 nF to 10000 uF does.
        """
        wanted, whole = self.cutoffs[0], self.returned.transfer("signal", "output")

        def too_high(log_farad: float) -> float:
            return math.log(whole.with_values(c_bias=math.exp(log_farad)).low_cutoff() / wanted)

        ends = [math.log(farad) for farad in _SEARCHED]
        if too_high(ends[0]) * too_high(ends[1]) > 0:
            return math.nan
        return math.exp(float(brentq(too_high, *ends, rtol=1e-12)))

    def __repr__(self) -> str:
        ground, bias = (write_quantity(f, "Hz") for f in self.cutoffs)
        gain = self.returned.transfer("signal", "output")(midband_frequency(self.returned))
        return (
            f"low-end cut-off {ground} with the gain leg on ground, {bias} on the bias node "
            f"(mid-band gain {abs(gain):.4g} V/V)"
        )


def leg_return(stage: Stage) -> LegReturn:
    """Return a non-inverting stage beside the one whose gain leg ends on the bias node.

    Parameters
    ----------
    stage : Stage
        A non-inverting stage with a filtered bias.

    Raises
    ------
    CircuitError
        If it is another stage, or its bias node has no capacitor.
    """
    if stage.name != "noninverting":
        raise CircuitError(
            "stage", stage.name, allowed="noninverting", remedy="Only its gain leg has a choice of two ends."
        )
    filters = [part for part in stage.circuit.capacitors if part.name == "c_bias"]
    if not any(stage.circuit.node("bias") in part.nodes for part in filters):
        raise CircuitError(
            "c_bias", "not at the bias node", allowed="a filter capacitor from the bias node to ground",
            remedy="Take a bias source that ends in one; behind a buffer the leg sees no corner.",
        )  # fmt: skip
    values = {name: value for name, value in stage.values.items() if name != "c_g"}
    return LegReturn(stage, Stage("leg_on_bias", stage.supply, values, stage.opamp, stage.bias, stage.levels))
