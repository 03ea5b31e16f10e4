"""The usual bias sources for a stage, each sized by its own rules."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from ..analysis.stage import Stage
from ..errors import RequirementError
from .bias_conditions import BiasConditions
from .bias_sizing import BiasChoice, buffered_divider_choice, divider_choice, filtered_divider_choice
from .fixed_bias_sizing import reference_choice, with_filter, zener_choice

REFERENCE_LEVELS = (1.25, 1.8, 2.048, 2.5, 3.0, 3.3, 4.096, 5.0, 10.0, 12.0, 15.0)
"""Voltages that references and regulators come in (common practice, no published source)."""


@dataclass(frozen=True)
class UsualChoices:
    """The bias sources that suit a stage, and those that cannot.

    Attributes
    ----------
    choices : mapping of str to BiasChoice
        Name of the row -> bias source with values.
    impossible : mapping of str to str
        Name -> why it cannot work on this rail.
    """

    choices: Mapping[str, BiasChoice]
    impossible: Mapping[str, str]


def usual_choices(stage: Stage, conditions: BiasConditions) -> UsualChoices:
    """Return plain and filtered divider, Zener with and without filter, follower and reference.

    Parameters
    ----------
    stage : Stage
        The stage; its low-end cut-off places the filters.
    conditions : BiasConditions
        The rail, and figures of the parts.
    """
    choices: dict[str, BiasChoice] = {}
    impossible: dict[str, str] = {}
    for name, size in _sizers(stage, conditions).items():
        try:
            choices[name] = size()
        except RequirementError as error:
            impossible[name] = str(error)
    return UsualChoices(choices, impossible)


def _sizers(stage: Stage, conditions: BiasConditions) -> dict[str, Callable[[], BiasChoice]]:
    rail = conditions.rail
    cutoff = stage.transfer("signal", "output").low_cutoff()

    def zener() -> BiasChoice:
        return zener_choice(rail, knee_current=conditions.knee_current)

    def buffered() -> BiasChoice:
        if stage.opamp is not None:
            return buffered_divider_choice(rail, cutoff, stage.opamp)
        return replace(filtered_divider_choice(rail, cutoff, 10e-6), bias="buffered_divider")

    def reference() -> BiasChoice:
        highest = rail.lowest - conditions.dropout
        fitting = [level for level in REFERENCE_LEVELS if level <= highest] or REFERENCE_LEVELS[:1]
        level = min(fitting, key=lambda v: abs(v - rail.nominal / 2.0))
        return reference_choice(rail, level, dropout=conditions.dropout, sink_current=conditions.sink_current)

    return {
        "divider": lambda: divider_choice(rail),
        "filtered_divider": lambda: filtered_divider_choice(rail, cutoff),
        "zener": zener,
        "filtered_zener": lambda: with_filter(zener(), cutoff),
        "buffered_divider": buffered,
        "reference": reference,
    }
