"""What the browser gets: one plain, self-contained description of a panel."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from ..analysis.stage import Stage
from ..circuit.bias_sources import BIAS_TITLES
from ..designing.design_document import design_document
from ..quantities import write_quantity
from .controls import Chooser, Control, describe_parts
from .figures import Limit
from .functions import programs
from .model import StageModel
from .view_kinds import View


def payload(
    model: StageModel,
    controls: Sequence[Control],
    views: Sequence[View],
    chosen: dict[str, str] | None = None,
) -> dict[str, Any]:
    """Return the description of a panel, ready for JSON.

    Parameters
    ----------
    model : StageModel
        The model shown.
    controls : sequence of Control
        Sliders and choosers.
    views : sequence of View
        In the order of the tabs.
    chosen : dict of str to str, optional
        Present option of each chooser.

    Raises
    ------
    UnknownNameError
        If a control or view names what the stage does not have.
    """
    stage = model.stage
    figures = [figure.describe(stage) for figure in model.shown]
    names = [name for figure in figures for name, _ in figure["terms"]]
    names += [name for view in views for name in view.functions(model)]
    choosers = [control for control in controls if isinstance(control, Chooser)]
    return {
        "title": model.title,
        "programs": programs(stage, names),
        "constants": constants(stage),
        "identity": identity(stage),
        "parts": describe_parts(stage, model.start.values, list(controls)),
        "choosers": [chooser.describe(model, (chosen or {}).get(chooser.name)) for chooser in choosers],
        "figures": figures,
        "requirements": [
            *(_requirement(model, k, limit) for k, limit in enumerate(model.limits)),
            *_told(model),
        ],
        "told": told(model),
        "views": [view.describe(model) for view in views],
        "document": design_document(stage, model.requirements),
        "code": {"topology": stage.name, "arguments": _fixed_arguments(stage)},
    }


def constants(stage: Stage) -> dict[str, float]:
    """Return the numbers of the network functions that no slider moves.

    Parameters
    ----------
    stage : Stage
        The stage.
    """
    return {k: v for k, v in stage.parameters.items() if k not in stage.values}


def identity(stage: Stage) -> dict[str, str]:
    """Return what a stage is, in words: kind, bias source, op-amp, rail.

    Parameters
    ----------
    stage : Stage
        The stage.
    """
    return {
        "Stage": stage.title,
        "Bias source": BIAS_TITLES.get(stage.bias, "none"),
        "Op-amp": "ideal" if stage.opamp is None else stage.opamp.name,
        "Rail": write_quantity(stage.supply, "V"),
    }


def _requirement(model: StageModel, number: int, limit: Limit) -> dict[str, Any]:
    text = limit.text or model.figure(limit.figure).label
    return {
        "id": f"{number} {limit.figure}", "text": text, "figure": limit.figure,
        "relation": limit.relation, "limit": limit.limit,
    }  # fmt: skip


def _told(model: StageModel) -> list[dict[str, Any]]:
    return [{"id": f"told {k}", "text": row.text, "limitText": row.limit} for k, row in enumerate(model.told)]


def told(model: StageModel) -> dict[str, Any]:
    """Return verdicts on the requirements that only Python can check, by id.

    Parameters
    ----------
    model : StageModel
        The model shown.
    """
    return {f"told {k}": {"passes": row.passes, "valueText": row.value} for k, row in enumerate(model.told)}


def _fixed_arguments(stage: Stage) -> dict[str, str]:
    """Return arguments of the stage that no slider moves, as Python text."""
    fixed = {"supply": repr(stage.supply), **{name: repr(level) for name, level in stage.levels.items()}}
    if stage.opamp is not None:
        fixed["opamp"] = f"sr.{stage.opamp!r}".replace("=inf", '=float("inf")')
    if stage.bias != "filtered_divider":
        fixed["bias"] = repr(stage.bias)
    absent = {
        name: repr(value) for name, value in stage.values.items() if name not in stage.circuit.part_names
    }
    return {**fixed, **absent}


def finite(figures: dict[str, float | None]) -> dict[str, float | None]:
    """Return figures for JSON, which has no infinity: None instead.

    Parameters
    ----------
    figures : dict of str to float or None
        As `StageModel.figures`.
    """
    return {
        name: value if value is not None and math.isfinite(value) else None for name, value in figures.items()
    }
