"""Ripple of the rail as a view: bias path, op-amp path and their sum, source connected and open.

The browser computes it while the reader drags, from the same network functions as Python.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from ..analysis.rejection_paths import Path
from ..analysis.stage import Stage
from ..analysis.supply_rejection import SourceState, supply_rejection
from ..errors import CircuitError, SingleRailError, UnknownNameError
from ..quantities import write_quantity
from .curve_views import Curve, Curves, Plot, Term
from .functions import rejection_name
from .model import StageModel

NODE = "output"
_BIAS = "supply->bias"
_NOTE = (
    "The op-amp path is its finite supply rejection times the noise gain; the sign of it is not in a data "
    "sheet, the sum takes it as positive. Source open: nothing is plugged in."
)


@dataclass(frozen=True)
class Ripple(Curves):
    """How much of the ripple on the rail reaches the bias node and the output, by which way.

    Attributes
    ----------
    title, low, high, note
        As in `Curves`.
    mark : str
        Id of the figure that is marked, and whose limit is drawn.
    """

    title: str = "Rail ripple"
    low: float | None = field(default=0.01, kw_only=True)
    high: float | None = field(default=100e3, kw_only=True)
    note: str = field(default=_NOTE, kw_only=True)
    mark: str = field(default="ripple_output", kw_only=True)

    def functions(self, model: StageModel) -> list[str]:
        """Return the names of the network functions that are drawn.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        return [name for curve in ripple_curves(model.stage) for name in curve.functions]

    def describe(self, model: StageModel) -> dict[str, Any]:
        """Return what the browser needs to draw the view.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        curves = ripple_curves(model.stage)
        marks = ("ripple_bias",) if curves[0].output == _BIAS else ()
        plot = Plot(
            "Ripple passed on from the rail", "gain_db", curves, "passed on", depth=110, height=340,
            limits=("ripple_bias", "ripple_output"), marks=marks,
        )  # fmt: skip
        ripple = {} if model.rail is None else model.rail.ripple
        lines = [{"frequency": f, "volts": volts} for f, volts in ripple.items()]
        return {
            **super().describe(model),
            "plots": [plot.describe(model)],
            "lines": lines,
            "lines_curve": _sum_place(curves),
        }

    def sentence(self, model: StageModel) -> str:
        """Return the rejection at the usual line, by path.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        try:
            found = supply_rejection(model.stage, NODE)
        except SingleRailError as error:
            return f"{self.title}: {error}"
        f = model.figure(self.mark).frequency if self._marked(model) else None
        at = f or 100.0
        paths = {"bias path": found.bias_path, "op-amp path": found.opamp_path, "sum": found.total}
        told = [
            f"{name} {write_quantity(path.magnitude_db(at), 'dB', 3)}"
            for name, path in paths.items()
            if path.terms
        ]
        return f"{self.title} at {write_quantity(at, 'Hz')}: {', '.join(told)}"

    def _marked(self, model: StageModel) -> bool:
        return any(figure.id == self.mark for figure in model.shown)


def ripple_curves(stage: Stage) -> list[Curve]:
    """Return the curves of a stage: bias node, each path, their sum, and the sum with the source open.

    Parameters
    ----------
    stage : Stage
        The stage.
    """
    ways = {"bias path": "bias_path", "op-amp path": "opamp_path", "sum": "total"}
    connected = dict(_terms(stage, "connected"))
    curves = [Curve("", label, connected[path]) for label, path in ways.items() if connected[path]]
    if not connected["opamp_path"]:
        curves = [Curve("", "output", connected["total"])]
    opened = dict(_terms(stage, "open")).get("total", ())
    with_open = [Curve("", "sum, source open", opened)] if opened else []
    return [*_bias_node(stage), *curves, *with_open]


def _bias_node(stage: Stage) -> list[Curve]:
    try:
        stage.circuit.node("bias")
    except UnknownNameError:  # a level shift has no mid-rail bias
        return []
    return [Curve(_BIAS, "bias node")]


def _terms(stage: Stage, source: SourceState) -> Iterator[tuple[str, tuple[Term, ...]]]:
    """Yield each path of a stage as terms; nothing where the open network is no circuit."""
    try:
        found = supply_rejection(stage, NODE, source=source)
    except CircuitError:
        return
    pieces = {path: _named(getattr(found, path), f"{source} {path}") for path in ("bias_path", "opamp_path")}
    yield from pieces.items()
    yield "total", (*pieces["bias_path"], *pieces["opamp_path"])


def _named(path: Path, name: str) -> tuple[Term, ...]:
    return tuple(
        Term(rejection_name(name, k), *((None, None) if limit is None else (limit.decibels, limit.corner)))
        for k, (_, limit) in enumerate(path.terms)
    )


def _sum_place(curves: list[Curve]) -> int:
    labels = [curve.label for curve in curves]
    return next(k for k, label in enumerate(labels) if label in ("sum", "output"))
