"""The rail that a model runs on, as far as it is known."""

from __future__ import annotations

from dataclasses import replace

from ..circuit.supplies import Supply
from .model import StageModel


def known_rail(model: StageModel) -> Supply:
    """Return the rail of the model, or one that stays at the nominal voltage.

    Parameters
    ----------
    model : StageModel
        The model shown.
    """
    volts = model.stage.supply
    if model.rail is not None and model.rail.lowest <= volts <= model.rail.highest:
        return replace(model.rail, nominal=volts)
    return Supply("given", "Rail as given", "", volts, volts, volts, {}, 0.0, 0.0, "the stage")
