"""Every requirement against the figure of the real circuit."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal, TypeVar

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

    def figure_text(self, digits: int = 4) -> str:
        """Return the figure; if it fails, with as many digits as it takes to see that it misses.

        Parameters
        ----------
        digits : int
            Significant digits if these are enough.
        """
        ends = (self.limit - self.band, self.limit + self.band)
        for enough in range(digits, _MOST_DIGITS):
            text = write_quantity(self.value, self.unit, enough)
            if self.status == "pass" or text not in [write_quantity(end, self.unit, enough) for end in ends]:
                return text
        return write_quantity(self.value, self.unit, _MOST_DIGITS)

    @property
    def row(self) -> tuple[str, ...]:
        """Id, requirement, figure, limit, margin and verdict, for a table."""
        margin = "-" if math.isinf(self.margin) else f"{round(100.0 * self.margin, 1) + 0.0:.1f} %"
        return (self.id, self.requirement, self.figure_text(), self.limit_text, margin, self.status)

    def __repr__(self) -> str:
        return f"<Check {self.text.strip()}>"

    @property
    def text(self) -> str:
        """One line: what, figure, limit, verdict."""
        return f"{self.id} {self.requirement}: {self.figure_text()} ({self.limit_text}) {self.status}"


_MOST_DIGITS = 12
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
    checks = [make(stage, needed) for make in checkers(needed)]
    return tuple(replace(check, id=f"R{number}") for number, check in enumerate(checks, 1))


Checker = Callable[[Stage, Requirements], Check]


def checkers(needed: Requirements) -> tuple[Checker, ...]:
    """Return a function for each requirement that finds its figure only, in the order of `verify`.

    Parameters
    ----------
    needed : Requirements
        What is asked.
    """
    asked: list[tuple[Checker, bool]] = [
        (_gain, True),
        (_impedance, True),
        (_top_end, needed.high_cutoff is not None),
        (_low_end, needed.low_cutoff is not None),
        (_droop, needed.droop is not None),
        (_rumble, needed.rumble_floor is not None),
        (_divider_current, True),
        (_bias_filter, True),
        (_dc_gain, True),
    ]
    return tuple(make for make, wanted in asked if wanted)


def _gain(stage: Stage, needed: Requirements) -> Check:
    wanted = abs(needed.gain)
    return Check(
        requirement="mid-band gain",
        value=stage.transfer("signal", "output").midband_gain(),
        limit=wanted,
        kind="within",
        unit="V/V",
        method="mid-band value of the whole network, source and load connected",
        band=wanted * needed.gain_tolerance,
    )


def _impedance(stage: Stage, needed: Requirements) -> Check:
    return Check(
        requirement="input impedance",
        value=stage.midband_input_impedance(),
        limit=needed.input_impedance,
        kind="at least",
        unit="ohm",
        method="mid-band value seen by the source",
    )


def _top_end(stage: Stage, needed: Requirements) -> Check:
    cutoff = stage.transfer("signal", "output").high_cutoff()
    method = "upper root of |H|² = mid-band²/2"
    return Check("top-end cut-off", cutoff, _asked(needed.high_cutoff), "at least", "Hz", method)


_LOWER_ROOT = "lower root of |H|² = mid-band²/2, whole network"


def _low_end(stage: Stage, needed: Requirements) -> Check:
    cutoff = stage.transfer("signal", "output").low_cutoff()
    return Check("low-end cut-off", cutoff, _asked(needed.low_cutoff), "at most", "Hz", _LOWER_ROOT)


def _droop(stage: Stage, needed: Requirements) -> Check:
    whole, droop = stage.transfer("signal", "output"), _asked(needed.droop)
    drop = 20.0 * math.log10(whole.midband_gain() / abs(whole(droop.frequency)))
    where = write_quantity(droop.frequency, "Hz")
    return Check(f"droop at {where}", drop, droop.db, "at most", "dB", "gain below mid-band")


def _rumble(stage: Stage, needed: Requirements) -> Check:
    cutoff = stage.transfer("signal", "output").low_cutoff()
    return Check("rumble floor", cutoff, _asked(needed.rumble_floor), "at least", "Hz", _LOWER_ROOT)


def _divider_current(stage: Stage, needed: Requirements) -> Check:
    return Check(
        requirement="divider current",
        value=stage.divider_current(),
        limit=needed.divider_current,
        kind="at most",
        unit="A",
        method="supply over the DC resistance of the divider, judged at the nominal rail",
    )


def _bias_filter(stage: Stage, needed: Requirements) -> Check:
    return Check(
        requirement="bias-filter corner",
        value=stage.bias_filter().high_cutoff(),
        limit=needed.bias_filter_ratio * needed.target_cutoff,
        kind="at most",
        unit="Hz",
        method="corner of the bias source alone",
    )


def _dc_gain(stage: Stage, needed: Requirements) -> Check:  # noqa: ARG001 -- asked of every stage
    return Check(
        requirement="DC gain for the bias",
        value=abs(stage.transfer(InputError("opamp"), "amp_out")(0.0)),
        limit=1.0,
        kind="within",
        unit="V/V",
        method="noise gain at DC: the bias must be passed on, not amplified",
        band=0.01,
    )


_T = TypeVar("_T")


def _asked(limit: _T | None) -> _T:
    """Return a limit that is asked."""
    if limit is None:
        raise TypeError("a requirement that is not asked was checked")
    return limit
