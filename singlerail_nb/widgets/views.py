"""What a panel can show: a small vocabulary of views to compose.

panel(stage, controls=["c_in", "r_g"], views=[readouts(), response(), schematic()])
"""

from __future__ import annotations

from ..plots.schematic import schematic_svg
from .caution_markup import cautions_html
from .formula_markup import derivation_html
from .model import StageModel
from .view_kinds import Curve, Curves, Markup, Plot, View


def readouts() -> View:
    """Return the cards with the figures, at the top of the panel."""
    return View("readouts", "Readouts", "top")


def checks() -> View:
    """Return the table of requirements with verdicts."""
    return View("checks", "Checks")


def response() -> Curves:
    """Return gain and phase from the signal to the output."""
    whole = [Curve("signal->output", "whole stage")]
    gain = Plot(
        "Gain, signal to output", "gain_db", whole, "gain", depth=52, height=270,
        limits=("low_cutoff", "high_cutoff"), marks=("low_cutoff", "high_cutoff"),
    )  # fmt: skip
    return Curves(plots=[gain, Plot("Phase, signal to output", "phase", whole, "phase", height=200)])


def blocks(model: StageModel) -> Curves:
    """Return the gain of each piece of the signal path, and of the whole.

    Parameters
    ----------
    model : StageModel
        The model shown: the pieces follow from its circuit.
    """
    pieces = [
        Curve(f"{s.start}=>{s.end}", f"{s.start} to {s.end}".replace("_", " "))
        for s in model.stage.sections()
    ]
    whole = [] if len(pieces) == 1 else [Curve("signal->output", "whole stage")]
    plot = Plot(
        "Gain of each piece of the signal path", "gain_db", [*pieces, *whole], "gain", depth=62, height=340
    )
    note = "Each piece is measured inside the whole network, loaded by what follows it."
    return Curves(title="Pieces", plots=[plot], note=note)


def rail_ripple() -> Curves:
    """Return how much of the ripple on the rail reaches the bias node and the output."""
    curves = [Curve("supply->bias", "bias node"), Curve("supply->output", "output")]
    plot = Plot(
        "Ripple passed on from the rail", "gain_db", curves, "passed on", depth=92, height=340,
        limits=("ripple_bias",), marks=("ripple_bias",),
    )  # fmt: skip
    return Curves(title="Rail ripple", plots=[plot], low=0.01, high=100e3)


def schematic() -> Markup:
    """Return the circuit diagram of the stage; the values in it follow the sliders."""
    return Markup("schematic", "Schematic", markup=schematic_svg, when_opened=True)


def derivation() -> Markup:
    """Return the algebra of the stage, step by step."""
    return Markup("derivation", "Derivation", markup=derivation_html, when_opened=True)


def cautions() -> Markup:
    """Return what to know before hands or ears meet the circuit."""
    return Markup("text", "Cautions", markup=cautions_html)


def standard_views(model: StageModel) -> list[View]:
    """Return the views of a panel for which none were named.

    Parameters
    ----------
    model : StageModel
        The model shown.
    """
    warned = [cautions()] if cautions_html(model.stage) else []
    judged = [checks()] if model.checks else []
    return [readouts(), response(), blocks(model), rail_ripple(), *judged, schematic(), derivation(), *warned]
