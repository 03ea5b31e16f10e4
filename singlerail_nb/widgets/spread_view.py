"""The spread of many boards as a view: bands while dragging, and the extremes on demand."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor
from typing import Any

import numpy as np

from ..analysis.boards import Floats
from ..analysis.evaluation import compiled
from ..analysis.rational import horner
from ..analysis.sensitivity import sensitivities
from ..analysis.stage import Stage
from ..analysis.tolerance import monte_carlo, worst_case
from ..analysis.tolerance_boards import Boards
from ..analysis.tolerance_catalogue import standard_figures
from ..analysis.tolerance_results import Spread
from ..quantities import write_quantity
from .answers import axis, curve, nice_above, numbers, row
from .computed import Choice, Computed, Progress

QUICK, MANY = 400, 50_000
"""Boards while dragging, and behind the button."""
SEED = 1
_FREQUENCIES, _BINS = 70, 24
_RESISTORS, _CAPACITORS = ("1 %", "5 %", "0.1 %"), ("10 %", "20 %", "5 %")
_SHOWN = ("midband_gain", "low_cutoff")


def spread_view() -> Computed:
    """Return the band of response and cut-off over random boards, and which part moves them."""
    choices = (
        Choice("resistors", "Resistors ±", _RESISTORS),
        Choice("capacitors", "Capacitors ±", _CAPACITORS),
    )
    action = f"{MANY:,} boards and the worst case".replace(",", " ")
    return Computed(title="Spread", follow=_quick, compute=_thorough, action=action, choices=choices)


def _quick(stage: Stage, progress: Progress, *, resistors: str, capacitors: str) -> dict[str, Any]:
    return _answer(_boards(stage, QUICK, resistors, capacitors, progress))


def _thorough(stage: Stage, progress: Progress, *, resistors: str, capacitors: str) -> dict[str, Any]:
    spread = _boards(stage, MANY, resistors, capacitors, progress)
    answer = _answer(spread)
    progress(0.9, "worst case")
    worst = worst_case(stage, _tolerances(stage, resistors, capacitors))
    found = standard_figures(stage)
    for name in _figures(stage):
        ends = " to ".join(write_quantity(end, found[name].unit) for end in worst[name].limits)
        answer["rows"].append(row(f"Worst case, {found[name].label}", f"{ends}. {worst[name].verdict}"))
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


def _figures(stage: Stage) -> tuple[str, ...]:
    known = standard_figures(stage)
    return tuple(name for name in _SHOWN if name in known)


def _boards(stage: Stage, count: int, resistors: str, capacitors: str, progress: Progress) -> Spread:
    tolerances = _tolerances(stage, resistors, capacitors)
    told = _Told(progress) if count > QUICK else None
    return monte_carlo(stage, count, tolerances, seed=SEED, figures=_figures(stage), executor=told)


def _answer(spread: Spread) -> dict[str, Any]:
    stage = spread.tolerances.stage
    known = standard_figures(stage)
    ranges = {name: spread.percentiles(name) for name in spread.values}
    rows = [
        row(f"{_capital(known[name].label)}, 98 % of {spread.boards} boards", _range(ends, known[name].unit))
        for name, ends in ranges.items()
    ]
    plots = [_band(spread)] + ([_histogram(spread)] if "low_cutoff" in spread.values else [])
    sentences = [f"{known[n].label} {_range(ends, known[n].unit)}" for n, ends in ranges.items()]
    tolerances = "resistors and capacitors uniform within their tolerance"
    return {
        "plots": plots,
        "bars": [_bars(stage, name) for name in spread.values],
        "rows": rows,
        "summary": f"98 % of {spread.boards} boards ({tolerances}): {'; '.join(sentences)}",
        "remarks": [f"Parts drawn with seed {spread.seed}, {tolerances}."],
    }


def _range(ends: tuple[float, ...], unit: str) -> str:
    return " to ".join(write_quantity(end, unit) for end in ends)


def _band(spread: Spread) -> dict[str, Any]:
    """Return the gain with the band that holds 98 % of the boards, from the first boards of the run."""
    stage = spread.tolerances.stage
    h = stage.transfer("signal", "output")
    cutoff = h.low_cutoff() or 1.0
    f = np.geomspace(cutoff / 30.0, cutoff * 300.0, _FREQUENCIES)
    drawn = {name: spread.part_values(name)[:QUICK] for name in spread.tolerances.parts}
    top, bottom = compiled(h.function.reduced)(Boards(stage, drawn).numbers)
    s = 2j * math.pi * f[:, np.newaxis]
    gains = 20.0 * np.log10(np.abs(horner(top, s) / horner(bottom, s)))
    low, high = np.percentile(gains, (1.0, 99.0), axis=1)
    band = {
        "label": "98 % of the boards",
        "slot": 0,
        "xs": numbers(f),
        "low": numbers(low),
        "high": numbers(high),
    }
    return {
        "title": "Gain, signal to output: band of 98 % of the boards", "height": 260,
        "x": axis("frequency", "Hz", (f[0], f[-1]), scale="log"), "y": axis("gain", "dB", depth=40),
        "curves": [curve("nominal", f, h.magnitude_db(f), 0)], "bands": [band],
    }  # fmt: skip


def _histogram(spread: Spread) -> dict[str, Any]:
    found: Floats = spread.of("low_cutoff")
    counts, edges = np.histogram(found, _BINS)
    xs = np.repeat(edges, 2)
    ys = np.concatenate([[0.0], np.repeat(100.0 * counts / len(found), 2), [0.0]])
    nominal = spread.tolerances.stage.transfer("signal", "output").low_cutoff()
    span = (float(edges[0] - 0.05 * np.ptp(edges)), float(edges[-1] + 0.05 * np.ptp(edges)))
    top = (0.0, nice_above(1.05 * float(ys.max())))
    label = f"nominal {write_quantity(nominal, 'Hz', 3)}"
    return {
        "title": "Low-end cut-off of the boards", "height": 200,
        "x": axis("low-end cut-off", "Hz", span, scale="linear"), "y": axis("boards", "%", top),
        "curves": [curve("", xs, ys, 0)], "markers": [{"x": nominal, "y": 0.0, "label": label}],
    }  # fmt: skip


def _bars(stage: Stage, name: str) -> dict[str, Any]:
    figure = standard_figures(stage)[name]
    ranked = sensitivities(stage, figure).ranked()
    return {
        "title": f"{_capital(figure.label)}: how many % for 1 % more of a part", "unit": "%",
        "rows": [{"label": part, "value": share, "text": _signed(share)} for part, share in _felt(ranked)],
    }  # fmt: skip


def _signed(share: float) -> str:
    return f"{share:+.2f}".replace("-", "−")


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _felt(ranked: Iterable[tuple[str, float]]) -> list[tuple[str, float]]:
    """Return the parts that move a figure by at least a hundredth per cent per per cent."""
    return [(part, share) for part, share in ranked if abs(share) >= 0.005]
