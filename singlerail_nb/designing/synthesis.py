"""From requirements to a stage: exact values, preferred values, and the figures they really give.

Every formula comes out of the derivation of the circuit: the equation that contains the
wanted part is solved for it.  The part that sets the cut-off comes last and is solved on the
whole network, so that the other corners, the bias impedance and the load are all counted.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import NoReturn

from ..analysis.stage import Stage
from ..circuit.circuit import closest
from ..errors import RequirementError, UnknownNameError
from ..quantities import write_quantity
from ..quantities.tables import markdown_table
from .draft import Draft
from .given import require_requirements
from .low_end import size_coupling
from .requirements import Requirements
from .resistors import size_divider, size_follower_input, size_inverting, size_noninverting
from .review import Review, ReviewRow, review
from .steps import DesignStep
from .verification import Check, verify

_RESISTORS = {
    "noninverting": size_noninverting,
    "inverting": size_inverting,
    "follower": size_follower_input,
}

TOPOLOGIES = tuple(_RESISTORS)
"""What `design` can make."""

LARGEST_GAIN = 1000.0
"""Most gain this synthesis asks of one stage, V/V; beyond it offset and bandwidth suffer."""


@dataclass(frozen=True)
class Design:
    """A designed stage with its reasons and its proof.

    Attributes
    ----------
    requirements : Requirements
        What was asked.
    topology : str
        Name of the stage in the registry.
    stage : Stage
        The stage with preferred values.
    steps : tuple of DesignStep
        Every decision, in order.
    """

    requirements: Requirements
    topology: str
    stage: Stage
    steps: tuple[DesignStep, ...]

    @cached_property
    def review(self) -> Review:
        """The verification of the design at the lowest, nominal and highest rail."""
        return review(self.stage, self.requirements.demands, self.requirements)

    @property
    def checks(self) -> tuple[ReviewRow, ...]:
        """Every requirement with the figures of the real circuit at every rail."""
        return self.review.rows

    @property
    def passed(self) -> bool:
        """True if no requirement fails; what is asked of the signal path never does."""
        return self.review.passed

    def step(self, part: str) -> DesignStep:
        """Return the decision behind a part.

        Parameters
        ----------
        part : str
            Name of the part, such as ``"c_in"``.

        Raises
        ------
        UnknownNameError
            If the design chose no such part.
        """
        for step in self.steps:
            if step.part == part:
                return step
        parts = [step.part for step in self.steps]
        raise UnknownNameError(
            "part", part, allowed="a part that the design chose", remedy=closest(part, parts)
        )

    @property
    def text(self) -> str:
        """Title, parts, checks, mends of failed checks and reasons of cautions, as plain text."""
        verdict = "meets every requirement" if self.passed else "does NOT meet every requirement"
        lines = [f"{self.stage.title}, {write_quantity(self.stage.supply, 'V')} rail: {verdict}", ""]
        lines += [
            f"  {step.symbol:<7} {write_quantity(step.chosen, step.unit):>8}   {step.recomputed}"
            for step in self.steps
        ]
        lines += ["", *(f"  {check.text}" for check in self.checks)]
        lines += [f"  {note}" for note in self.review.notes]
        return "\n".join(lines)

    def __getstate__(self) -> dict[str, object]:
        """Return what goes to another process: the review is computed again there."""
        return {name: value for name, value in self.__dict__.items() if name != "review"}

    def __getattr__(self, name: str) -> NoReturn:
        hint = "; its stage has one: give design.stage" if hasattr(Stage, name) else ""
        raise AttributeError(f"'Design' object has no attribute {name!r}{hint}")

    def __repr__(self) -> str:
        return self.text

    def _repr_markdown_(self) -> str:
        verdict = "meets every requirement" if self.passed else "does not meet every requirement"
        rail = write_quantity(self.stage.supply, "V")
        return "\n\n".join(
            [
                f"**{self.stage.title}, {rail} rail: {verdict}.**",
                markdown_table(
                    ("part", "value", "code", "exact", "rounding", "gives"), [step.row for step in self.steps]
                ),
                self.review._repr_markdown_(),
            ]
        )


def design(requirements: Requirements, topology: str = "noninverting") -> Design:
    """Return a stage that meets the requirements with values one can buy.

    Parameters
    ----------
    requirements : Requirements
        What the stage must do.
    topology : str
        ``"noninverting"``, ``"inverting"`` or ``"follower"``.

    Returns
    -------
    Design
        Frozen; the whole network meets what is asked of the signal path.  What is asked of the
        op-amp side is reported in its checks, with the smallest change that would mend a failure.

    Raises
    ------
    RequirementError
        If these are no requirements, the topology cannot give the gain, or no preferred values meet them.
    UnknownNameError
        If there is no such topology.
    """
    require_requirements(requirements)
    if topology not in _RESISTORS:
        raise UnknownNameError(
            "topology", topology, allowed=", ".join(_RESISTORS), remedy=closest(topology, _RESISTORS)
        )
    _check_gain(requirements, topology)
    draft = Draft(requirements, topology)
    size_divider(draft)
    _RESISTORS[topology](draft)
    size_coupling(draft)
    stage = draft.stage()
    _require_passed(verify(stage, requirements))
    return Design(requirements, topology, stage, tuple(draft.steps))


_REMEDIES = {
    "mid-band gain": "Allow a larger gain tolerance, a finer resistor series or a faster op-amp.",
    "input impedance": "Ask for less input impedance, or choose an op-amp with more gain.",
    "top-end cut-off": "Choose a faster op-amp or less gain in this stage.",
    "rumble floor": "Allow a finer capacitor series, a lower floor or a higher cut-off.",
}


def _require_passed(checks: tuple[Check, ...]) -> None:
    """Refuse a stage that misses a requirement on the whole network, in spite of all the steps."""
    for check in checks:
        if check.status == "fail":
            raise RequirementError(
                check.requirement,
                write_quantity(check.value, check.unit),
                allowed=check.limit_text,
                remedy=_REMEDIES.get(check.requirement, "Relax this requirement, or allow finer series."),
            )


def _check_gain(needed: Requirements, topology: str) -> None:
    gain = needed.gain
    if abs(gain) > LARGEST_GAIN:
        raise RequirementError(
            "gain",
            f"{gain:g}",
            allowed=f"up to {LARGEST_GAIN:g} in one stage",
            remedy="Split the gain over two stages.",
        )
    if topology == "noninverting" and not gain > 1.0:
        better = "follower" if gain == 1.0 else "inverting"
        raise RequirementError(
            "gain",
            f"{gain:g}",
            allowed="more than 1 for a non-inverting stage",
            remedy=f'Use topology="{better}".',
        )
    if topology == "follower" and abs(gain - 1.0) > needed.gain_tolerance:
        raise RequirementError(
            "gain",
            f"{gain:g}",
            allowed="1 for a follower",
            remedy='Use topology="noninverting" for more, "inverting" for less or a change of sign.',
        )
