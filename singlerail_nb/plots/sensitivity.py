"""Sensitivities as bars: which part moves which figure, and which way."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter

from ..analysis.sensitivity import Sensitivities, sensitivities
from ..analysis.stage import Stage
from ..analysis.tolerance_catalogue import chosen_figures
from ..circuit.typeset import part_label
from .picture import COLOURS, INK, Picture, new_axes

FELT = 0.005
"""Sensitivities below this are left out of the bars, % per %."""
_OPAMP = {"_unity_time": "GBW", "_inverse_gain": "A0"}
"""Endings of op-amp parameters, with the figure of a data sheet whose inverse they are."""
_LINE = 100.0
"""Frequency of the supply ripple where a figure needs one, Hz."""


def sensitivity_data(stage: Stage, names: tuple[str, ...] = ("low_cutoff",)) -> tuple[Sensitivities, ...]:
    """Return how strongly figures follow the parts.

    Parameters
    ----------
    stage : Stage
        The stage.
    names : tuple of str
        Figures, as in `monte_carlo`.

    Raises
    ------
    UnknownNameError
        If the stage has no such figure.
    """
    return tuple(sensitivities(stage, figure) for figure in chosen_figures(stage, names, _LINE))


def felt(data: Sensitivities) -> tuple[tuple[str, float], ...]:
    """Return the parts whose share can be seen, the strongest first; op-amps by data-sheet figures.

    Parameters
    ----------
    data : Sensitivities
        All shares.
    """
    return tuple(_as_read(part, share) for part, share in data.ranked() if abs(share) >= FELT)


def _as_read(part: str, share: float) -> tuple[str, float]:
    """Return a share under a name that readers know: 1 % more GBW is 1 % less of its time."""
    for ending, figure in _OPAMP.items():
        if part.endswith(ending):
            opamp = part.removesuffix(ending)
            return figure if opamp == "opamp" else f"{figure}_{opamp.removesuffix('_opamp')}", -share
    return part, share


def draw_sensitivities(ax: Axes, data: Sensitivities) -> None:
    """Draw one bar per part, the strongest at the top; left means that more of it lowers the figure.

    Parameters
    ----------
    ax : Axes
        Where.
    data : Sensitivities
        What.
    """
    rows = felt(data)
    heights = range(len(rows), 0, -1)
    shares = [share for _, share in rows]
    colours = [COLOURS[0] if share > 0 else COLOURS[1] for share in shares]
    ax.set_axisbelow(True)
    ax.barh(list(heights), shares, height=0.62, color=colours)
    for height, share in zip(heights, shares, strict=True):
        ax.annotate(f"{share:+.2f}", (share, height), xytext=(4 if share > 0 else -4, 0),
                    textcoords="offset points", ha="left" if share > 0 else "right", va="center",
                    fontsize=9, color=INK)  # fmt: skip
    ax.set_yticks(list(heights), [part_label(part) for part, _ in rows])
    ax.set_ylim(0.4, len(rows) + 0.6)
    ax.axvline(0.0, color=INK, linewidth=1.0)
    ax.grid(visible=False, axis="y")
    ax.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:+.2g}" if value else "0"))
    ax.set_title(data.figure.label, loc="left", fontsize=10, color=INK)


def sensitivity_picture(stage: Stage, names: tuple[str, ...] = ("low_cutoff",)) -> Picture:
    """Return sensitivities as bars, one row of axes per figure.

    Parameters
    ----------
    stage : Stage
        The stage.
    names : tuple of str
        Figures, as in `monte_carlo`.

    Raises
    ------
    UnknownNameError
        If the stage has no such figure.
    """
    data = sensitivity_data(stage, names)
    tallest = max(len(felt(one)) for one in data)
    figure, axes = new_axes(len(data), height=0.9 + 0.24 * tallest)
    for ax, one in zip(axes, data, strict=True):
        draw_sensitivities(ax, one)
        ax.margins(x=0.14)
    axes[-1].set_xlabel("per cent per per cent of the part", color=INK)
    return Picture(figure, "\n".join(map(sensitivity_text, data)))


def sensitivity_text(data: Sensitivities) -> str:
    """Return the ranking in one line.

    Parameters
    ----------
    data : Sensitivities
        What was drawn.
    """
    return f"{data.figure.label}, % per %: " + ", ".join(f"{part} {share:+.2f}" for part, share in felt(data))
