"""A finished picture that carries its own words, and the one style that all pictures share."""

from __future__ import annotations

import io
import math
from collections.abc import Iterable
from pathlib import Path

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, NullFormatter

from ..errors import QuantityError
from ..files import write_at_once
from ..quantities import write_quantity

INK = "#20303a"
GRID = "#c9d1d6"
COLOURS = ("#0b5fa5", "#b8500a", "#6b0148", "#2d3b19", "#84705f")
"""Five line colours that stay apart for every eye, those of the panels (tests/widgets/test_palette.py)."""
DASHES = ((), (6, 2), (2, 2), (8, 2, 2, 2), (1, 1.5))
_RESOLUTION = 110
_FORMATS = ("png", "svg", "pdf")


class Picture:
    """A figure with a text alternative that states its numbers.

    In a notebook it shows as a PNG; the text is its plain form, so readers without pictures, and
    the tests, get the numbers.

    Parameters
    ----------
    figure : matplotlib Figure
        Made without pyplot.
    text : str
        What the picture shows, with its numbers.
    """

    def __init__(self, figure: Figure, text: str) -> None:
        self.figure = figure
        self.text = text
        FigureCanvasAgg(figure)

    def __repr__(self) -> str:
        return self.text

    def png(self) -> bytes:
        """Return the picture as PNG bytes."""
        buffer = io.BytesIO()
        self.figure.savefig(buffer, format="png", dpi=_RESOLUTION, metadata={"Software": None})
        return buffer.getvalue()

    def save(self, path: str | Path) -> Path:
        """Write the picture to a file whose ending names the format: png, svg or pdf.

        Parameters
        ----------
        path : str or Path
            Where; an existing file is replaced only when the new one is complete.

        Raises
        ------
        QuantityError
            If there is no such format.
        """
        ending = Path(path).suffix.lower().removeprefix(".")
        if ending not in _FORMATS:
            raise QuantityError(
                "path",
                Path(path).name,
                allowed=f"a name that ends in .{', .'.join(_FORMATS)}",
                remedy="Change the ending.",
            )
        buffer = io.BytesIO()
        self.figure.savefig(buffer, format=ending, dpi=_RESOLUTION)
        return write_at_once(path, buffer.getvalue())

    def _repr_mimebundle_(self, **_: object) -> tuple[dict[str, object], dict[str, object]]:
        bundle: dict[str, object] = {"image/png": self.png(), "text/plain": self.text}
        return bundle, {"image/png": {"alt": self.text}}


def new_axes(rows: int = 1, *, height: float = 3.0, width: float = 7.6) -> tuple[Figure, list[Axes]]:
    """Return a figure with some axes below each other that share their abscissa.

    Parameters
    ----------
    rows : int
        Number of axes.
    height, width : float
        Height of one row and width of the figure, inches.
    """
    figure = Figure(figsize=(width, height * rows), layout="constrained")
    axes = figure.subplots(rows, 1, sharex=True, squeeze=False)[:, 0]
    for ax in axes:
        ax.spines[["top", "right"]].set_visible(False)
        ax.grid(visible=True, which="major", color=GRID, linewidth=0.7)
        ax.tick_params(colors=INK, labelsize=9)
    return figure, list(axes)


def quantity_axis(ax: Axes, which: str, unit: str) -> None:
    """Label an axis with engineering quantities.

    Parameters
    ----------
    ax : Axes
        The axes.
    which : "x" or "y"
        Which axis.
    unit : str
        Unit as `write_quantity` knows it.
    """
    axis = ax.xaxis if which == "x" else ax.yaxis
    axis.set_major_formatter(FuncFormatter(lambda value, _: write_quantity(value, unit, 3)))
    axis.set_minor_formatter(NullFormatter())


def label_lines(ax: Axes, labels: Iterable[tuple[float, str, str]]) -> None:
    """Write names at the right end of lines, moved apart where they would collide.

    Parameters
    ----------
    ax : Axes
        The axes, limits already set.
    labels : iterable of (float, str, str)
        Ordinate at the right end, text, colour.
    """
    low, high = ax.get_ylim()
    gap = 0.075 * (high - low)
    placed = low - gap
    for value, text, colour in sorted(labels):
        height = max(value, placed + gap)
        placed = height
        ax.annotate(
            text,
            xy=(1.0, height),
            xycoords=("axes fraction", "data"),
            xytext=(5, 0),
            textcoords="offset points",
            color=colour,
            fontsize=9,
            va="center",
            annotation_clip=False,
        )


def label_logarithmic(ax: Axes, labels: Iterable[tuple[float, str, str]]) -> None:
    """Write names at the right end of lines over a logarithmic ordinate; below it at its lower end.

    Parameters
    ----------
    ax : Axes
        The axes, limits already set.
    labels : iterable of (float, str, str)
        Ordinate at the right end, text, colour.
    """
    low, high = (math.log10(limit) for limit in ax.get_ylim())
    overlay = ax.twinx()
    overlay.set_ylim(0.0, 1.0)
    overlay.set_axis_off()
    heights = [
        ((math.log10(value) - low) / (high - low) if value > 0 else 0.0, text, colour)
        for value, text, colour in labels
    ]
    label_lines(overlay, [(min(max(height, 0.0), 1.0), text, colour) for height, text, colour in heights])
