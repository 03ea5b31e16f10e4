"""The rows of the measurement table: what the instruments will show, with their loading."""

from __future__ import annotations

import math

from .asks import Ask, Setup, Slip
from .task import Task

_COUPLING_CORNER = 10.0
_HALF_VOLTAGE_DB = 20.0 * math.log10(2.0)


def _through_ac_input(task: Task) -> float:
    """Return the cut-off that an AC-coupled input shows, Hz."""
    if task.probe is None:
        return math.nan
    node, known = task.probe
    coupling = 1.0 / (2.0 * math.pi * known.resistance * _COUPLING_CORNER)
    coupled = type(known)(
        known.name, known.title, known.resistance, known.capacitance, known.accuracy, coupling
    )
    return task.at(node, coupled).whole.low_cutoff()


BENCH: tuple[Ask, ...] = (
    Ask(
        "m_bias",
        "Resting voltage of the bias node",
        "V",
        lambda t: t.rest("bias"),
        (
            Slip(
                "divider swapped",
                "R_A and R_B are exchanged on the board",
                lambda t: t.changed(r_top=t.stage.values["r_bottom"], r_bottom=t.stage.values["r_top"]).rest(
                    "bias"
                ),
            ),
        ),
        parts=("r_top", "r_bottom"),
        setup=Setup("bias", "meter", "No signal.", rests=True),
    ),
    Ask(
        "m_rest",
        "Resting voltage of the op-amp output",
        "V",
        lambda t: t.rest("amp_out"),
        setup=Setup("amp_out", "meter", "No signal. Wait until it has settled.", rests=True),
    ),
    Ask(
        "m_output",
        "Output at mid-band",
        "Vpp",
        lambda t: t.amplitude * abs(t.gain()),
        (
            Slip(
                "source forgotten",
                "the source resistor is missing on the board",
                lambda t: t.amplitude * abs(t.changed(r_source=0.0).gain()),
            ),
        ),
        setup=Setup("output", "scope", "Source {amplitude} at 1 kHz, through $R_s$."),
    ),
    Ask(
        "m_cutoff",
        "Frequency at which the output has fallen to 0.707",
        "Hz",
        lambda t: t.whole.low_cutoff(),
        (
            Slip(
                "half the voltage",
                "taken at half the voltage (-6 dB) instead of at 0.707",
                lambda t: t.whole.low_cutoff(_HALF_VOLTAGE_DB),
            ),
            Slip(
                "AC coupling",
                "the oscilloscope was AC coupled: its own corner is in the reading",
                _through_ac_input,
            ),
        ),
        setup=Setup("output", "scope", "Source {amplitude}; keep its amplitude, lower the frequency."),
    ),
    Ask(
        "m_swing",
        "Largest output before one side clips",
        "Vpp",
        lambda t: t.swing(),
        (
            Slip(
                "both sides clip",
                "taken when both sides clipped: the first side counts",
                lambda t: 2.0 * max(t.rooms()),
            ),
        ),
        setup=Setup("amp_out", "scope", "1 kHz; raise the amplitude until one side flattens."),
    ),
    Ask(
        "m_ripple",
        "Ripple at the output",
        "Vpp",
        lambda t: t.rejection(),
        (Slip("source left out", "the source was disconnected", lambda t: t.rejection("open")),),
        parts=("c_bias",),
        setup=Setup(
            "output",
            "scope",
            "Source connected, at 0 V. Rail with {ripple} at {line}, from a supply made to be modulated.",
        ),
    ),
    Ask(
        "m_ready",
        "Time until + input and op-amp output stay within 1 % of rest",
        "s",
        lambda t: t.ready(),
        parts=("c_bias",),
        setup=Setup(
            "amp_out",
            "scope",
            "Capacitors discharged; switch the rail on; single sweep. The later of the two nodes counts.",
        ),
    ),
)
"""Every row of the measurement table."""
