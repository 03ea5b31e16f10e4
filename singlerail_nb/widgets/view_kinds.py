"""The kinds of view that a panel can show.

A view describes itself as plain data; the browser draws it.  ``functions`` names the network
functions that the browser must be able to compute for it: "signal->output" is a voltage per volt
of a source, "plus=>amp_out" one node over another.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, ClassVar

from ..analysis.rational import HALF_POWER_DB
from .figures import Limit
from .model import StageModel

Progress = Callable[[float, str], None]
Compute = Callable[..., Mapping[str, Any]]


@dataclass(frozen=True)
class View:
    """A view of a kind that needs no data: the readouts at the top, or the table of checks.

    Attributes
    ----------
    kind : str
        Name in the browser's registry of views.
    title : str
        Name of its tab.
    place : "tab" or "top"
        Where it is shown.
    """

    kind: str
    title: str
    place: str = "tab"

    @property
    def id(self) -> str:
        """Name in messages between browser and kernel."""
        return f"{self.kind} {self.title}"

    def functions(self, model: StageModel) -> list[str]:  # noqa: ARG002 -- other views look at it
        """Return the names of the network functions that the browser needs.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        return []

    def describe(self, model: StageModel) -> dict[str, Any]:  # noqa: ARG002 -- other views look at it
        """Return what the browser needs to draw the view.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        return {"kind": self.kind, "title": self.title, "place": self.place, "id": self.id}


@dataclass(frozen=True)
class Curve:
    """One network function in a picture.

    Attributes
    ----------
    output : str
        Its name, such as "signal->output" or "plus=>amp_out".
    label : str
        Written at the end of the curve.
    """

    output: str
    label: str


@dataclass(frozen=True)
class Plot:
    """One picture over frequency.

    Attributes
    ----------
    title : str
        Above the picture.
    quantity : "gain_db", "gain", "phase" or "group_delay"
        The ordinate.
    curves : sequence of Curve
        What is drawn, at most five.
    label : str
        Title of the ordinate.
    depth : float or None
        How far below the highest point the picture reaches, in the unit of the ordinate.
    height : int
        In pixels.
    limits : sequence of str
        Ids of limited figures whose forbidden region is drawn.
    marks : sequence of str
        Ids of figures that are marked on the first curve: frequencies, or levels at a frequency.
    """

    title: str
    quantity: str
    curves: Sequence[Curve]
    label: str
    depth: float | None = None
    height: int = 240
    limits: Sequence[str] = ()
    marks: Sequence[str] = ()

    UNITS: ClassVar[dict[str, str]] = {"gain_db": "dB", "gain": "V/V", "phase": "deg", "group_delay": "s"}

    def describe(self, model: StageModel) -> dict[str, Any]:
        """Return what the browser needs to draw the picture.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        masks = [
            mask for limit in model.limits if limit.figure in self.limits for mask in _masks(model, limit)
        ]
        known = {figure.id for figure in model.shown}
        return {
            "title": self.title, "quantity": self.quantity, "height": self.height, "masks": masks,
            "curves": [{"output": curve.output, "label": curve.label} for curve in self.curves],
            "markers": [_marker(model, name) for name in self.marks if name in known],
            "y": {"unit": self.UNITS[self.quantity], "label": self.label, "depth": self.depth},
        }  # fmt: skip


def _marker(model: StageModel, name: str) -> dict[str, Any]:
    figure = model.figure(name)
    if figure.frequency is None:
        return {"figure": name, "label": "−3 dB at"}
    return {"frequency": figure.frequency, "label": ""}


def _masks(model: StageModel, limit: Limit) -> list[dict[str, Any]]:
    """Return the region that a limit forbids, next to the frequency that it names."""
    figure = model.figure(limit.figure)
    if isinstance(limit.limit, tuple):
        return []
    below = {"y": [None, -HALF_POWER_DB], "relative": "midband_gain_db", "label": "gain must stay above"}
    if figure.measure == "low_cutoff" and limit.relation == "at most":
        return [{"x": [limit.limit, 10 * limit.limit], **below}]
    if figure.measure == "high_cutoff" and limit.relation == "at least":
        return [{"x": [limit.limit / 10, limit.limit], **below}]
    if figure.measure == "gain_db" and limit.relation == "at most":
        return [
            {
                "x": [figure.frequency, None],
                "y": [limit.limit, None],
                "relative": None,
                "label": "must stay below",
            }
        ]
    return []


@dataclass(frozen=True)
class Curves(View):
    """Pictures over frequency that share a cursor, computed in the browser.

    Attributes
    ----------
    plots : sequence of Plot
        From top to bottom.
    low, high : float or None
        Ends of the frequency axis in Hz; taken from the corners of the stage unless given.
    note : str
        A sentence below the pictures.
    """

    kind: str = "curves"
    title: str = "Response"
    plots: Sequence[Plot] = field(default=(), kw_only=True)
    low: float | None = field(default=None, kw_only=True)
    high: float | None = field(default=None, kw_only=True)
    note: str = field(default="", kw_only=True)

    def functions(self, model: StageModel) -> list[str]:  # noqa: ARG002 -- the curves are fixed
        """Return the names of the network functions that are drawn.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        return [curve.output for plot in self.plots for curve in plot.curves]

    def describe(self, model: StageModel) -> dict[str, Any]:
        """Return what the browser needs to draw the view.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        low, high = frequency_span(model)
        return {
            **super().describe(model), "note": self.note,
            "x": {"min": self.low or low, "max": self.high or high},
            "plots": [plot.describe(model) for plot in self.plots],
        }  # fmt: skip


@dataclass(frozen=True)
class Markup(View):
    """Markup written by this package: a derivation in MathML, or a schematic in SVG.

    Attributes
    ----------
    markup : callable
        Takes the stage, returns HTML.  In a schematic, the text of elements with the attribute
        ``data-part="c_in"`` follows the value of that part.
    when_opened : bool
        True to make the markup only when the reader opens the tab; a handout has it from the start.
    """

    markup: Callable[[Any], str] = field(default=str, kw_only=True)
    when_opened: bool = field(default=False, kw_only=True)

    def describe(self, model: StageModel) -> dict[str, Any]:
        """Return what the browser needs to draw the view.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        return {**super().describe(model), "markup": None if self.when_opened else self.markup(model.stage)}

    def complete(self) -> Markup:
        """Return the view with its markup made at once."""
        return replace(self, when_opened=False)


@dataclass(frozen=True)
class Computed(View):
    """Something that only Python can compute; it runs beside the notebook and can be cancelled.

    Attributes
    ----------
    compute : callable
        Takes the stage and a function ``progress(share, text)`` that must be called now and then
        (it raises when the reader cancels); returns plain data: ``plots`` (title, x, y, curves of
        label, xs, ys), ``rows`` (label, value, unit) and ``summary``, each optional.
    action : str
        Text of the button that starts it.
    """

    kind: str = "kernel"
    title: str = "Computed"
    compute: Compute = field(default=dict, kw_only=True)
    action: str = field(default="Compute", kw_only=True)

    def describe(self, model: StageModel) -> dict[str, Any]:
        """Return what the browser needs to draw the view.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        return {**super().describe(model), "action": self.action}


def frequency_span(model: StageModel) -> tuple[float, float]:
    """Return ends of a frequency axis in Hz: whole decades around what happens at the start.

    Parameters
    ----------
    model : StageModel
        The model shown.
    """
    whole = model.start.transfer("signal", "output")
    roots = [abs(root) / (2.0 * math.pi) for root in (*whole.poles(), *whole.zeros())]
    corners = [corner for corner in roots if corner > 0] or [1.0]
    cutoff = whole.low_cutoff() or min(corners)
    low = max(_decade(min(corners) / 30.0), 1e-3 * _decade(cutoff))
    return low, max(_decade(5.0 * max(corners)), 1e5)


def _decade(frequency: float) -> float:
    """Return the next whole decade at or above a frequency."""
    return float(f"1e{math.ceil(math.log10(frequency))}")
