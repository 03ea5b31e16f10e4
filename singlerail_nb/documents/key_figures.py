"""The figures of a design that a reader asks for first, and that a re-issue compares."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..analysis.noise import noise
from ..analysis.operating_point import operating_point
from ..analysis.startup import startup
from ..analysis.supply_rejection import supply_rejection
from ..designing.synthesis import Design
from ..quantities import write_quantity

RIPPLE_LINE = 100.0
"""Frequency at which ripple is stated, Hz."""
WITHIN = 0.01
"""Share of the resting voltage at which the output counts as settled."""


@dataclass(frozen=True)
class KeyFigure:
    """One figure.

    Attributes
    ----------
    name : str
        In words.
    value : float
        SI units.
    unit : str
        As `write_quantity` knows it.
    """

    name: str
    value: float
    unit: str

    @property
    def text(self) -> str:
        """The value with its unit."""
        return write_quantity(self.value, self.unit)


def key_figures(design: Design) -> tuple[KeyFigure, ...]:
    """Return gain, ends of the band, resting point, ripple, noise and start-up of a design.

    Parameters
    ----------
    design : Design
        The design.
    """
    stage = design.stage
    whole = stage.transfer("signal", "output")
    demands = design.requirements.demands
    band = (demands.number("noise_low"), demands.number("noise_high"))
    found = [
        KeyFigure("mid-band gain", whole.midband_gain(), "V/V"),
        KeyFigure("low-end cut-off", whole.low_cutoff(), "Hz"),
        KeyFigure("top-end cut-off", whole.high_cutoff(), "Hz"),
        KeyFigure("resting output of the amplifier", operating_point(stage).voltage("amp_out"), "V"),
    ]
    for state in ("connected", "open"):
        ratio = abs(supply_rejection(stage, source=state).total(RIPPLE_LINE))
        level = 20.0 * math.log10(ratio) if ratio > 0 else -math.inf
        found.append(KeyFigure(f"rail to output at {RIPPLE_LINE:g} Hz, source {state}", level, "dB"))
    where = f"{write_quantity(band[0], 'Hz')} to {write_quantity(band[1], 'Hz')}"
    found.append(KeyFigure(f"noise at the output, {where}", noise(stage).rms(*band), "Vrms"))
    waking = startup(stage).settling_time("amp_out", within=WITHIN)
    found.append(KeyFigure(f"amplifier within {WITHIN:.0%} after", waking, "s"))
    capacitance = sum(v for n, v in stage.values.items() if n.startswith("c_"))
    found.append(KeyFigure("all capacitance", capacitance, "F"))
    return tuple(found)
