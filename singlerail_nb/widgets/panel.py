"""The panel: the stage model on one side, the view script on the other, one wire between them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

import anywidget
import traitlets

from ..analysis.stage import Stage
from ..errors import SingleRailError, UnknownNameError
from . import bundle
from .check import Check
from .controls import Chooser, Control, Slider, as_controls, sliders
from .figures import Limit
from .frozen import frozen_payload
from .history import frame
from .model import StageModel
from .payload import payload
from .requirements import as_model
from .static import still_picture
from .view_kinds import View, as_views
from .views import standard_views
from .wire import Wire

if TYPE_CHECKING:
    from ..designing.synthesis import Design


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
        self._told: tuple[object, str] | None = None  # the last summary and what it was for
        for slider in self._controls or ():
            if isinstance(slider, Slider):
                model.stage.circuit.part(slider.part)
        super().__init__(_esm=bundle.script(), _css=bundle.style(), payload=self._describe())
        self._wire = Wire(self)
        self.on_msg(lambda _widget, content, _buffers: self._wire.received(content))
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
        known = {name: chooser.names(self.stage_model) for name, chooser in choosers.items()}
        if option not in known.get(name, ()):
            allowed = ", ".join(f"{n}: {' | '.join(options)}" for n, options in known.items()) or "no chooser"
            raise UnknownNameError("choice", f"{name}: {option}", allowed=allowed, remedy="Use one of these.")
        before = self._chosen.get(name)
        self._chosen[name] = option
        try:
            choosers[name].apply(self.stage_model, option)
        except SingleRailError:
            self._chosen = {**self._chosen, name: before} if before else {}
            raise

    @property
    def chosen(self) -> dict[str, str]:
        """Present option of each chooser."""
        described = self._describe_choosers()
        return {chooser["name"]: chooser["value"] for chooser in described}

    def _describe_choosers(self) -> list[dict[str, Any]]:
        choosers = [c for c in self.controls if isinstance(c, Chooser)]
        return [c.describe(self.stage_model, self._chosen.get(c.name)) for c in choosers]

    @property
    def checks(self) -> tuple[Check, ...]:
        """Every requirement with the present figure and its verdict."""
        return self.stage_model.checks

    def summary(self) -> str:
        """Return what the panel shows, as text: title, parts, figures, checks, then a row for each view."""
        key = (self.stage, self.stage_model.rail and self.stage_model.rail.name)
        if self._told is None or self._told[0] != key:
            rows = [view.sentence(self.stage_model) for view in self.views]
            text = "\n".join([self.stage_model.summary(), *filter(None, rows)])
            self._told = (key, text)
        return self._told[1]

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
        model = self.stage_model
        described = payload(model, self.controls, self.views, self._chosen)
        if not model.frozen_is_another:
            return described
        return described | {"frozen": frozen_payload(model, self.views)}

    def _model_moved(self, change: Mapping[str, Any]) -> None:
        """Tell the browser; another circuit, op-amp or rail needs a new description."""
        if self._wire.adopting:
            return
        old, new = change["old"], change["new"]
        same = change["name"] == "frozen" or frame(old) == frame(new)
        with self._wire.turn:
            if same:
                self._wire.confirm({})
            else:
                self.payload = self._describe()
                self.send({"type": "payload", "payload": self.payload})


def panel(
    stage: Stage | Design | StageModel,
    *,
    controls: Iterable[Control | str] | Control | str | None = None,
    views: Iterable[View] | View | None = None,
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
        If the first argument is not something that a panel can show, or a control or view is none.
    UnknownNameError
        If a control, view or limit names what the stage does not have.
    """
    model = as_model(stage, limits, title)
    named = None if controls is None else as_controls(model.stage, controls)
    return Panel(model, named, None if views is None else as_views(views))
