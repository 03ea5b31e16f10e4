"""Choosers that every panel may have: bias source, op-amp class, rail, topology.

Each one brings what the new choice needs: a bias source comes with values from its sizing rules, a
rail with its range, ripple and rise time; for a topology see `topology_choice`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from ..circuit.bias_sources import BIAS_TITLES
from ..circuit.opamp_library import opamp, opamps
from ..circuit.supplies import Supply, supplies, supply_rail
from ..errors import RequirementError
from .controls import Chooser
from .model import StageModel
from .rails import known_rail
from .topology_choice import TopologyChooser

IDEAL = "ideal"
_FILTERED_ZENER = "Zener with filter"
_BIAS = {
    "Plain divider": "divider",
    "Filtered divider": "filtered_divider",
    "Zener": "zener",
    _FILTERED_ZENER: "filtered_zener",
    "Buffered divider": "buffered_divider",
    "Reference": "reference",
}


@dataclass(frozen=True)
class BiasChooser(Chooser):
    """Where the mid-rail bias comes from; values by the sizing rules for the rail and the cut-off.

    Attributes
    ----------
    name, label : str
        As in `Chooser`.
    """

    name: str = "bias"
    label: str = "Bias source"

    def names(self, model: StageModel) -> list[str]:
        """Return the bias sources that can be sized; none for a stage without a mid-rail bias.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        return list(_BIAS) if model.stage.type.uses_bias else []

    def present(self, model: StageModel) -> str | None:
        """Return the title of the present bias source.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        if model.stage.bias == "zener" and "r_filter" in model.stage.values:
            return _FILTERED_ZENER
        return BIAS_TITLES.get(model.stage.bias, "none")

    def apply(self, model: StageModel, option: str) -> None:
        """Exchange the bias source.

        Parameters
        ----------
        model : StageModel
            The model shown.
        option : str
            One of the options.

        Raises
        ------
        RequirementError
            If that source cannot work on the rail.
        """
        from ..designing.bias_conditions import BiasConditions  # with the sizing rules, on first use
        from ..designing.usual_bias import usual_choices

        stage = model.stage
        conditions = BiasConditions.on(known_rail(model))
        usual = usual_choices(stage, conditions)
        name = _BIAS[option]
        if name in usual.impossible:
            raise RequirementError(
                "bias source", option, allowed="one that works on this rail", remedy=usual.impossible[name]
            )
        choice = usual.choices[name]
        model.replace(stage.with_bias(choice.bias, **choice.values))


@dataclass(frozen=True)
class OpAmpChooser(Chooser):
    """Which op-amp: ideal, or one of the invented demonstration classes.

    Attributes
    ----------
    name, label : str
        As in `Chooser`.
    """

    name: str = "opamp"
    label: str = "Op-amp"

    def names(self, model: StageModel) -> list[str]:  # noqa: ARG002 -- the same for every stage
        """Return ideal and the shipped classes.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        return [IDEAL, *(f"{name}, invented" for name in opamps())]

    def present(self, model: StageModel) -> str | None:
        """Return the present op-amp.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        record = model.stage.opamp
        if record is None:
            return IDEAL
        shipped = record.name in opamps() and opamp(record.name) == record
        return f"{record.name}, invented" if shipped else record.name

    def apply(self, model: StageModel, option: str) -> None:
        """Exchange the op-amp.

        Parameters
        ----------
        model : StageModel
            The model shown.
        option : str
            One of the options.
        """
        record = None if option == IDEAL else opamp(option.removesuffix(", invented"))
        model.replace(replace(model.stage, opamp=record))


@dataclass(frozen=True)
class RailChooser(Chooser):
    """Which rail of the scenario: nominal voltage, range, ripple and rise time.

    Attributes
    ----------
    name, label : str
        As in `Chooser`.
    """

    name: str = "rail"
    label: str = "Rail"

    def names(self, model: StageModel) -> list[str]:  # noqa: ARG002 -- the same for every stage
        """Return the rails of the scenario.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        return list(_rails())

    def present(self, model: StageModel) -> str | None:
        """Return the present rail.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        return next((title for title, rail in _rails().items() if rail == model.rail), "as given")

    def apply(self, model: StageModel, option: str) -> None:
        """Put the stage on another rail; its parts stay.

        Parameters
        ----------
        model : StageModel
            The model shown.
        option : str
            One of the options.

        Raises
        ------
        CircuitError
            If the stage cannot run on it.
        """
        rail = _rails()[option]
        model.replace(replace(model.stage, supply=rail.nominal), rail)


def _rails() -> Mapping[str, Supply]:
    found = [supply_rail(name) for name in supplies()]
    return {f"{rail.nominal:g} V: {rail.title}": rail for rail in found}


def bias_chooser() -> Chooser:
    """Return the chooser of the bias source."""
    return BiasChooser()


def opamp_chooser() -> Chooser:
    """Return the chooser of the op-amp class."""
    return OpAmpChooser()


def rail_chooser() -> Chooser:
    """Return the chooser of the rail."""
    return RailChooser()


def topology_chooser() -> Chooser:
    """Return the chooser of the topology."""
    return TopologyChooser()
