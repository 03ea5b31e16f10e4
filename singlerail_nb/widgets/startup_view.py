"""Waking up, as a view: node voltages on a volts axis from the first moment of the rail."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from ..analysis.stage import Stage
from ..analysis.startup import brown_out, power_down, startup
from ..analysis.startup_reports import reverse_voltages, thump
from ..analysis.startup_run import Startup
from ..circuit.supplies import Supply
from ..errors import UnknownNameError
from ..quantities import write_quantity
from .answers import axis, curve, nice_above, row, thinned
from .computed import Choice, Computed, Progress

WITHIN = 0.01
"""Settled means: this close to the final voltage, as a share of the rail."""
SAG_SHARE, SAG_TIME = 0.5, 0.1
"""Depth of the sag where no rail range is known, as a share of the rail, and how long it lasts, s."""
_SHOWN_AFTER = 1.3
"""End of the time axis over the settling time of the slowest node."""
_NODES = ("bias", "plus", "amp_out", "output")


def _switch_on(stage: Stage, rail: Supply | None) -> Startup:
    return startup(stage, ramp_time=0.0 if rail is None else rail.rise_time)


def _sag(stage: Stage, _rail: Supply | None) -> Startup:
    return brown_out(stage, sag=SAG_SHARE * stage.supply, duration=SAG_TIME)


def _switch_off(stage: Stage, _rail: Supply | None) -> Startup:
    return power_down(stage)


_EVENTS: dict[str, Callable[[Stage, Supply | None], Startup]] = {
    "switch on": _switch_on,
    f"rail sags to half for {write_quantity(SAG_TIME, 's')}": _sag,
    "switch off": _switch_off,
}


def startup_view() -> Computed:
    """Return the voltages of the stage after its rail comes on, sags or goes; it follows the sliders."""
    event = Choice("event", "What the rail does", tuple(_EVENTS))
    return Computed(title="Start-up", follow=_answer, choices=(event,), on_rail=True)


def _answer(stage: Stage, _progress: Progress, *, event: str, rail: Supply | None) -> dict[str, Any]:
    run = _EVENTS[event](stage, rail)
    nodes = shown_nodes(stage)
    settled = {node: run.settling_time(node, volts=WITHIN * stage.supply) for node in nodes}
    last = nice_above(max(_SHOWN_AFTER * max(settled.values()), run.times[-1] * 1e-6, 1e-6))
    sentences = [f"{node} {_settling(run, node, settled[node])}" for node in nodes]
    phases = [
        f"{p.opamp} at its {p.side} limit from {_seconds(p.start)} to {_seconds(p.end)}"
        for p in run.saturated
    ]
    return {
        "plots": [_plot(run, nodes, last, event)],
        "rows": [
            *(row(node, _settling(run, node, settled[node])) for node in nodes),
            *(row("Saturated", phase) for phase in phases),
            *_at_the_load(run), *_reversed(run),
        ],
        "summary": f"{event}: " + "; ".join([*sentences, *phases]),
        "remarks": [f"Settled: within 1 % of the rail ({_volts(WITHIN * stage.supply)}) for good."],
    }  # fmt: skip


def shown_nodes(stage: Stage) -> list[str]:
    """Return the nodes of the usual names that the stage has, each node once.

    Parameters
    ----------
    stage : Stage
        The stage.
    """
    found: dict[str, str] = {}
    for name in _NODES:
        try:
            found.setdefault(stage.circuit.node(name), name)
        except UnknownNameError:  # not every stage has a mid-rail bias or an output coupling
            continue
    return list(found.values())


def _seconds(time: float) -> str:
    return write_quantity(time, "s", 3)


def _volts(volts: float) -> str:
    return write_quantity(volts, "V", 3)


def _settling(run: Startup, node: str, seconds: float) -> str:
    final = run.final_voltage(node)
    rests = write_quantity(0.0 if abs(final) < 1e-6 * run.rail.highest else final, "V")
    return f"rests at {rests}, settled after {_seconds(seconds)}"


def _plot(run: Startup, nodes: list[str], last: float, event: str) -> dict[str, Any]:
    inside = run.times[run.times < last]
    time = np.unique(np.concatenate([[0.0, last], inside, np.linspace(0.0, last, 200)]))
    corners = [int(np.searchsorted(time, segment.start)) for segment in run.segments]
    time = time[thinned(len(time), [place for corner in corners for place in (corner - 1, corner)])]
    rail = run.voltage("supply", time)
    curves = [curve(node, time, run.voltage(node, time), slot) for slot, node in enumerate(nodes)]
    lowest = min(0.0, *(min(drawn["ys"]) for drawn in curves))
    spans = [
        {"x0": p.start, "x1": min(p.end, last), "label": "saturated"} for p in run.saturated if p.start < last
    ]
    return {
        "title": f"Node voltages: {event}", "height": 340,
        "x": axis("time", "s", (0.0, last), scale="linear"),
        "y": axis("volts to ground", "V", (1.08 * lowest, 1.08 * run.rail.highest)),
        "curves": [*curves, curve("rail", time, rail, 4)], "spans": spans,
    }  # fmt: skip


def _at_the_load(run: Startup) -> list[dict[str, str]]:
    if "r_load" not in run.stage.values:
        return []
    felt = thump(run)
    peak = f"{write_quantity(felt.peak.volts, 'Vp', 3)} at {_seconds(felt.peak.time)}"
    heat = f", {write_quantity(felt.energy * 1e6, 'ratio', 3)} µJ" if np.isfinite(felt.energy) else ""
    return [row("Peak at the load", peak + heat)]


def _reversed(run: Startup) -> list[dict[str, str]]:
    return [
        row(f"Reverse voltage on {name}", f"{_volts(worst.volts)} at {_seconds(worst.time)}")
        for name, worst in reverse_voltages(run).items()
    ]
