"""The spread of many boards as a view: bands while dragging, and the extremes on demand."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import Executor
from typing import Any

import numpy as np

from ..analysis.sensitivity import sensitivities
from ..analysis.stage import Stage
from ..analysis.tolerance_catalogue import standard_figures
from ..analysis.tolerance_figures import Figure
from ..analysis.tolerance_results import Spread
from ..analysis.tolerance_runs import monte_carlo, worst_case
from ..circuit.printed_names import symbol_name
from ..quantities import write_quantity
from .answers import axis, curve, nice_above, numbers, row
from .computed import Choice, Computed, Progress

QUICK, MANY = 400, 200_000
"""Boards while dragging, and behind the button."""
SEED = 1
_FREQUENCIES, _BINS = 70, 24
_RESISTORS, _CAPACITORS = ("1 %", "5 %", "0.1 %"), ("10 %", "20 %", "5 %")
_SHOWN = ("midband_gain", "low_cutoff")
_PARTS = "resistors and capacitors uniform within their tolerance"

Figures = Mapping[str, Figure]


def spread_view() -> Computed:
    """Return the band of response and cut-off over random boards, and which part moves them."""
    choices = (
        Choice("resistors", "Resistors ±", _RESISTORS),
        Choice("capacitors", "Capacitors ±", _CAPACITORS),
    )
    action = f"{MANY:,} boards and the worst case".replace(",", " ")
    return Computed(title="Spread", follow=_quick, compute=_thorough, action=action, choices=choices)


def _quick(stage: Stage, _progress: Progress, *, resistors: str, capacitors: str) -> dict[str, Any]:
    figures = _figures(stage)
    return _answer(_boards(stage, figures, QUICK, _tolerances(stage, resistors, capacitors)), figures)


def _thorough(stage: Stage, progress: Progress, *, resistors: str, capacitors: str) -> dict[str, Any]:
    figures, tolerances = _figures(stage), _tolerances(stage, resistors, capacitors)
    answer = _answer(_boards(stage, figures, MANY, tolerances, _Told(progress)), figures)
    progress(0.9, "worst case")
    worst = worst_case(stage, tolerances)
    for name, figure in figures.items():
        found = worst[name]
        text = f"{_range(found.limits, figure.unit)}. {found.verdict}"
        answer["rows"].append(row(f"Worst case, {figure.label}", text))
    return answer


class _Told(Executor):
    """Runs jobs one after the other and tells how far it has come."""

    def __init__(self, progress: Progress) -> None:
        self._progress = progress

    def map(self, fn: Callable[..., Any], *iterables: Iterable[Any], **_: Any) -> Iterator[Any]:
        jobs = list(zip(*iterables, strict=True))
        for k, job in enumerate(jobs):
            self._progress(0.9 * k / len(jobs), f"{k} of {len(jobs)} blocks of boards")
            yield fn(*job)


def _tolerances(stage: Stage, resistors: str, capacitors: str) -> dict[str, str]:
    kinds = {"resistor": resistors, "capacitor": capacitors}
    return {part.name: kinds[part.kind].replace(" ", "") for part in stage.circuit.parts}


def _figures(stage: Stage) -> dict[str, Figure]:
    known = standard_figures(stage)
    return {name: known[name] for name in _SHOWN if name in known}


def _boards(
    stage: Stage, figures: Figures, count: int, tolerances: Mapping[str, str], told: Executor | None = None
) -> Spread:
    wanted = tuple(figures.values())
    return monte_carlo(stage, count, tolerances, seed=SEED, figures=wanted, executor=told, blocks_per_job=1)


def _answer(spread: Spread, figures: Figures) -> dict[str, Any]:
    stage = spread.tolerances.stage
    ranges = {name: _range(spread.percentiles(name), figure.unit) for name, figure in figures.items()}
    told = [f"{figure.label} {ranges[name]}" for name, figure in figures.items()]
    share = f"98 % of {spread.boards} boards"
    return {
        "plots": [_band(spread), *([_histogram(spread)] if "low_cutoff" in figures else [])],
        "bars": [_bars(stage, figure) for figure in figures.values()],
        "rows": [row(f"{_capital(f.label)}, {share}", ranges[name]) for name, f in figures.items()],
        "summary": f"{share} ({_PARTS}): {'; '.join(told)}",
        "remarks": [f"Parts drawn with seed {spread.seed}, {_PARTS}."],
    }


def _range(ends: tuple[float, ...], unit: str) -> str:
    return " to ".join(write_quantity(end, unit) for end in ends)


def _band(spread: Spread) -> dict[str, Any]:
    """Return the gain with the band that holds 98 % of the boards."""
    from ..plots.tolerance import gain_band  # a drawing library loads with it: on first use

    cutoff = spread.tolerances.stage.transfer("signal", "output").low_cutoff() or 1.0
    data = gain_band(spread, np.geomspace(cutoff / 30.0, cutoff * 300.0, _FREQUENCIES), QUICK)
    f, edges = data.frequency, {"low": numbers(data.low), "high": numbers(data.high)}
    return {
        "title": "Gain, signal to output: band of 98 % of the boards", "height": 260,
        "x": axis("frequency", "Hz", (f[0], f[-1]), scale="log"), "y": axis("gain", "dB", depth=40),
        "curves": [curve("nominal", f, data.nominal, 0)],
        "bands": [{"label": "98 % of the boards", "slot": 0, "xs": numbers(f), **edges}],
    }  # fmt: skip


def _histogram(spread: Spread) -> dict[str, Any]:
    found = spread.of("low_cutoff")
    counts, edges = np.histogram(found, _BINS)
    xs = np.repeat(edges, 2)
    ys = np.concatenate([[0.0], np.repeat(100.0 * counts / len(found), 2), [0.0]])
    nominal = spread.tolerances.stage.transfer("signal", "output").low_cutoff()
    space = 0.05 * float(np.ptp(edges))
    span, top = (float(edges[0]) - space, float(edges[-1]) + space), nice_above(1.05 * float(ys.max()))
    label = f"nominal {write_quantity(nominal, 'Hz', 3)}"
    return {
        "title": "Low-end cut-off of the boards", "height": 200,
        "x": axis("low-end cut-off", "Hz", span, scale="linear"), "y": axis("boards", "%", (0.0, top)),
        "curves": [curve("", xs, ys, 0)], "markers": [{"x": nominal, "y": 0.0, "label": label}],
    }  # fmt: skip


def _bars(stage: Stage, figure: Figure) -> dict[str, Any]:
    from ..plots.sensitivity import felt  # a drawing library loads with it: on first use

    shares = [(symbol_name(part), share) for part, share in felt(sensitivities(stage, figure))]
    return {
        "title": f"{_capital(figure.label)}: how many % for 1 % more of a part", "unit": "%",
        "rows": [{"label": part, "value": share, "text": _signed(share)} for part, share in shares],
    }  # fmt: skip


def _signed(share: float) -> str:
    return f"{share:+.2f}".replace("-", "−")


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
