"""The panel where its script cannot load: core ipywidgets and a picture, nothing else.

The picture is drawn once; a moved slider changes the curve on a kept background (a few
milliseconds instead of a whole figure).  No pyplot, no Output widget.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Mapping
from html import escape
from typing import TYPE_CHECKING, Any, cast

import ipywidgets
import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from PIL import Image

from ..analysis.stage import Stage
from ..circuit.elements import Part
from ..designing.preferred_values import values_between
from ..plots.picture import COLOURS, INK, new_axes, quantity_axis
from ..quantities import write_quantity
from .controls import Chooser, Slider, part_series, sliders
from .curve_views import frequency_span
from .model import StageModel
from .requirements import as_model

if TYPE_CHECKING:
    from ..designing.synthesis import Design

_DEPTH = 60.0


class GainImage:
    """Gain over frequency as PNG bytes, redrawn by changing one curve.

    Parameters
    ----------
    stage : Stage
        The stage at the start; its gain sets the axes.
    span : tuple of two float
        Ends of the frequency axis, Hz.
    """

    def __init__(self, stage: Stage, span: tuple[float, float]) -> None:
        self.frequency = np.geomspace(*span, 300)
        figure, (self._axes,) = new_axes(1, height=3.2)
        self._canvas = cast("Any", FigureCanvasAgg(figure))
        start = stage.transfer("signal", "output").magnitude_db(self.frequency)
        top = 10.0 * np.ceil(np.max(start) / 10.0 + 0.5)
        self._axes.set(xscale="log", xlim=span, ylim=(top - _DEPTH, top), ylabel="gain (dB)")
        quantity_axis(self._axes, "x", "Hz")
        (self._curve,) = self._axes.plot(self.frequency, start, color=COLOURS[0], linewidth=2, animated=True)
        (self._mark,) = self._axes.plot([], [], "o", color=INK, fillstyle="none", animated=True)
        self._canvas.draw()
        self._background = self._canvas.copy_from_bbox(figure.bbox)

    def png(self, stage: Stage) -> bytes:
        """Return the picture of a stage.

        Parameters
        ----------
        stage : Stage
            The present stage.
        """
        h = stage.transfer("signal", "output")
        cutoff = h.low_cutoff()
        self._curve.set_ydata(h.magnitude_db(self.frequency))
        self._mark.set_data(*(([cutoff], [h.magnitude_db(cutoff)]) if cutoff > 0 else ([], [])))
        self._canvas.restore_region(self._background)
        self._axes.draw_artist(self._curve)
        self._axes.draw_artist(self._mark)
        buffer = io.BytesIO()
        Image.fromarray(np.asarray(self._canvas.buffer_rgba())).save(buffer, format="png", compress_level=1)
        return buffer.getvalue()


class PlainPanel(ipywidgets.VBox):  # type: ignore[misc]
    """A panel of core widgets over one stage model; made by `plain_panel`.

    Parameters
    ----------
    model : StageModel
        The stage with its history and requirements.
    controls : iterable of Slider
        What may be turned.
    """

    def __init__(self, model: StageModel, controls: Iterable[Slider]) -> None:
        self.stage_model = model
        self._image = GainImage(model.stage, frequency_span(model))
        self._picture = ipywidgets.Image(format="png")
        self._text = ipywidgets.HTML()
        self._sliders = {slider.part: self._slider(slider) for slider in controls}
        super().__init__([*self._sliders.values(), self._picture, self._text])
        model.observe(self._show, names=["stage"])
        self._show()

    def _slider(self, slider: Slider) -> ipywidgets.SelectionSlider:
        part = self.stage_model.stage.circuit.part(slider.part)
        value = self.stage_model.stage.values[part.name]
        control = ipywidgets.SelectionSlider(
            options=_options(slider, part, value),
            value=value,
            description=part.name,
            tooltip=part.label,
            layout={"width": "480px"},
        )
        control.observe(lambda change: self._moved(part.name, change), names="value")
        return control

    def _moved(self, part: str, change: Mapping[str, Any]) -> None:
        self.stage_model.set(**{part: change["new"]})

    def _show(self, _change: object = None) -> None:
        stage = self.stage_model.stage
        self._picture.value = self._image.png(stage)
        lines = self.stage_model.summary().splitlines()
        self._text.value = "".join(f"<p>{escape(line)}</p>" for line in lines)
        for name, control in self._sliders.items():
            self._follow(control, stage.circuit.part(name), stage.values[name])

    @staticmethod
    def _follow(control: ipywidgets.SelectionSlider, part: Part, value: float) -> None:
        """Bring a slider to a value set in code, also one that is not preferred."""
        if control.value == value:
            return
        known = [number for _, number in control.options]
        if value not in known:
            control.options = [(write_quantity(x, part.unit), x) for x in sorted([*known, value])]
        control.value = value

    def __repr__(self) -> str:
        return self.stage_model.summary()

    def _repr_mimebundle_(self, **options: Any) -> Any:
        """Return the widget view and the summary as text."""
        bundles = super()._repr_mimebundle_(**options)
        data, metadata = bundles if isinstance(bundles, tuple) else (bundles or {}, {})
        return {**data, "text/plain": repr(self)}, metadata


def _options(slider: Slider, part: Part, value: float) -> list[tuple[str, float]]:
    grid = slider.grid(part, value)
    numbers = {*values_between(grid["min"], grid["max"], part_series(slider, part)), value}
    return [(write_quantity(number, part.unit), number) for number in sorted(numbers)]


def plain_panel(
    stage: Stage | Design | StageModel, *, controls: Iterable[Slider | str] | None = None, title: str = ""
) -> PlainPanel:
    """Return a panel of core widgets, for front ends that cannot load the script of `panel`.

    Parameters
    ----------
    stage : Stage, Design or StageModel
        What to show.
    controls : iterable of Slider or str, optional
        What may be turned; every part unless given.
    title : str
        Heading.

    Raises
    ------
    UnknownNameError
        If a control names what the stage does not have.
    """
    model = as_model(stage, (), title)
    named = (
        sliders(model.stage)
        if controls is None
        else [Slider(c) if isinstance(c, str) else c for c in controls]
    )
    return PlainPanel(model, [control for control in named if not isinstance(control, Chooser)])
