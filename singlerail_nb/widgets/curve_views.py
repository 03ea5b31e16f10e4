"""Views of curves over frequency, which the browser computes by itself.

"signal->output" names a voltage per volt of a source, "plus=>amp_out" one node over another.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, ClassVar

from ..analysis.rational import HALF_POWER_DB
from .figures import Limit
from .model import StageModel
from .view_kinds import View


@dataclass(frozen=True)
class Term:
    """One way to a node.

    Attributes
    ----------
    output : str
        Name of its network function.
    decibels, corner : float or None
        The finite rejection that it begins with: dB at low frequency, and the frequency in Hz above
        which it falls; None lets everything through.
    """

    output: str
    decibels: float | None = None
    corner: float | None = None

    def describe(self) -> dict[str, Any]:
        """Return what the browser needs to compute it."""
        finite = self.corner is not None and math.isfinite(self.corner)
        rejection = {"decibels": self.decibels, "corner": self.corner if finite else None}
        return {"output": self.output, "rejection": None if self.decibels is None else rejection}


@dataclass(frozen=True)
class Curve:
    """One network function in a picture, or several added as phasors.

    Attributes
    ----------
    output : str
        Its name, such as "signal->output" or "plus=>amp_out".
    label : str
        Written at the end of the curve.
    terms : tuple of Term
        Ways that add up; ``output`` is not used then.
    """

    output: str
    label: str
    terms: tuple[Term, ...] = ()

    @property
    def functions(self) -> list[str]:
        """Names of the network functions that it is computed from."""
        return [term.output for term in self.terms] if self.terms else [self.output]

    def describe(self) -> dict[str, Any]:
        """Return what the browser needs to draw it."""
        own = {"terms": [term.describe() for term in self.terms]} if self.terms else {"output": self.output}
        return {"label": self.label, **own}


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
            "curves": [curve.describe() for curve in self.curves],
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
    kind, title : str
        As in `View`.
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
        return [name for plot in self.plots for curve in plot.curves for name in curve.functions]

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
