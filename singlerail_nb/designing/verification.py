"""Every requirement against the figure of the real circuit."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from ..analysis.stage import Stage
from ..circuit.nodal_analysis import InputError
from ..quantities import write_quantity
from .requirements import Requirements

Limit = Literal["at least", "at most", "within"]
Status = Literal["pass", "fail"]


@dataclass(frozen=True)
class Check:
    """One requirement and what the stage makes of it.

    Attributes
    ----------
    requirement : str
        The requirement in words.
    value : float
        The figure of the stage.
    limit : float
        What it is compared with.
    kind : "at least", "at most" or "within"
        How; "within" compares with ``limit`` plus and minus ``band``.
    unit : str
        Unit of value and limit.
    method : str
        How the figure was found.
    band : float
        Half width of the band for "within", in the unit of the limit.
    id : str
        Identifier, such as "R3".
    """

    requirement: str
    value: float
    limit: float
    kind: Limit
    unit: str
    method: str
    band: float = 0.0
    id: str = ""

    @property
    def margin(self) -> float:
        """How far inside the limit the figure is, relative to the limit; negative outside."""
        if self.kind == "within":
            return (self.band - abs(self.value - self.limit)) / abs(self.limit)
        if math.isinf(self.value):
            return math.inf if self.kind == "at least" else -math.inf
        sign = 1.0 if self.kind == "at least" else -1.0
        return sign * (self.value - self.limit) / abs(self.limit)

    @property
    def status(self) -> Status:
        """The verdict: "pass" or "fail"."""
        return "pass" if self.margin >= -_ROUNDING else "fail"

    @property
    def limit_text(self) -> str:
        """The limit in words."""
        limit = write_quantity(self.limit, self.unit)
        if self.kind == "within":
            return f"{limit} ± {write_quantity(self.band, self.unit)}"
        return f"{self.kind} {limit}"

    @property
    def row(self) -> tuple[str, ...]:
        """Id, requirement, figure, limit, margin and verdict, for a table."""
        margin = "-" if math.isinf(self.margin) else f"{round(100.0 * self.margin, 1) + 0.0:.1f} %"
        figure = write_quantity(self.value, self.unit)
        return (self.id, self.requirement, figure, self.limit_text, margin, self.status)

    @property
    def text(self) -> str:
        """One line: what, figure, limit, verdict."""
        figure = write_quantity(self.value, self.unit)
        return f"{self.id} {self.requirement}: {figure} ({self.limit_text}) {self.status}"


_ROUNDING = 1e-8
"""Relative slack: a preferred value counts as the exact one within 1e-9, and several may add up."""


def verify(stage: Stage, needed: Requirements) -> tuple[Check, ...]:
    """Return every requirement with its figure on the full network.

    Parameters
    ----------
    stage : Stage
        The stage to judge.
    needed : Requirements
        What it must do.
    """
    checks = [*_mid_band(stage, needed), *_low_end(stage, needed), *_bias(stage, needed)]
    return tuple(replace(check, id=f"R{number}") for number, check in enumerate(checks, 1))


def _mid_band(stage: Stage, needed: Requirements) -> Iterator[Check]:
    whole = stage.transfer("signal", "output")
    wanted = abs(needed.gain)
    yield Check(
        requirement="mid-band gain",
        value=whole.midband_gain(),
        limit=wanted,
        kind="within",
        unit="V/V",
        method="mid-band value of the whole network, source and load connected",
        band=wanted * needed.gain_tolerance,
    )
    yield Check(
        requirement="input impedance",
        value=stage.input_impedance().midband_gain(),
        limit=needed.input_impedance,
        kind="at least",
        unit="ohm",
        method="mid-band value seen by the source",
    )
    if needed.high_cutoff is not None:
        yield Check(
            requirement="top-end cut-off",
            value=whole.high_cutoff(),
            limit=needed.high_cutoff,
            kind="at least",
            unit="Hz",
            method="upper root of |H|² = mid-band²/2",
        )


def _low_end(stage: Stage, needed: Requirements) -> Iterator[Check]:
    whole = stage.transfer("signal", "output")
    cutoff, method = whole.low_cutoff(), "lower root of |H|² = mid-band²/2, whole network"
    if needed.low_cutoff is not None:
        yield Check("low-end cut-off", cutoff, needed.low_cutoff, "at most", "Hz", method)
    if needed.droop is not None:
        drop = 20.0 * math.log10(whole.midband_gain() / abs(whole(needed.droop.frequency)))
        where = write_quantity(needed.droop.frequency, "Hz")
        yield Check(f"droop at {where}", drop, needed.droop.db, "at most", "dB", "gain below mid-band")
    if needed.rumble_floor is not None:
        yield Check("rumble floor", cutoff, needed.rumble_floor, "at least", "Hz", method)


def _bias(stage: Stage, needed: Requirements) -> Iterator[Check]:
    yield Check(
        requirement="divider current",
        value=stage.divider_current(),
        limit=needed.divider_current,
        kind="at most",
        unit="A",
        method="supply over the DC resistance of the divider",
    )
    yield Check(
        requirement="bias-filter corner",
        value=stage.bias_filter().high_cutoff(),
        limit=needed.bias_filter_ratio * needed.target_cutoff,
        kind="at most",
        unit="Hz",
        method="corner of the bias source alone",
    )
    yield Check(
        requirement="DC gain for the bias",
        value=abs(stage.transfer(InputError("opamp"), "amp_out")(0.0)),
        limit=1.0,
        kind="within",
        unit="V/V",
        method="noise gain at DC: the bias must be passed on, not amplified",
        band=0.01,
    )
