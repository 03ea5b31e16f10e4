"""What a selection must keep: windows of parts, limits that few parts settle, limits on sums."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from ..analysis.stage import Stage
from ..circuit.bias_derivation import bias_alone
from ..circuit.circuit import closest
from ..circuit.network_functions import source_impedance_seen
from ..errors import UnknownNameError
from .draft import circuit_and_derivation
from .practical import PRACTICAL
from .requirements import Requirements
from .resistors import FEEDBACK_RANGE
from .selection_local import LocalLimit

WINDOW = 2.0
"""Divider and input resistors up to this many times the smallest allowed value: larger ones would make
capacitors smaller, at the price of noise and offset that the score does not see (common practice)."""
TOPOLOGIES = ("noninverting", "inverting", "follower")
_HALF = 0.5 * math.log(2.0)


def windows(needed: Requirements, topology: str) -> dict[str, tuple[float, float]]:
    """Return the usual window of every part that is to be chosen, lowest and highest value.

    Parameters
    ----------
    needed : Requirements
        What the stage must do.
    topology : str
        Name of the stage.

    Raises
    ------
    UnknownNameError
        If there is no such topology.
    """
    if topology not in TOPOLOGIES:
        raise UnknownNameError(
            "topology", topology, allowed=", ".join(TOPOLOGIES), remedy=closest(topology, TOPOLOGIES)
        )
    circuit, _ = circuit_and_derivation(topology, needed.load is not None)
    lowest = PRACTICAL["ohm"][0]
    divider = needed.supply / (2.0 * needed.divider_current)
    limits = {
        "r_top": (divider, WINDOW * divider),
        "r_bias": (needed.input_impedance, WINDOW * needed.input_impedance),
        "r_in": (needed.input_impedance, WINDOW * needed.input_impedance),
        "r_f": FEEDBACK_RANGE if "r_g" in circuit.part_names else PRACTICAL["ohm"],
        "r_g": (lowest, FEEDBACK_RANGE[1]),
    }
    given = ("r_source", "r_load")
    return {p.name: limits.get(p.name, PRACTICAL[p.unit]) for p in circuit.parts if p.name not in given}


def middle_stage(
    needed: Requirements, topology: str, values: Mapping[str, float], ties: Mapping[str, str]
) -> Stage:
    """Return a stage with some values of the grid; the requirements give source and load.

    Parameters
    ----------
    needed : Requirements
        What the stage must do.
    topology : str
        Name of the stage.
    values : mapping of str to float
        A value for every free part.
    ties : mapping of str to str
        Parts that are equal to a free part.
    """
    full = {"r_source": needed.source_resistance, **values}
    full |= {tied: values[name] for tied, name in ties.items() if name in values}
    if needed.load is not None:
        full["r_load"] = needed.load
    return Stage(topology, needed.supply, full, needed.opamp)


def local_limits(needed: Requirements, stage: Stage) -> tuple[LocalLimit, ...]:
    """Return the requirements that a few parts settle among themselves.

    Parameters
    ----------
    needed : Requirements
        What the stage must do.
    stage : Stage
        Any stage of the grid.
    """
    bias = source_impedance_seen(bias_alone(stage.circuit), "supply", stage.model)
    corner = needed.bias_filter_ratio * needed.target_cutoff
    return (
        LocalLimit(
            "divider_current", bias, 0, needed.divider_current, -1, "A", scale=needed.supply, inverse=True
        ),
        LocalLimit("input_impedance", stage.input_impedance().function, 1, needed.input_impedance, 1, "ohm"),
        LocalLimit("bias_filter_ratio", stage.bias_filter().function, -1, corner, -1, "Hz"),
    )


@dataclass(frozen=True)
class DropLimit:
    """How far the gain has dropped below mid-band at a frequency, as a limit.

    Attributes
    ----------
    requirement : str
        Name of the field of `Requirements`.
    frequency : float
        Hz.
    limit : float
        ln of mid-band gain over gain.
    sign : int
        -1 for at most, 1 for at least.
    """

    requirement: str
    frequency: float
    limit: float
    sign: int


@dataclass(frozen=True)
class SumLimits:
    """Limits on sums over the groups of the network.

    Attributes
    ----------
    gain : (float, float)
        ln of the lowest and the highest mid-band gain.
    drops : tuple of DropLimit
        The others; the first is one that says "at most".
    """

    gain: tuple[float, float]
    drops: tuple[DropLimit, ...]

    @classmethod
    def of(cls, needed: Requirements) -> SumLimits:
        """Return the limits that requirements put on gain, low end and top end.

        Parameters
        ----------
        needed : Requirements
            What the stage must do.
        """
        wanted = abs(needed.gain)
        band = tuple(math.log(wanted * (1.0 + s * needed.gain_tolerance)) for s in (-1.0, 1.0))
        drops = []
        if needed.low_cutoff is not None:
            drops.append(DropLimit("low_cutoff", needed.low_cutoff, _HALF, -1))
        if needed.droop is not None:
            allowed = needed.droop.db * math.log(10.0) / 20.0
            drops.append(DropLimit("droop", needed.droop.frequency, allowed, -1))
        if needed.rumble_floor is not None:
            drops.append(DropLimit("rumble_floor", needed.rumble_floor, _HALF, 1))
        if needed.high_cutoff is not None and needed.opamp is not None:
            drops.append(DropLimit("high_cutoff", needed.high_cutoff, _HALF, -1))
        return cls((band[0], band[1]), tuple(drops))

    def widened(self, slack: float) -> SumLimits:
        """Return the limits with some room, where sums are not exact.

        Parameters
        ----------
        slack : float
            ln.
        """
        drops = tuple(
            DropLimit(d.requirement, d.frequency, d.limit - d.sign * slack, d.sign) for d in self.drops
        )
        return SumLimits((self.gain[0] - slack, self.gain[1] + slack), drops)
