"""Learning goals: what a student shall be able to do afterwards, and which questions show it."""

from __future__ import annotations

from dataclasses import dataclass

from ..circuit.circuit import closest
from ..errors import UnknownNameError
from .asks import Ask
from .bench_questions import BENCH
from .question_bank import PRELAB
from .questions import Question
from .task import Task


@dataclass(frozen=True)
class Goal:
    """A learning goal.

    Attributes
    ----------
    key : str
        Short name.
    title : str
        Title of the handout.
    objectives : tuple of str
        What the student can do afterwards, one behaviour each.
    asks : tuple of str
        Keys of its questions.
    prompts : tuple of str
        What to explain when prediction and measurement differ.
    minutes : int
        Time at the bench (common practice, no published source).
    """

    key: str
    title: str
    objectives: tuple[str, ...]
    asks: tuple[str, ...]
    prompts: tuple[str, ...]
    minutes: int


_BIAS = Goal(
    "bias",
    "The mid-rail bias and what the rail does to it",
    (
        "Predict where the bias node and the output rest, within 5 %.",
        "Say which resistance the bias-filter capacitor sees, and why.",
        "Predict how much ripple of the rail reaches the output, with the source connected.",
        "Predict how long the stage needs after switch-on.",
    ),
    ("bias", "thevenin", "bias_corner", "ripple", "ready", "m_bias", "m_rest", "m_ripple", "m_ready"),
    (
        "What did the meter itself do to the bias node? Calculate it.",
        "Disconnect the source and measure the ripple again. Explain the difference.",
    ),
    60,
)
_LOW_END = Goal(
    "low end",
    "Where the low end falls off",
    (
        "Write the corner of each coupling from the drawing, with every resistance that counts.",
        "Predict mid-band gain and low-end cut-off, source resistance included, within 15 %.",
        "Explain why the cut-off lies above the highest single corner.",
    ),
    (
        "input_formula", "input_corner", "leg_gain", "gain", "leg_corner", "output_corner", "low_cutoff",
        "m_rest", "m_output", "m_cutoff",
    ),
    (
        "Which capacitor moves the cut-off most? Say how the measurement shows it.",
        "Would an AC-coupled oscilloscope have shown the same cut-off? Calculate its effect.",
        "Compare the cut-off with your highest single corner. Explain the difference.",
    ),
    75,
)  # fmt: skip
_HEADROOM = Goal(
    "headroom",
    "How far the output can swing",
    (
        "Predict where the output rests and how far it may swing to either side.",
        "Predict the largest output before one side clips, and which side that is.",
        "Say what moving the bias would buy.",
    ),
    ("bias", "leg_gain", "gain", "swing", "m_bias", "m_rest", "m_output", "m_swing"),
    (
        "Which side clipped first? Name the figure of the op-amp that decides it.",
        "Lower the rail by a tenth. What happens to the swing, and why not by a tenth?",
        "Where would the bias have to rest for the largest swing, and how much would that buy? Calculate it.",
    ),
    60,
)
_WHOLE = Goal(
    "whole stage",
    "A single-rail stage from prediction to measurement",
    (*_BIAS.objectives[:3], *_LOW_END.objectives[:2], _HEADROOM.objectives[1], _BIAS.objectives[3]),
    tuple(ask.key for ask in (*PRELAB, *BENCH)),
    (_BIAS.prompts[0], *_LOW_END.prompts[:2], _HEADROOM.prompts[0]),
    120,
)
GOALS = {goal.key: goal for goal in (_BIAS, _LOW_END, _HEADROOM, _WHOLE)}
"""The learning goals by name."""

_ASKS = {ask.key: ask for ask in (*PRELAB, *BENCH)}


def learning_goal(name: str | Goal) -> Goal:
    """Return a learning goal by name; one of your own is returned as it is.

    Parameters
    ----------
    name : str or Goal
        A name from `GOALS`.

    Raises
    ------
    UnknownNameError
        If there is no such goal, or it asks a question that does not exist.
    """
    if isinstance(name, str):
        if name not in GOALS:
            raise UnknownNameError("goal", name, allowed="a learning goal", remedy=closest(name, GOALS))
        return GOALS[name]
    for key in name.asks:
        if key not in _ASKS:
            raise UnknownNameError("question", key, allowed="a known question", remedy=closest(key, _ASKS))
    return name


def questions_of(goal: Goal, task: Task) -> tuple[Question, ...]:
    """Return the questions of a goal about a circuit: predictions P1, P2 ..., measurements M1, M2 ...

    Parameters
    ----------
    goal : Goal
        The goal.
    task : Task
        The circuit.
    """
    asked = [_ASKS[key] for key in goal.asks if task.has(*_ASKS[key].parts)]
    counts = {"P": 0, "M": 0}
    found = []
    for ask in asked:
        letter = _letter(ask)
        counts[letter] += 1
        found.append(Question(f"{letter}{counts[letter]}", ask, task))
    return tuple(found)


def _letter(ask: Ask) -> str:
    return "P" if ask.setup is None else "M"
