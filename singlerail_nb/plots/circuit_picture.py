"""A schematic as a notebook shows it: the drawing, with its description as plain text."""

from __future__ import annotations

from html import escape
from pathlib import Path
from urllib.parse import quote

from ..analysis.network import require_stage
from ..analysis.stage import Stage
from ..files import write_at_once
from .schematic import schematic_svg, schematic_text

_PLAIN = " ='/:;,.()-+*!@"
"""Characters that need no escape inside the address of an image."""


class CircuitPicture:
    """A schematic that shows itself in a notebook.

    Readers without pictures, and the tests, get the description.

    Parameters
    ----------
    svg : str
        The drawing, a standalone SVG.
    text : str
        The description: topology, parts, values and resting voltages.
    """

    def __init__(self, svg: str, text: str) -> None:
        self.svg = svg
        self.text = text

    def __repr__(self) -> str:
        return self.text

    def save(self, path: str | Path) -> Path:
        """Write the drawing to an SVG file.

        Parameters
        ----------
        path : str or Path
            Where.
        """
        return write_at_once(path, self.svg)

    def _repr_mimebundle_(self, **_: object) -> dict[str, object]:
        """Return the drawing as an image of a page: a notebook shows it before anything has run.

        A stored SVG output would appear as text until its notebook is trusted.  The white ground
        keeps the black lines readable in a dark theme.
        """
        source = f"data:image/svg+xml,{quote(self.svg, safe=_PLAIN)}"
        style = "background-color: white; max-width: 100%"
        page = f'<img src="{source}" alt="{escape(self.text)}" style="{style}">'
        return {"text/html": page, "text/plain": self.text}


def schematic(stage: Stage, *, values: bool = True, voltages: bool = False) -> CircuitPicture:
    """Return the schematic of a stage, drawn from its circuit.

    Parameters
    ----------
    stage : Stage
        The stage.
    values : bool
        Whether to write the values of the parts.
    voltages : bool
        Whether to write the resting voltage beside each node name, in V.

    Raises
    ------
    QuantityError
        If ``stage`` is no stage.
    CircuitError
        If the circuit is too tangled for the drawing rules.
    """
    require_stage(stage)
    return CircuitPicture(
        schematic_svg(stage, values=values, voltages=voltages), schematic_text(stage, values=values)
    )
