"""The requirements of a design as limits that the browser can check while a slider moves."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from ..analysis.network import refuse_as_stage
from ..analysis.stage import Stage
from ..circuit.supplies import Supply
from ..quantities import write_quantity
from .check import Check as Row
from .figures import Figure, Limit, standard_figures
from .model import StageModel

if TYPE_CHECKING:
    from ..designing.requirements import Requirements
    from ..designing.synthesis import Design
    from ..designing.verification import Check

_FIGURES = {
    "mid-band gain": Figure("midband_gain", "Mid-band gain", "V/V", "midband_gain"),
    "low-end cut-off": Figure("low_cutoff", "Low-end cut-off", "Hz", "low_cutoff"),
    "rumble floor": Figure("low_cutoff", "Low-end cut-off", "Hz", "low_cutoff"),
    "top-end cut-off": Figure("high_cutoff", "Top-end cut-off", "Hz", "high_cutoff"),
    "input impedance": Figure("input_impedance", "Input impedance", "ohm", "midband_gain", "input impedance"),
    "divider current": Figure(
        "divider_current", "Divider current", "A", "supply_current", "rail load", hidden=True
    ),
    "bias-filter corner": Figure("bias_corner", "Bias-filter corner", "Hz", "high_cutoff", "bias filter"),
    "DC gain for the bias": Figure(
        "bias_gain", "DC gain for the bias", "V/V", "dc_gain", "noise gain", hidden=True
    ),
}
"""Requirement, as the verification words it -> the figure that it limits."""


def figure_of(check: Check, needed: Requirements) -> Figure | None:
    """Return the figure that a requirement limits; None if only Python can compute it.

    Parameters
    ----------
    check : Check
        A row of the verification.
    needed : Requirements
        What it came from.
    """
    if check.requirement.startswith("droop") and needed.droop is not None:
        return Figure(
            "droop",
            check.requirement[:1].upper() + check.requirement[1:],
            "dB",
            "droop_db",
            frequency=needed.droop.frequency,
        )
    return _FIGURES.get(check.requirement)


def limit_of(check: Check, figure: Figure) -> Limit:
    """Return a row of the verification as a limit.

    Parameters
    ----------
    check : Check
        A row of the verification.
    figure : Figure
        The figure that it limits.
    """
    if check.kind == "within":
        return Limit(
            figure.id, "within", (check.limit - check.band, check.limit + check.band), check.requirement
        )
    return Limit(figure.id, check.kind, check.limit, check.requirement)


def design_model(design: Design, title: str = "") -> StageModel:
    """Return the model of a design: its stage, and its requirements as limits.

    Parameters
    ----------
    design : Design
        The design.
    title : str
        Heading; the title of the stage and its rail unless given.
    """
    from ..designing.verification import verify

    needed = design.requirements
    pairs = [(check, figure_of(check, needed)) for check in verify(design.stage, needed)]
    limits = [limit_of(check, figure) for check, figure in pairs if figure is not None]
    figures = {figure.id: figure for figure in standard_figures(design.stage)}
    for _, figure in pairs:
        if figure is not None:
            figures.setdefault(figure.id, figure)

    def told(stage: Stage) -> tuple[Row, ...]:
        return tuple(_row(check) for check in verify(stage, needed) if figure_of(check, needed) is None)

    return StageModel(
        design.stage,
        limits=limits,
        figures=figures.values(),
        title=title,
        told=told,
        rail=_rail_of(needed),
        requirements=needed,
    )


def _rail_of(needed: Requirements) -> Supply:
    """Return the rail that requirements name; of ripple and rise time they say nothing."""
    lowest, nominal, highest = needed.lowest_supply, needed.supply, needed.highest_supply
    source = "the requirements"
    return Supply("required", "Rail as required", "", lowest, nominal, highest, {}, 0.0, 0.0, source)


def _row(check: Check) -> Row:
    value = write_quantity(check.value, check.unit)
    return Row(check.requirement, check.limit_text, value, check.status == "pass")


def as_model(stage: Stage | Design | StageModel, limits: Iterable[Limit] = (), title: str = "") -> StageModel:
    """Return the model of what a panel is asked to show.

    Parameters
    ----------
    stage : Stage, Design or StageModel
        What to show.
    limits : iterable of Limit
        Requirements on a bare stage.
    title : str
        Heading.

    Raises
    ------
    QuantityError
        If it is none of these.
    """
    if isinstance(stage, StageModel):
        return stage
    if isinstance(stage, Stage):
        return StageModel(stage, limits=limits, title=title)
    from ..designing.synthesis import Design  # optimisers load with it: only where a design is shown

    if not isinstance(stage, Design):
        refuse_as_stage(stage, "a Stage, a Design or a StageModel")
    return design_model(stage, title)
