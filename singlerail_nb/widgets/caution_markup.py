"""The cautions of a stage as HTML: they come with the parts and the rail that cause them."""

from __future__ import annotations

from html import escape

from ..analysis.stage import Stage
from ..cautions import cautions_for


def cautions_html(stage: Stage) -> str:
    """Return the cautions that belong to a stage as HTML; empty if there are none.

    Parameters
    ----------
    stage : Stage
        The stage: its capacitors and its rail decide.
    """
    capacitors = {part.name: stage.values[part.name] for part in stage.circuit.capacitors}
    found = cautions_for(capacitors=capacitors, highest_rail=stage.supply)
    return "".join(f"<h3>⚠ {escape(one.title)}</h3><p>{escape(one.text)}</p>" for one in found)
