"""The still picture of a panel: what a notebook shows where no script runs."""

from __future__ import annotations

import base64
import io

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from .model import StageModel
from .views import frequency_span

INK, CURVE, RULE = "#22262b", "#0b557f", "#d9d5c9"


def picture(model: StageModel) -> Figure:
    """Return gain and phase of the present stage as a figure of its own (no pyplot state).

    Parameters
    ----------
    model : StageModel
        The model shown.
    """
    figure = Figure(figsize=(7.2, 4.4), layout="constrained")
    FigureCanvasAgg(figure)
    gain, phase = figure.subplots(2, 1, sharex=True, height_ratios=(3, 2))
    f = np.geomspace(*frequency_span(model), 400)
    h = model.stage.transfer("signal", "output")
    gain.semilogx(f, h.magnitude_db(f), color=CURVE, linewidth=2)
    phase.semilogx(f, h.phase_degrees(f), color=CURVE, linewidth=2, linestyle="--")
    cutoff = h.low_cutoff()
    if cutoff > 0:
        gain.plot(cutoff, h.magnitude_db(cutoff), "o", color=INK, fillstyle="none")
    gain.set(title=model.title, ylabel="gain (dB)")
    phase.set(xlabel="frequency (Hz)", ylabel="phase (°)")
    for axes in (gain, phase):
        axes.grid(color=RULE)
    return figure


def png(model: StageModel) -> str:
    """Return the picture as base64 text of a PNG file.

    Parameters
    ----------
    model : StageModel
        The model shown.
    """
    buffer = io.BytesIO()
    picture(model).savefig(buffer, format="png", dpi=100)
    return base64.b64encode(buffer.getvalue()).decode("ascii")
