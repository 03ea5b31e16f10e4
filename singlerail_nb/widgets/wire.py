"""The kernel's end of the wire between a panel and its view script."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping, Sequence
from typing import Any, Protocol, TypeVar

from ..analysis.stage import Stage
from ..errors import SingleRailError, UnknownNameError
from .computed import Computed
from .controls import Control
from .handout import live_handout
from .jobs import Job
from .model import StageModel
from .payload import finite, told
from .view_kinds import Markup, View

_View = TypeVar("_View", bound=View)
Message = Mapping[str, Any]


class WiredPanel(Protocol):
    """What the wire needs of a panel."""

    stage_model: StageModel
    controls: Sequence[Control]
    views: Sequence[View]
    chosen: Mapping[str, str]

    @property
    def stage(self) -> Stage:
        """The present stage."""

    def choose(self, name: str, option: str) -> None:
        """Take an option of a chooser.

        Parameters
        ----------
        name, option : str
            Names of both.
        """

    def send(self, content: dict[str, Any]) -> None:
        """Send a message to the view script.

        Parameters
        ----------
        content : dict
            Plain data.
        """


class Wire:
    """Takes the messages of the browser and answers them.

    Parameters
    ----------
    panel : WiredPanel
        The panel.
    """

    def __init__(self, panel: WiredPanel) -> None:
        self.panel = panel
        self.turn = threading.RLock()  # callbacks may run on another thread than cells
        self.adopting = False
        self.jobs: dict[str, Job] = {}

    def received(self, content: Message) -> None:
        """Answer a message; an error is told and, if it is not the reader's, raised as well.

        Parameters
        ----------
        content : mapping
            ``type`` and what belongs to it.

        Raises
        ------
        Exception
            What no reader can cause.
        """
        actions: dict[str, Callable[[Message], None]] = {
            "hello": self.confirm, "state": self._adopt, "choose": self._choose,
            "compute": self._compute, "cancel": self._cancel, "open": self._open, "handout": self._handout,
        }  # fmt: skip
        with self.turn:
            try:
                actions[str(content.get("type"))](content)
            except SingleRailError as error:
                self.confirm(content, [{"part": error.quantity, "text": str(error)}])
            except Exception as error:
                self.confirm(content, [{"part": None, "text": f"{type(error).__name__}: {error}"}])
                raise

    def confirm(self, content: Message, errors: list[dict[str, Any]] | None = None) -> None:
        """Send Python's state, figures and verdicts.

        Parameters
        ----------
        content : mapping
            The message that is confirmed; empty if none was.
        errors : list of dict, optional
            What went wrong: ``part`` and ``text``.
        """
        model = self.panel.stage_model
        self.panel.send(
            {
                "type": "confirmed",
                "origin": content.get("origin", "kernel"),
                "seq": content.get("seq", 0),
                "state": model.snapshot(),
                "figures": finite(model.figures),
                "checks": told(model),
                "chosen": self.panel.chosen,
                "errors": errors or [],
            }
        )

    def _adopt(self, content: Message) -> None:
        self.adopting = True
        try:
            self.panel.stage_model.load(content["state"])
        finally:
            self.adopting = False
        self.confirm(content)

    def _choose(self, content: Message) -> None:
        self.panel.choose(str(content["name"]), str(content["option"]))

    def _view(self, content: Message, kind: type[_View]) -> _View:
        name = str(content["view"])
        for view in self.panel.views:
            if isinstance(view, kind) and view.id == name:
                return view
        raise UnknownNameError("view", name, allowed="a view of this panel", remedy="Run the cell again.")

    def _open(self, content: Message) -> None:
        view = self._view(content, Markup)
        self.panel.send({"type": "markup", "view": view.id, "markup": view.markup(self.panel.stage)})

    def _compute(self, content: Message) -> None:
        """Start a computation for the values that the browser shows; it takes the place of an older one."""
        view, full = self._view(content, Computed), bool(content.get("full", True))
        stage = self.panel.stage.with_parts(**content.get("values", {}))
        work = view.work(self.panel.stage_model.rail, content.get("choices"), full=full)
        older = self.jobs.get(view.id)
        if older is not None:
            older.replace()
        name = view.id
        self.jobs[name] = Job(
            work, stage, lambda told: self.panel.send({**told, "view": name}), quiet=not full
        )
        self.jobs[name].start()

    def _cancel(self, content: Message) -> None:
        running = self.jobs.pop(str(content["view"]), None)
        if running is not None:
            running.cancel()

    def _handout(self, _content: Message) -> None:
        panel = self.panel
        page = live_handout(panel.stage_model, panel.controls, panel.views)
        panel.send({"type": "handout", "name": f"{panel.stage.name}.html", "html": page})
