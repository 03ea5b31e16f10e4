"""Views of what only Python can compute: cheap ones follow the sliders, slow ones have a button."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from ..analysis.stage import Stage
from ..circuit.supplies import Supply
from ..errors import QuantityError, SingleRailError, UnknownNameError
from .answers import Answer, plain
from .model import StageModel
from .view_kinds import View

Progress = Callable[[float, str], None]
Compute = Callable[..., Answer]
Work = Callable[[Stage, Progress], Answer]


@dataclass(frozen=True)
class Choice:
    """Something that the reader chooses inside a view.

    Attributes
    ----------
    name, label : str
        Name for code (an argument of the computation), label for readers.
    options : tuple of str
        What may be chosen; the first one is chosen at the start.
    """

    name: str
    label: str
    options: tuple[str, ...]

    def read(self, option: object) -> str:
        """Return an option after checking it.

        Parameters
        ----------
        option : object
            What the browser sent.

        Raises
        ------
        UnknownNameError
            If there is no such option.
        """
        if option not in self.options:
            raise UnknownNameError(
                self.label, str(option), allowed=", ".join(self.options), remedy="Use one of these."
            )
        return str(option)


def _no_progress(_share: float, _text: str = "") -> None:
    """Take no notice."""


@dataclass(frozen=True)
class Computed(View):
    """Something that only Python can compute; it runs beside the notebook.

    A computation takes the stage and a function ``progress(share, text)``, then the choices by
    name, and with ``on_rail`` the rail.  It returns plain data: ``plots`` (title, x, y, curves of
    label, xs, ys; bands, spans, markers), ``columns``, ``bars``, ``rows`` (label, value, unit or
    text), ``remarks`` and ``summary``, each optional.

    Attributes
    ----------
    kind, title : str
        As in `View`.
    compute : callable, optional
        The slow computation behind the button.  It must call ``progress`` now and then, which
        raises when the reader cancels.
    action : str
        Text of the button.
    follow : callable, optional
        A cheap computation that follows the sliders without being asked.
    choices : tuple of Choice
        What the reader may choose inside the view.
    on_rail : bool
        Whether the computations take ``rail``, the `Supply` of the model or None.
    """

    kind: str = "kernel"
    title: str = "Computed"
    compute: Compute | None = field(default=None, kw_only=True)
    action: str = field(default="Compute", kw_only=True)
    follow: Compute | None = field(default=None, kw_only=True)
    choices: tuple[Choice, ...] = field(default=(), kw_only=True)
    on_rail: bool = field(default=False, kw_only=True)

    def __post_init__(self) -> None:
        if self.compute is None and self.follow is None:
            raise QuantityError(
                f"view {self.title}", "no computation", allowed="compute, follow or both",
                remedy="Give a function that takes the stage and a progress function.",
            )  # fmt: skip

    def describe(self, model: StageModel) -> dict[str, Any]:
        """Return what the browser needs to draw the view.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        choices = [{"name": c.name, "label": c.label, "options": list(c.options)} for c in self.choices]
        return {
            **super().describe(model), "action": self.action if self.compute else "",
            "follows": self.follow is not None, "choices": choices,
        }  # fmt: skip

    def work(
        self, rail: Supply | None, chosen: Mapping[str, object] | None = None, *, full: bool = False
    ) -> Work:
        """Return the computation as a function of stage and progress alone.

        Parameters
        ----------
        rail : Supply or None
            The rail of the model.
        chosen : mapping of str to object, optional
            Option of each choice; the first ones unless given.
        full : bool
            Whether the slow computation is wanted, if there is one.

        Raises
        ------
        UnknownNameError
            If an option does not exist.
        """
        wanted = self.compute if (full and self.compute) or self.follow is None else self.follow
        assert wanted is not None  # noqa: S101 -- one of them is there, see above
        given: dict[str, Any] = {
            c.name: c.read((chosen or {}).get(c.name, c.options[0])) for c in self.choices
        }
        if self.on_rail:
            given["rail"] = rail
        return lambda stage, progress: plain(wanted(stage, progress, **given))

    def stored(self, model: StageModel) -> dict[str, Any]:
        """Return the description with its answer in it, for where no kernel is.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        return {
            **self.describe(model),
            "data": {**answer_of(self, model.stage, model.rail), "values": model.values},
        }

    def sentence(self, model: StageModel) -> str:
        """Return the row of the summary; "" if the view waits for a button.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        if self.follow is None:
            return ""
        return f"{self.title}: {answer_of(self, model.stage, model.rail).get('summary', '')}"


def answer_of(view: Computed, stage: Stage, rail: Supply | None) -> Answer:
    """Return the answer of a view with its first choices; an error of the stage becomes its summary.

    Parameters
    ----------
    view : Computed
        The view.
    stage : Stage
        The stage.
    rail : Supply or None
        The rail of the model.
    """
    try:
        return view.work(rail)(stage, _no_progress)
    except SingleRailError as error:
        return {"summary": str(error), "remarks": [str(error)]}
