"""What the browser gets: one plain, self-contained description of a panel."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from ..analysis.stage import Stage
from ..circuit.emit_javascript import emit_javascript
from ..circuit.network_functions import NetworkFunction, functions_program, node_ratio, transfer_function
from .controls import Chooser, Control, describe_parts
from .figures import Limit
from .model import StageModel
from .views import View


def network_function(stage: Stage, name: str) -> NetworkFunction:
    """Return the network function of a name: "signal->output" or "plus=>amp_out".

    Parameters
    ----------
    stage : Stage
        The stage.
    name : str
        Source or node, arrow, node.

    Raises
    ------
    UnknownNameError
        If the stage has no such source or node.
    """
    start, ratio, end = name.partition("=>")
    if ratio:
        return node_ratio(stage.circuit, "signal", end, start, stage.model).reduced
    source, _, node = name.partition("->")
    return transfer_function(stage.circuit, source, node, stage.model).reduced


def program(stage: Stage, names: Sequence[str]) -> str:
    """Return the JavaScript program of some network functions of a stage.

    Parameters
    ----------
    stage : Stage
        The stage.
    names : sequence of str
        As for `network_function`.

    Raises
    ------
    UnknownNameError
        If the stage has no such source or node.
    """
    return emit_javascript(functions_program(tuple(network_function(stage, name) for name in names)), names)


def payload(
    model: StageModel, controls: Sequence[Control], views: Sequence[View], chosen: dict[str, str] | None = None
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
    figures = [figure.describe() for figure in model.shown]
    names = [figure["output"] for figure in figures] + [n for view in views for n in view.functions(model)]
    choosers = [control for control in controls if isinstance(control, Chooser)]
    return {
        "title": model.title,
        "program": program(stage, list(dict.fromkeys(names))),
        "constants": {k: v for k, v in stage.parameters.items() if k not in stage.values},
        "parts": describe_parts(stage, model.start.values, list(controls)),
        "choosers": [chooser.describe((chosen or {}).get(chooser.name)) for chooser in choosers],
        "figures": figures,
        "requirements": [_requirement(model, k, limit) for k, limit in enumerate(model.limits)],
        "views": [view.describe(model) for view in views],
        "code": {"topology": stage.name, "arguments": _fixed_arguments(stage)},
    }


def _requirement(model: StageModel, number: int, limit: Limit) -> dict[str, Any]:
    text = limit.text or model.figure(limit.figure).label
    return {
        "id": f"{number} {limit.figure}", "text": text, "figure": limit.figure,
        "relation": limit.relation, "limit": limit.limit,
    }  # fmt: skip


def _fixed_arguments(stage: Stage) -> dict[str, str]:
    """Return arguments of the stage that no slider moves, as Python text."""
    fixed = {"supply": repr(stage.supply)}
    if stage.opamp is not None:
        fixed["opamp"] = f"sr.{stage.opamp!r}".replace("=inf", '=float("inf")')
    if stage.bias != "filtered_divider":
        fixed["bias"] = repr(stage.bias)
    absent = {name: repr(value) for name, value in stage.values.items() if name not in stage.circuit.part_names}
    return {**fixed, **absent}


def finite(figures: dict[str, float | None]) -> dict[str, float | None]:
    """Return figures for JSON, which has no infinity: None instead.

    Parameters
    ----------
    figures : dict of str to float or None
        As `StageModel.figures`.
    """
    return {name: value if value is not None and math.isfinite(value) else None for name, value in figures.items()}
