"""The chooser of the topology: another kind of stage, designed for what the present one does."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ..analysis.stage import Stage
from ..circuit.stage_type import stage_type
from .controls import Chooser
from .model import StageModel
from .rails import known_rail

_TOPOLOGIES = ("noninverting", "inverting", "follower")
_ASKED = 0.9
"""Another topology must keep this share of the input impedance, and the cut-off by the same margin."""


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
    stage, rail = model.stage, known_rail(model)
    h = stage.transfer("signal", "output")
    needed = Requirements(
        supply=stage.supply, supply_min=rail.lowest, supply_max=rail.highest,
        gain=1.0 if topology == "follower" else h.midband_gain(), low_cutoff=h.low_cutoff() / _ASKED,
        input_impedance=_ASKED * stage.midband_input_impedance(),
        source_resistance=stage.values.get("r_source", 0.0), load=stage.values.get("r_load"),
        divider_current=max(stage.divider_current(), 1e-6), opamp=stage.opamp,
    )  # fmt: skip
    return design(needed, topology).stage
