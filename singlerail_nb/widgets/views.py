"""What a panel can show: a small vocabulary of views to compose.

panel(stage, controls=["c_in", "r_g"], views=[readouts(), response(), schematic()])
"""

from __future__ import annotations

from ..plots.schematic import schematic_svg
from .caution_markup import cautions_html
from .computed import Computed
from .curve_views import Curve, Curves, Plot
from .formula_markup import derivation_html
from .model import StageModel
from .noise_view import noise_view
from .pieces_view import Pieces
from .review_view import review_view
from .ripple_view import Ripple
from .spread_view import spread_view
from .startup_view import startup_view
from .view_kinds import Markup, View
from .volts_view import volts_view


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


def blocks() -> Pieces:
    """Return the gain of each piece of the signal path, and of the whole."""
    return Pieces()


def rail_ripple() -> Ripple:
    """Return how much of the rail's ripple reaches the output, by which way, source connected and open."""
    return Ripple()


def startup() -> Computed:
    """Return the node voltages after the rail comes on, sags or goes, with saturated phases and settling."""
    return startup_view()


def volts_axis() -> Computed:
    """Return what fits between ground and the rail: ranges, rest and swing at every rail."""
    return volts_view()


def noise() -> Computed:
    """Return the noise density at the output and the share of each contributor."""
    return noise_view()


def spread() -> Computed:
    """Return the band of many boards for response and cut-off, and the sensitivities."""
    return spread_view()


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
    judged: list[View] = [checks()] if model.checks else []
    if model.requirements is not None:
        judged.append(review_view(model.requirements))
    rests = [volts_axis()] if model.stage.type.uses_bias else []  # the bias point is what it is about
    engines = [startup(), *rests, noise(), spread()]
    drawn = [response(), blocks(), rail_ripple(), *engines]
    return [readouts(), *drawn, *judged, schematic(), derivation(), *warned]
