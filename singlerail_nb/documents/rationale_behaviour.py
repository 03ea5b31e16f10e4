"""Sections of a design rationale on start-up, shutdown, faults, noise, rejection and stability."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ..analysis.noise import Noise, noise
from ..analysis.stability import loop_gain
from ..analysis.startup import power_down, startup
from ..analysis.startup_reports import input_violations, reverse_voltages, thump
from ..analysis.startup_run import Startup
from ..analysis.supply_rejection import supply_rejection
from ..designing.synthesis import Design
from ..errors import CircuitError
from ..plots.noise import noise_picture
from ..plots.response import bias_filter_picture
from ..plots.startup import startup_picture
from ..quantities import write_quantity
from .document import Block, Heading, Items, Paragraph, Table
from .faults import fault_table
from .key_figures import WITHIN
from .pictures import drawing
from .wording import symbol, typeset

RIPPLE_LINES = (50.0, 60.0, 100.0, 120.0)
_MOST_NOISY = 6
_WATCHED = ("bias", "plus", "amp_out", "output")


def waking_up(made: Design) -> Iterator[Block]:
    """Yield start-up, shutdown and the symptoms of failed parts.

    Parameters
    ----------
    made : Design
        The design.
    """
    stage = made.stage
    run = startup(stage)
    yield Heading("Start-up, shutdown and faults")
    nodes = [name for name in _WATCHED if stage.circuit.has_node(name)]
    yield drawing(startup_picture(run, nodes), "Node voltages after the rail steps up.")
    watched = [name for name in ("bias", "amp_out") if name in nodes]
    settled = [f"{n} {write_quantity(run.settling_time(n, within=WITHIN), 's')}" for n in watched]
    stuck = sum(s.end - s.start for s in run.saturated)
    rows = (
        (f"within {WITHIN:.0%} after", ", ".join(settled)),
        ("amplifier at a limit for", write_quantity(stuck, "s") if stuck else "no time"),
        ("op-amp inputs outside their range", _outside(run)),
        *_phase("waking up", run),
        *_phase("going to sleep", power_down(stage)),
    )
    yield Table(("what", "figure"), rows, "The rail steps from 0 V to nominal, and from nominal to 0 V.")
    faults = tuple((symbol(f.part), f.state, typeset(f.symptom)) for f in fault_table(stage))
    yield Table(("part", "fails", "symptom"), faults, "One part failed at a time, rail nominal.")


def _phase(name: str, run: Startup) -> Iterator[tuple[str, str]]:
    bang = thump(run)
    peak = f"{write_quantity(bang.peak.volts, 'Vp')}, {write_quantity(bang.peak.time, 's')} after the step"
    yield (f"largest output voltage {name}", peak)
    wrong = [f"{symbol(n)} {write_quantity(-e.volts, 'V')}" for n, e in reverse_voltages(run).items()]
    yield (f"reverse voltage {name}", ", ".join(wrong) or "on no capacitor")


def _outside(run: Startup) -> str:
    record = run.stage.opamp
    if record is None or record.common_mode_low is None or record.common_mode_high is None:
        return "not known"
    found = input_violations(run)
    words = [f"{v.node} too {v.side} for {write_quantity(v.end - v.start, 's')}" for v in found]
    return ", ".join(words) or "never"


def noise_and_rejection(made: Design) -> Iterator[Block]:
    """Yield noise, supply rejection and stability with the limits of the model.

    Parameters
    ----------
    made : Design
        The design.
    """
    demands = made.requirements.demands
    band = (demands.number("noise_low"), demands.number("noise_high"))
    noisy = noise(made.stage)
    yield Heading("Noise, supply rejection and stability")
    yield drawing(noise_picture(noisy, *band), "Noise density at the output by source.")
    yield _contributors(noisy, band)
    yield _ripple(made)
    rejection = {state: supply_rejection(made.stage, source=state) for state in ("connected", "open")}
    lines = tuple(
        (write_quantity(f, "Hz"), *(_decibels(abs(found.total(f))) for found in rejection.values()))
        for f in RIPPLE_LINES
    )
    yield Table(
        ("ripple line", "source connected", "source open"), lines,
        "Rail to output by both paths, bias and op-amp: 20 dB more than 0 dB is ten times amplified.",
    )  # fmt: skip
    yield from _stability(made)
    yield Heading("Limits of the model", 3)
    yield Items(_LIMITS)


def _ripple(made: Design) -> Block:
    try:
        picture = bias_filter_picture(made.stage)
    except CircuitError:  # a reference: the bias is not made from the rail
        return Paragraph("No ripple of the rail comes by way of the bias, so none is drawn.")
    return drawing(picture, "Ripple of the rail at the bias node and at the output.")


_LIMITS = (
    "Linear between hard limits, with one pole per op-amp: slew rate only where it is asked, no distortion.",
    "No layout, no stray capacitance, no self-heating; noise at 300 K.",
    "No device spread beyond the tolerances given; op-amp figures are typical ones unless a row says worst.",
    "Ripple is small and sinusoidal; transients on the rail are outside.",
)


def _contributors(noisy: Noise, band: tuple[float, float]) -> Table:
    by_source = noisy.rms_by_source(*band)
    total = noisy.rms(*band)
    ordered = sorted(by_source, key=lambda name: -by_source[name])[:_MOST_NOISY]
    rows = tuple(
        (typeset(n), write_quantity(by_source[n], "Vrms"), f"{100 * (by_source[n] / total) ** 2:.3g} %")
        for n in ordered
    )
    where = f"{write_quantity(band[0], 'Hz')} to {write_quantity(band[1], 'Hz')}"
    return Table(
        ("contributor", "at the output", "share of the square"), rows,
        f"Noise at the output, {where}: {write_quantity(total, 'Vrms')} in all.",
    )  # fmt: skip


def _stability(made: Design) -> Iterator[Block]:
    if made.stage.opamp is None:
        yield Paragraph("Stability: the op-amp is ideal, so there is nothing to state.")
        return
    load = made.requirements.demands.number("load_capacitance")
    rows = []
    for pins in made.stage.circuit.opamps:
        for farad in dict.fromkeys((0.0, load, 100e-12, 1e-9)):
            found = loop_gain(made.stage, pins.name, load_capacitance=farad)
            margin = "no crossover" if math.isinf(found.phase_margin) else f"{found.phase_margin:.3g}°"
            crossover = write_quantity(found.crossover, "Hz")
            rows.append((write_quantity(farad, "F"), crossover, margin))
    yield Table(
        ("capacitance at the amplifier output", "crossover", "phase margin"), tuple(rows),
        "Loop gain of the real network. From 45° on is common practice, no published source.",
    )  # fmt: skip


def _decibels(ratio: float) -> str:
    return write_quantity(20.0 * math.log10(ratio) if ratio > 0 else -math.inf, "dB")
