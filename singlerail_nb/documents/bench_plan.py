"""How each requirement is tested on the bench: set-up, stimulus, expected band, room for the result."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ..analysis.tolerance import ToleranceReport
from ..designing.review import ReviewRow
from ..designing.synthesis import Design
from ..measurement.instruments import INSTRUMENTS, loaded
from ..quantities import write_quantity
from .document import Block, Heading, Paragraph, Table
from .extremes import Judged

_MIDDLE, _HIGHEST = 1e3, 1e6
_ABOVE_THE_CORNER = 10.0
"""Cut-offs above the low end where an impedance is measured: mid-band, and low for stray capacitance."""
_SETUPS = {
    "mid-band gain": "sine {level} at {middle}; amplitudes of source and output",
    "input impedance": "sine at {low}, extra {limit} in series: the output must keep at least {kept}",
    "low-end cut-off": "sine {level}, frequency down until the output is 3.01 dB below that at {middle}",
    "rumble floor": "sine {level}, frequency down until the output is 3.01 dB below that at {middle}",
    "top-end cut-off": "sine {level}, frequency up until the output is 3.01 dB below that at {middle}",
    "droop": "sine {level} at the stated frequency against {middle}",
    "divider current": "no signal; voltage across the upper bias resistor over its resistance",
    "bias-filter corner": "small sine on the rail, frequency up until the bias node has dropped by 3.01 dB",
    "DC gain for the bias": "no signal; amplifier output against bias node: equal",
    "rail for the op-amp": "lowest and highest rail, at the pins of the op-amp",
    "undistorted output swing": "sine at {middle}, up until the output clips; lowest rail, full load",
    "full-power bandwidth": "full swing, frequency up until the sine becomes a triangle",
    "output noise in the band": "input closed with the source resistance; rms of the output in the band",
    "DC error at the output": "no signal; amplifier output against its calculated rest, every rail",
    "phase margin": "square wave of 50 mVpp, stated capacitance at the output; overshoot",
    "supply current at rest": "no signal; current of the rail, every rail",
}


def bench_plan(made: Design, report: ToleranceReport, judged: tuple[Judged, ...]) -> Iterator[Block]:
    """Yield one row per requirement with its set-up, the expected band and room for what the bench says.

    Parameters
    ----------
    made : Design
        The design.
    report : ToleranceReport
        Gives the bands.
    judged : tuple of Judged
        Requirements at the ends of the tolerances.
    """
    bands = {row.label: row.cells[2] for row in report.rows} | {
        j.row.requirement: j.range_text for j in judged
    }
    rows = []
    for row in made.checks:
        expected = bands.get(row.requirement) or _at_rails(row)
        rows.append((row.id, _setup(row, made), row.worst.limit_text, expected, "", "", ""))
    yield Heading("Test plan")
    header = ("id", "set-up and stimulus", "limit", "expected", "measured", "pass", "instrument")
    yield Table(header, tuple(rows), "Source and load as stated, rail nominal unless said otherwise.")
    yield Paragraph(
        "Expected is the band of parts within tolerance; of what was not analysed at the extremes, the "
        f"figure of nominal parts from the lowest to the highest rail. {_loading(made)}"
    )


def _at_rails(row: ReviewRow) -> str:
    ends = (write_quantity(check.value, check.unit, 3) for check in (row.checks[0], row.checks[-1]))
    return " to ".join(dict.fromkeys(ends))


def _setup(row: ReviewRow, made: Design) -> str:
    whole = made.stage.transfer("signal", "output")
    middle = whole.midband.frequency
    swing = made.requirements.demands.output_swing
    output = float(swing) / 2.0 if swing is not None else made.requirements.lowest_supply / 10.0
    low = min(middle, _ABOVE_THE_CORNER * whole.low_cutoff()) or _MIDDLE
    numbers = {
        "low": write_quantity(low if low < _HIGHEST else _MIDDLE, "Hz", 2),
        "kept": _kept(made),
        "level": write_quantity(output / max(whole.midband_gain(), 1e-12), "Vpp", 2),
        "middle": write_quantity(middle if 0.0 < middle < _HIGHEST else _MIDDLE, "Hz", 2),
        "limit": row.worst.limit_text.removeprefix("at least "),
    }
    for name, words in _SETUPS.items():
        if row.requirement.startswith(name):
            return f"{row.requirement}: {words.format(**numbers)}"
    return row.requirement


def _kept(made: Design) -> str:
    """Return what is left of the output with the least impedance once more in series with the source."""
    impedance, source = made.requirements.input_impedance, made.requirements.source_resistance
    return f"{100.0 * (impedance + source) / (2.0 * impedance + source):.3g} % of what it was without"


def _loading(made: Design) -> str:
    """Return how far instruments pull down the nodes that are usually looked at."""
    meter, scope = INSTRUMENTS["meter"], INSTRUMENTS["scope_1x"]
    inside = made.stage.node_impedance("bias")(0.0).real
    shares = [f"{100.0 * inside / (inside + k.resistance):.2g} % ({k.title})" for k in (meter, scope)]
    words = f"Instruments load what they look at: the bias node reads low by {' and '.join(shares)}."
    top = made.stage.transfer("signal", "output").high_cutoff()
    if math.isfinite(top):
        read = loaded(made.stage, "output", scope).transfer("signal", "probe").high_cutoff()
        was, seen_as = (write_quantity(f, "Hz") for f in (top, read))
        moved = "does not move" if seen_as == was else f"moves from {was} to {seen_as}"
        words += f" At the output the top-end cut-off {moved} ({scope.title})."
    return words
