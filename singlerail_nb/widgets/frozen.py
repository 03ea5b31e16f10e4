"""A frozen version of another kind: what the browser needs to draw it beside the present one."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from ..errors import UnknownNameError
from .controls import describe_parts
from .curve_views import Curves
from .functions import programs
from .model import StageModel
from .payload import constants, identity
from .view_kinds import View


def frozen_payload(model: StageModel, views: Iterable[View]) -> dict[str, Any]:
    """Return the frozen version as plain data: its own programs, figures and curves.

    Parameters
    ----------
    model : StageModel
        The model shown; its frozen version has another circuit, op-amp or rail.
    views : iterable of View
        The views of the panel.
    """
    stage = model.frozen or model.stage
    other = StageModel(stage)
    curves = _curves(views, other)
    figures = [figure.describe(stage) for figure in other.shown]
    names = [name for figure in figures for name, _ in figure["terms"]]
    names += [name for view in curves for name in view.functions(other)]
    return {
        "programs": programs(stage, names), "constants": constants(stage), "figures": figures,
        "parts": describe_parts(stage, {}, []), "identity": identity(stage),
        "views": {view.id: view.describe(other) for view in curves},
    }  # fmt: skip


def _curves(views: Iterable[View], model: StageModel) -> list[Curves]:
    """Return the views of curves whose network functions the stage has."""
    kept = []
    for view in views:
        if isinstance(view, Curves):
            try:
                programs(model.stage, view.functions(model))
            except UnknownNameError:  # a piece of the signal path that only the present stage has
                continue
            kept.append(view)
    return kept
