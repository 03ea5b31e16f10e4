"""The volts axis: what the op-amp can do at every rail, where the stage rests, how far it swings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes

from ..analysis.rail_window import RailWindow
from ..analysis.window import Window
from ..errors import require_result
from ..quantities import write_quantity
from .picture import COLOURS, INK, Picture, new_axes


@dataclass(frozen=True)
class Bar:
    """One column of the volts axis.

    Attributes
    ----------
    name : str
        What it is.
    low, high : float
        Its ends, V.
    kind : "range", "rest" or "swing"
        What the op-amp can do, where the stage rests, or where the signal goes.
    """

    name: str
    low: float
    high: float
    kind: str


def window_bars(rail: RailWindow) -> tuple[Bar, ...]:
    """Return the columns for one rail: output range and swing, input range and rest.

    Parameters
    ----------
    rail : RailWindow
        The limits at one rail.
    """
    rest = sum(rail.output_rest) / 2.0
    half = rail.swing / 2.0
    input_rest = sum(rail.input_rest) / 2.0
    return (
        Bar("output range", *rail.output_range, "range"),
        Bar("output swing", rest - half, rest + half, "swing"),
        Bar("output at rest", *rail.output_rest, "rest"),
        Bar("input range", *rail.input_range, "range"),
        Bar("input swing", input_rest - half / rail.gain, input_rest + half / rail.gain, "swing"),
        Bar("input at rest", *rail.input_rest, "rest"),
    )


_WIDTH = {"range": 0.34, "swing": 0.17, "rest": 0.34}
_HATCH = {"range": "", "swing": "////", "rest": ""}


def draw_window(ax: Axes, rails: Sequence[RailWindow]) -> None:
    """Draw two columns for each rail, output and + input, between ground and the rail.

    Parameters
    ----------
    ax : Axes
        Where.
    rails : sequence of RailWindow
        Ascending.
    """
    labels = []
    for i, rail in enumerate(rails):
        ax.plot([i - 0.48, i + 0.48], [rail.supply] * 2, color=INK, linewidth=1.4)
        for bar in window_bars(rail):
            _draw_bar(ax, i + (-0.22 if bar.name.startswith("output") else 0.22), bar)
        for offset, name in ((-0.22, "output"), (0.22, "+ input")):
            labels.append((i + offset, f"{name}\nrail {write_quantity(rail.supply, 'V')}"))
        ax.annotate(
            f"{write_quantity(rail.swing, 'Vpp', 3)}\nfirst limit: {rail.limited_by}",
            (i - 0.22, rail.supply),
            xytext=(0, 4),
            textcoords="offset points",
            ha="center",
            fontsize=8,
            color=INK,
        )
    ax.axhline(0.0, color=INK, linewidth=1.4)
    ax.set_xticks([at for at, _ in labels], [text for _, text in labels], fontsize=8)
    ax.set_xlim(-0.6, len(rails) - 0.4)
    top = max(rail.supply for rail in rails)
    ax.set_ylim(-0.06 * top, 1.18 * top)
    ax.set_ylabel("volts to ground", color=INK)
    ax.grid(visible=False, axis="x")


def _draw_bar(ax: Axes, at: float, bar: Bar) -> None:
    if bar.kind == "rest":
        middle = (bar.low + bar.high) / 2.0
        half = _WIDTH["rest"] / 2.0
        ax.plot([at - half, at + half], [middle, middle], color=COLOURS[1], linewidth=2.2)
        ax.fill_between([at - half, at + half], bar.low, bar.high, color=COLOURS[1], alpha=0.35, linewidth=0)
        return
    colour = "#dfe6ea" if bar.kind == "range" else "none"
    edge = INK if bar.kind == "range" else COLOURS[0]
    height = max(bar.high - bar.low, 0.0)
    ax.bar(
        at,
        height,
        bottom=bar.low,
        width=_WIDTH[bar.kind],
        color=colour,
        edgecolor=edge,
        hatch=_HATCH[bar.kind],
        linewidth=1.2,
    )


def window_picture(window: Window) -> Picture:
    """Return the volts axis of a stage: a pair of columns for every rail.

    Grey is what the op-amp can do, hatched is the largest symmetric swing, the thick line is the
    resting voltage with its DC errors.

    Parameters
    ----------
    window : Window
        From `window`.

    Raises
    ------
    QuantityError
        If it is no window.
    """
    require_result(window, Window, "window_picture(sr.window(stage))")
    figure, (ax,) = new_axes(1, height=4.0)
    draw_window(ax, window.rails)
    name = "ideal op-amp" if window.opamp is None else f"op-amp {window.opamp.name}"
    ax.set_title(f"{window.stage.title}, {name}", loc="left", fontsize=10, color=INK)
    return Picture(figure, window_text(window))


def window_text(window: Window) -> str:
    """Return the numbers of a window, one line a rail and the best bias point.

    Parameters
    ----------
    window : Window
        From `window`.
    """
    lines = [
        f"rail {write_quantity(rail.supply, 'V')}: swing {write_quantity(rail.swing, 'Vpp')}, "
        f"first limit: {rail.limited_by}, room above over room below {rail.asymmetry:.3g}"
        for rail in window.rails
    ]
    best = window.best_bias
    lines.append(f"best bias point {window.best_places()}: swing {write_quantity(best.swing, 'Vpp')}")
    return "\n".join(lines)
