"""The kinds of view that a panel can show.

A view describes itself as plain data; the browser draws it.  ``functions`` names the network
functions that the browser must be able to compute for it.  See also `curve_views`, `computed`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any

from ..errors import QuantityError
from .model import StageModel


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

    def stored(self, model: StageModel) -> dict[str, Any]:
        """Return the description with everything in it that a kernel would add later.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        return self.describe(model)

    def sentence(self, model: StageModel) -> str:  # noqa: ARG002 -- other views look at it
        """Return the row that the view adds to the summary; "" where the figures say it all.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        return ""


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

    def stored(self, model: StageModel) -> dict[str, Any]:
        """Return the description with its markup in it.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        return {**self.describe(model), "markup": self.markup(model.stage)}


def as_views(given: Iterable[View] | View) -> list[View]:
    """Return the views that were asked for.

    Parameters
    ----------
    given : View or iterable of View
        What to see.

    Raises
    ------
    QuantityError
        If one of them is no view.
    """
    found = [given] if isinstance(given, View) else list(given)
    for view in found:
        if not isinstance(view, View):
            raise QuantityError(
                "views",
                getattr(view, "__name__", str(view)),
                allowed="what the functions of singlerail_nb.widgets.views return",
                remedy="Call the function: views.readouts().",
            )
    return found
