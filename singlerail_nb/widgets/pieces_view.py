"""The pieces of the signal path as a view: each one measured inside the whole network."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from ..analysis.stage import Stage
from .curve_views import Curve, Curves, Plot
from .model import StageModel

_NOTE = "Each piece is measured inside the whole network, loaded by what follows it."


@dataclass(frozen=True)
class Pieces(Curves):
    """The gain of each piece of the signal path, and of the whole; they follow from the circuit.

    Attributes
    ----------
    title : str
        Name of its tab.
    note : str
        A sentence below the picture.
    """

    title: str = "Pieces"
    note: str = field(default=_NOTE, kw_only=True)

    def functions(self, model: StageModel) -> list[str]:
        """Return the names of the network functions that are drawn.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        return [name for curve in pieces(model.stage) for name in curve.functions]

    def describe(self, model: StageModel) -> dict[str, Any]:
        """Return what the browser needs to draw the view.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        title = "Gain of each piece of the signal path"
        plot = Plot(title, "gain_db", pieces(model.stage), "gain", depth=62, height=340)
        return {**super().describe(model), "plots": [plot.describe(model)]}


def pieces(stage: Stage) -> list[Curve]:
    """Return a curve for the whole and one for each piece of the signal path, or the only piece.

    Parameters
    ----------
    stage : Stage
        The stage.
    """
    found = [Curve(f"{s.start}=>{s.end}", f"{s.start} to {s.end}") for s in stage.sections()]
    return found if len(found) == 1 else [Curve("signal->output", "whole stage"), *found]
