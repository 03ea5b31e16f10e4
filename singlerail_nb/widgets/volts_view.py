"""The volts axis as a view: at every rail what the op-amp can do, where the stage rests and swings."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from ..analysis.rail_window import RailWindow
from ..analysis.stage import Stage
from ..analysis.window import Window, window
from ..circuit.supplies import Supply
from ..quantities import write_quantity
from .answers import row
from .computed import Computed, Progress

if TYPE_CHECKING:
    from ..plots.window import Bar

_LEGEND = (
    "Outline: what the op-amp can do. Hatched: largest symmetric swing. Thick line: where the stage rests, "
    "with its DC errors."
)
_ORDER = {"range": 0, "swing": 1, "rest": 2}


def volts_view() -> Computed:
    """Return output and input range, rest and swing at the lowest, nominal and highest rail."""
    return Computed(title="Volts axis", follow=_answer, on_rail=True)


def _answer(stage: Stage, _progress: Progress, *, rail: Supply | None) -> dict[str, Any]:
    lowest, highest = rail_range(stage, rail)
    found = window(stage, supply_min=lowest, supply_max=highest)
    best = found.best_bias
    pins = stage.circuit.opamp(found.amplifier)
    nodes = (("output", pins.output), ("input", pins.plus))
    sentences = [f"rail {_volts(r.supply)}: {_swing(r)}" for r in found.rails]
    rows = [row(f"Swing on {_volts(r.supply)}", _swing(r)) for r in found.rails]
    rows += [row("Best bias point", _better(found))] if best.volts else []
    return {
        "columns": [
            {
                "title": "What fits between ground and the rail",
                "unit": "V",
                "groups": [_group(rail, nodes) for rail in found.rails],
            }
        ],
        "rows": rows,
        "summary": "; ".join(sentences),
        "remarks": [
            _LEGEND,
            _whose(stage, found.rails),
        ],
    }


def rail_range(stage: Stage, rail: Supply | None) -> tuple[float | None, float | None]:
    """Return the lowest and highest rail in V; None where no range is known or it does not fit.

    Parameters
    ----------
    stage : Stage
        The stage.
    rail : Supply or None
        The rail of the model.
    """
    if rail is None or not rail.lowest <= stage.supply <= rail.highest:
        return None, None
    return rail.lowest, rail.highest


def _whose(stage: Stage, rails: Sequence[RailWindow]) -> str:
    record = stage.opamp
    if record is None:
        return "The op-amp is ideal: its output and inputs reach both rails."
    outside = [r.supply for r in rails if not record.supply_min <= r.supply <= record.supply_max]
    if outside:
        allowed = f"{_volts(record.supply_min)} to {_volts(record.supply_max)}"
        return f"✗ {_volts(outside[0])} is outside the rails of op-amp {record.name}: {allowed}."
    return f"Op-amp {record.name}: {record.source or 'own record'}."


def _volts(volts: float) -> str:
    return write_quantity(volts, "V", 3)


def _better(found: Window) -> str:
    """Say where the bias lies best at each rail, the swing at the worst rail, and what that buys."""
    best = found.best_bias
    swing, more = (write_quantity(v, "Vpp", 3) for v in (best.swing, best.bought))
    return f"{found.best_places(3)}; {swing} on the worst rail, {more} more than now"


def _swing(rail: RailWindow) -> str:
    return f"{write_quantity(rail.swing, 'Vpp', 3)}, first limit: {rail.limited_by}"


def _group(rail: RailWindow, nodes: Iterable[tuple[str, str]]) -> dict[str, Any]:
    from ..plots.window import window_bars  # a drawing library loads with it: on first use

    bars = sorted(window_bars(rail), key=lambda bar: _ORDER[bar.kind])
    return {
        "label": f"rail {_volts(rail.supply)}",
        "top": rail.supply,
        "note": write_quantity(rail.swing, "Vpp", 3),
        "columns": [
            {
                "label": label,
                "bars": [_bar(bar) for bar in bars if bar.name.startswith(which) and _finite(bar)],
            }
            for which, label in nodes
        ],
    }


def _finite(bar: Bar) -> bool:
    return math.isfinite(bar.low) and math.isfinite(bar.high)


def _bar(bar: Bar) -> dict[str, Any]:
    return {"low": bar.low, "high": max(bar.low, bar.high), "kind": bar.kind}
