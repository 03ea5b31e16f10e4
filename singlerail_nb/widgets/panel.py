"""The panel: the stage model on one side, the view script on the other, one wire between them."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING, Any, TypeVar

import anywidget
import traitlets

from ..analysis.stage import Stage
from ..errors import SingleRailError, UnknownNameError
from . import bundle
from .controls import Chooser, Control, sliders
from .figures import Limit
from .handout import live_handout
from .jobs import Job
from .model import StageModel
from .payload import finite, payload, told
from .requirements import as_model
from .static import still_picture
from .view_kinds import Computed, Markup, View
from .views import standard_views

if TYPE_CHECKING:
    from ..designing.synthesis import Design

_View = TypeVar("_View", bound=View)


class Panel(anywidget.AnyWidget):
    """A panel over one stage model; made by `panel`.

    Parameters
    ----------
    model : StageModel
        The stage with its history and requirements.
    controls : iterable of Control, optional
        Sliders and choosers; a slider for every part unless given.
    views : iterable of View, optional
        Views; the standard ones unless given.
    """

    _esm = traitlets.Unicode().tag(sync=True)
    _css = traitlets.Unicode().tag(sync=True)
    payload = traitlets.Dict().tag(sync=True)

    def __init__(
        self,
        model: StageModel,
        controls: Iterable[Control] | None = None,
        views: Iterable[View] | None = None,
    ) -> None:
        self.stage_model = model
        self._controls = None if controls is None else list(controls)
        self._views = None if views is None else list(views)
        self._chosen: dict[str, str] = {}
        self._jobs: dict[str, Job] = {}
        self._turn = threading.RLock()  # callbacks may run on another thread than cells
        self._adopting = False
        super().__init__(_esm=bundle.script(), _css=bundle.style(), payload=self._describe())
        self.on_msg(self._received)
        model.observe(self._model_moved, names=["stage", "frozen"])

    @property
    def stage(self) -> Stage:
        """The present stage."""
        return self.stage_model.stage

    @property
    def controls(self) -> list[Control]:
        """The controls: those named at the start, else a slider for every part of the present circuit."""
        return sliders(self.stage) if self._controls is None else self._controls

    @property
    def views(self) -> list[View]:
        """The views: those named at the start, else the standard ones of the present circuit."""
        return standard_views(self.stage_model) if self._views is None else self._views

    def set(self, part: str, value: float | str) -> None:
        """Move one part as a reader would; it can be undone.

        Parameters
        ----------
        part : str
            Name of the part.
        value : float or str
            SI number or text such as "4k7".

        Raises
        ------
        UnknownNameError
            If the stage has no such part.
        QuantityError
            If the value cannot be read or is implausible.
        """
        self.stage_model.set(**{part: value})

    def undo(self) -> None:
        """Take back the last step."""
        self.stage_model.undo()

    def redo(self) -> None:
        """Repeat the step taken back last."""
        self.stage_model.redo()

    def reset(self) -> None:
        """Return to the stage at the start."""
        self.stage_model.reset()

    def freeze(self) -> None:
        """Keep the present version as A, to compare with."""
        self.stage_model.freeze()

    def release(self) -> None:
        """Forget the frozen version."""
        self.stage_model.release()

    def choose(self, name: str, option: str) -> None:
        """Choose an option of a chooser, as a reader would.

        Parameters
        ----------
        name : str
            Name of the chooser.
        option : str
            One of its options.

        Raises
        ------
        UnknownNameError
            If the panel has no such chooser or option.
        """
        choosers = {c.name: c for c in self.controls if isinstance(c, Chooser)}
        if name not in choosers or option not in choosers[name].options:
            known = ", ".join(f"{c.name}: {' | '.join(c.options)}" for c in choosers.values()) or "no chooser"
            raise UnknownNameError("choice", f"{name}: {option}", allowed=known, remedy="Use one of these.")
        self._chosen[name] = option
        self.stage_model.replace(choosers[name].options[option](self.stage))

    def summary(self) -> str:
        """Return what the panel shows, as text."""
        return self.stage_model.summary()

    def __repr__(self) -> str:
        return self.summary()

    def _repr_mimebundle_(self, **options: Any) -> Any:
        """Return widget view, still picture and text, so that a notebook also reads well without a kernel."""
        bundles = super()._repr_mimebundle_(**options)
        data, metadata = bundles if isinstance(bundles, tuple) else (bundles or {}, {})
        text = self.summary()
        still = {"text/plain": text, "image/png": still_picture(self.stage_model)}
        return {**data, **still}, {**metadata, "image/png": {"alt": text}}

    def _describe(self) -> dict[str, Any]:
        return payload(self.stage_model, self.controls, self.views, self._chosen)

    # ---- the wire ----------------------------------------------------------------------

    def _received(self, _widget: object, content: Mapping[str, Any], _buffers: object) -> None:
        actions: dict[str, Callable[[Mapping[str, Any]], None]] = {
            "hello": self._confirm, "state": self._adopt, "choose": self._choose,
            "compute": self._compute, "cancel": self._cancel, "open": self._open, "handout": self._handout,
        }  # fmt: skip
        with self._turn:
            try:
                actions[str(content.get("type"))](content)
            except SingleRailError as error:
                self._confirm(content, [_told(error)])
            except Exception as error:
                self._confirm(content, [{"part": None, "text": f"{type(error).__name__}: {error}"}])
                raise

    def _adopt(self, content: Mapping[str, Any]) -> None:
        self._adopting = True
        try:
            self.stage_model.load(content["state"])
        finally:
            self._adopting = False
        self._confirm(content)

    def _confirm(self, content: Mapping[str, Any], errors: list[dict[str, Any]] | None = None) -> None:
        model = self.stage_model
        self.send(
            {
                "type": "confirmed",
                "origin": content.get("origin", "kernel"),
                "seq": content.get("seq", 0),
                "state": model.snapshot(),
                "figures": finite(model.figures),
                "checks": told(model),
                "errors": errors or [],
            }
        )

    def _model_moved(self, change: Mapping[str, Any]) -> None:
        if self._adopting:
            return
        with self._turn:
            old, new = change["old"], change["new"]
            same = change["name"] == "frozen" or (old.circuit, old.opamp, old.supply) == (
                new.circuit,
                new.opamp,
                new.supply,
            )
            if same:
                self._confirm({})
            else:
                self.payload = self._describe()
                self.send({"type": "payload", "payload": self.payload})

    def _choose(self, content: Mapping[str, Any]) -> None:
        self.choose(str(content["name"]), str(content["option"]))

    def _view(self, content: Mapping[str, Any], kind: type[_View]) -> _View:
        name = str(content["view"])
        for view in self.views:
            if isinstance(view, kind) and view.id == name:
                return view
        raise UnknownNameError("view", name, allowed="a view of this panel", remedy="Run the cell again.")

    def _open(self, content: Mapping[str, Any]) -> None:
        view = self._view(content, Markup)
        self.send({"type": "markup", "view": view.id, "markup": view.markup(self.stage)})

    def _compute(self, content: Mapping[str, Any]) -> None:
        view = self._view(content, Computed)
        name = view.id
        self._cancel(content)
        self._jobs[name] = Job(view.compute, self.stage, lambda message: self.send({**message, "view": name}))
        self._jobs[name].start()

    def _cancel(self, content: Mapping[str, Any]) -> None:
        running = self._jobs.pop(str(content["view"]), None)
        if running is not None:
            running.cancel()

    def _handout(self, _content: Mapping[str, Any]) -> None:
        page = live_handout(self.stage_model, self.controls, self.views)
        self.send({"type": "handout", "name": f"{self.stage.name}.html", "html": page})


def _told(error: SingleRailError) -> dict[str, Any]:
    return {"part": error.quantity, "text": str(error)}


def panel(
    stage: Stage | Design | StageModel,
    *,
    controls: Iterable[Control | str] | None = None,
    views: Iterable[View] | None = None,
    limits: Iterable[Limit] = (),
    title: str = "",
) -> Panel:
    """Return a panel: sliders, readouts, pictures and checks of a stage.

    Parameters
    ----------
    stage : Stage, Design or StageModel
        What to show; a design brings its requirements with it.
    controls : iterable of Control or str, optional
        Sliders and choosers; a name stands for a slider of that part.  All parts unless given.
    views : iterable of View, optional
        What to show, see `singlerail_nb.widgets.views`; the standard views unless given.
    limits : iterable of Limit
        Requirements to check.
    title : str
        Heading.

    Raises
    ------
    QuantityError
        If the first argument is not something that a panel can show.
    UnknownNameError
        If a control, view or limit names what the stage does not have.
    """
    model = as_model(stage, limits, title)
    named = None if controls is None else [s for c in controls for s in _as_controls(model.stage, c)]
    return Panel(model, named, views)


def _as_controls(stage: Stage, control: Control | str) -> list[Control]:
    return sliders(stage, control) if isinstance(control, str) else [control]
