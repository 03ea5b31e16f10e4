"""Whether a circuit is fit for the bench, and as hard as the others."""

from __future__ import annotations

from dataclasses import dataclass

from .goals import Goal, questions_of
from .questions import Question
from .signal_questions import corners
from .task import FIRM, Task

SLOWEST_START = 5.0
"""Longest time until the stage is ready, s (common practice: a class does not wait longer)."""
_LEAST_SIGNAL, _LEAST_RIPPLE = 5e-3, 2e-3
_RESISTORS = (1e3, 470e3)
_REVERSE = 0.1
_COUNTS = 0.05


@dataclass(frozen=True)
class Difficulty:
    """What binds a circuit: the same for every student of a class.

    Attributes
    ----------
    corners : tuple of str
        Corners that move the cut-off by 5 % or more.
    clips : "low" or "high"
        Side on which the output clips first.
    traps : int
        Mistakes of the goal's questions that can be told from the right answer.
    """

    corners: tuple[str, ...]
    clips: str
    traps: int


def difficulty(goal: Goal, task: Task) -> Difficulty:
    """Return what binds a circuit.

    Parameters
    ----------
    goal : Goal
        The goal.
    task : Task
        The circuit.
    """
    return Difficulty(_binding(task), _clips(task), _traps(goal, task))


def _clips(task: Task) -> str:
    below, above = task.rooms()
    return "low" if below < above else "high"


def _traps(goal: Goal, task: Task) -> int:
    predictions = (q for q in questions_of(goal, task) if q.ask.setup is None)
    return sum(len(_own_slips(question)) for question in predictions)


def _own_slips(question: Question) -> set[str]:
    own = {slip.key for slip in question.ask.slips}
    return {found.slip.key for found in question.signatures} & own


def _binding(task: Task) -> tuple[str, ...]:
    """Return the corners without which the cut-off would lie 5 % lower or more."""
    whole = task.whole.low_cutoff()
    parts = {"f_{in}": "c_in", "f_{a}": "c_g" if task.has("c_g") else "c_in", "f_{out}": "c_out"}
    return tuple(
        name
        for name in corners(task)
        if task.scaled(**{parts[name]: FIRM}).whole.low_cutoff() < (1.0 - _COUNTS) * whole
    )


def unfit(goal: Goal, task: Task, wanted: Difficulty | None = None) -> str:
    """Return why a circuit is not fit for the bench; an empty text if it is.

    Parameters
    ----------
    goal : Goal
        The goal.
    task : Task
        The circuit.
    wanted : Difficulty, optional
        What shall bind it; anything unless given.
    """
    return _unfit_values(goal, task) or _unfit_for(goal, task, wanted) or _unfit_start(task)


def _unfit_values(goal: Goal, task: Task) -> str:
    lab, rail = task.lab, task.stage.supply
    if not lab.opamp.supply_min <= lab.sag * rail <= rail <= lab.opamp.supply_max:
        return f"a rail outside the range of the op-amp {lab.opamp.name}"
    resistors = [v for name, v in task.stage.values.items() if name.startswith("r_")]
    if not all(_RESISTORS[0] <= value <= _RESISTORS[1] for value in resistors):
        return "a resistor that loads too much or picks up too much"
    if task.amplitude < _LEAST_SIGNAL:
        return "no headroom of 20 % for a signal that can be measured"
    if task.whole.low_cutoff() < 3.0 * lab.floor:
        return "a corner below what the instruments can be trusted at"
    if task.has("c_bias") and "m_ripple" in goal.asks and task.rejection() < _LEAST_RIPPLE:
        return "a ripple too small to be measured"
    below, above = task.rooms()
    return "two sides that clip at almost the same swing" if 0.9 < below / above < 1.1 else ""


def _unfit_for(goal: Goal, task: Task, wanted: Difficulty | None) -> str:
    """Compare with the wanted difficulty, what is cheap to know first."""
    other = "another difficulty than the rest of the class"
    if wanted is None:
        return ""
    if _clips(task) != wanted.clips or _binding(task) != wanted.corners:
        return other
    return "" if _traps(goal, task) == wanted.traps else other


def _unfit_start(task: Task) -> str:
    if task.ready() > SLOWEST_START:
        return "a start-up longer than 5 s"
    voltages = task.start.capacitor_voltages(task.start.times)
    if any(float(volts.min()) < -_REVERSE for volts in voltages.values()):
        return "a capacitor that is reversed during start-up"
    return ""
