"""Choosers that every panel may have: bias source, op-amp class, rail, topology.

Each one brings what the new choice needs: a bias source comes with values from its sizing rules, a
rail with its range, ripple and rise time, a topology with a design for the figures of the present stage.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from ..analysis.stage import Stage
from ..circuit.bias_sources import BIAS_TITLES
from ..circuit.opamp_library import opamp, opamps
from ..circuit.stage_type import stage_type
from ..circuit.supplies import Supply, supplies, supply_rail
from ..errors import RequirementError
from .controls import Chooser
from .model import StageModel

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
_TOPOLOGIES = ("noninverting", "inverting", "follower")
_ASKED = 0.9
"""Another topology must keep this share of the input impedance, and the cut-off by the same margin."""


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
        conditions = BiasConditions.on(_rail(model))
        usual = usual_choices(stage, conditions)
        name = _BIAS[option]
        if name in usual.impossible:
            raise RequirementError(
                "bias source", option, allowed="one that works on this rail", remedy=usual.impossible[name]
            )
        choice = usual.choices[name]
        model.replace(stage.with_bias(choice.bias, **choice.values))


def _rail(model: StageModel) -> Supply:
    """Return the rail of the model, or one that stays at the nominal voltage."""
    volts = model.stage.supply
    if model.rail is not None and model.rail.lowest <= volts <= model.rail.highest:
        return replace(model.rail, nominal=volts)
    return Supply("given", "Rail as given", "", volts, volts, volts, {}, 0.0, 0.0, "the stage")


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


@dataclass(frozen=True)
class TopologyChooser(Chooser):
    """Which stage: another topology is designed for gain, cut-off, input and load of the present one.

    Attributes
    ----------
    name, label : str
        As in `Chooser`.
    """

    name: str = "topology"
    label: str = "Stage"

    def names(self, model: StageModel) -> list[str]:  # noqa: ARG002 -- the same for every stage
        """Return the topologies that can be designed.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        return [stage_type(name).title for name in _TOPOLOGIES]

    def present(self, model: StageModel) -> str | None:
        """Return the title of the present stage.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        return model.stage.title

    def apply(self, model: StageModel, option: str) -> None:
        """Design the other topology for what the present stage does.

        Parameters
        ----------
        model : StageModel
            The model shown.
        option : str
            One of the options.

        Raises
        ------
        RequirementError
            If that topology cannot do it.
        """
        name = next(name for name in _TOPOLOGIES if stage_type(name).title == option)
        if name != model.stage.name:
            model.replace(redesigned(model, name))


def redesigned(model: StageModel, topology: str) -> Stage:
    """Return another topology that does what the present stage does.

    Parameters
    ----------
    model : StageModel
        The model shown; its requirements count where it has some.
    topology : str
        ``"noninverting"``, ``"inverting"`` or ``"follower"``.

    Raises
    ------
    RequirementError
        If that topology cannot do it.
    """
    from ..designing.requirements import Requirements
    from ..designing.synthesis import design  # optimisers load with it: only where it is asked

    if model.requirements is not None:
        return design(replace(model.requirements, opamp=model.stage.opamp), topology).stage
    stage, rail = model.stage, _rail(model)
    h = stage.transfer("signal", "output")
    needed = Requirements(
        supply=stage.supply, supply_min=rail.lowest, supply_max=rail.highest,
        gain=1.0 if topology == "follower" else h.midband_gain(), low_cutoff=h.low_cutoff() / _ASKED,
        input_impedance=_ASKED * stage.input_impedance().midband_gain(),
        source_resistance=stage.values.get("r_source", 0.0), load=stage.values.get("r_load"),
        divider_current=max(stage.divider_current(), 1e-6), opamp=stage.opamp,
    )  # fmt: skip
    return design(needed, topology).stage


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
