"""Who gets which circuit: seeds from a secret, one difficulty for all, neighbours kept apart."""

from __future__ import annotations

import hashlib
import hmac
import re
import unicodedata
from base64 import b32encode
from collections import Counter
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass

from ..errors import RequirementError
from .drawing_lots import draw
from .fitness import Difficulty, difficulty
from .goals import Goal, questions_of
from .lab import Lab
from .task import Task

APART, ANSWERS_APART = 0.15, 2
"""Two neighbours differ by this share in this many answers at least."""
_FEW = 3
"""Where so few numbers are asked, as of the headroom of an inverting stage, one that differs is enough."""
LONGEST_NAME = 120
_REFERENCES, _MOST_ATTEMPTS, _PATIENCE = 16, 200, 40
"""Trial circuits, rounds of drawing, and rounds in which no further student gets a circuit."""
_ROUNDS = 200_000


def folded(name: str) -> str:
    """Return a name in the form in which names are compared: capitals, spaces, apostrophes do not matter.

    Parameters
    ----------
    name : str
        As written.
    """
    written = unicodedata.normalize("NFKC", name[:LONGEST_NAME]).casefold()
    return " ".join(_APOSTROPHE.sub("'", written).replace(",", ", ").split())


_APOSTROPHE = re.compile("[\u2018\u2019\u02bc\u00b4`]")
"""Telephones and spreadsheets change the one that was typed."""


class Seeds:
    """Seeds and sheet codes from the secret; neither leads back to it.

    Parameters
    ----------
    secret : str
        The course secret.
    goal : Goal
        What is to be learnt.
    lab : Lab
        The conditions.
    """

    def __init__(self, secret: str, goal: Goal, lab: Lab) -> None:
        self._lab = f"{goal.key}|{lab.topology}"
        # Slow on purpose: whoever holds a sheet could otherwise try secrets against its code.
        self._secret = hashlib.pbkdf2_hmac("sha256", secret.encode(), self._lab.encode(), _ROUNDS)

    def _digest(self, *words: object) -> bytes:
        text = "\x1f".join([self._lab, *map(str, words)])
        return hmac.new(self._secret, text.encode(), hashlib.sha256).digest()

    def of(self, name: str, attempt: int) -> int:
        """Return the seed of a student's circuit.

        Parameters
        ----------
        name : str
            The student.
        attempt : int
            Counts up when a circuit is too near to a neighbour's.
        """
        return int.from_bytes(self._digest("circuit", folded(name), attempt)[:16])

    def code(self, name: str) -> str:
        """Return the code on a student's sheet.

        Parameters
        ----------
        name : str
            The student.
        """
        return b32encode(self._digest("sheet", folded(name))[:5]).decode("ascii")


@dataclass(frozen=True)
class _Job:
    """Some circuits to draw: what a worker is sent."""

    goal: Goal
    lab: Lab
    difficulty: Difficulty
    seeds: tuple[int, ...]


def _run(job: _Job) -> list[_Drawn]:
    found = [draw(job.goal, job.lab, seed, job.difficulty) for seed in job.seeds]
    return [(task, answers(job.goal, task)) for task in found]


_Drawn = tuple[Task, tuple[float, ...]]
_CHUNK = 4


def usual_difficulty(goal: Goal, lab: Lab, seeds: Seeds) -> Difficulty:
    """Return the difficulty that the stock gives most often: every circuit of the class gets it.

    Parameters
    ----------
    goal, lab
        Goal and conditions.
    seeds : Seeds
        Where the trial circuits come from.
    """
    tried = [difficulty(goal, draw(goal, lab, seeds.of("", number))) for number in range(_REFERENCES)]
    return Counter(tried).most_common(1)[0][0]


def drawn_apart(
    goal: Goal,
    lab: Lab,
    level: Difficulty,
    seeds: Seeds,
    names: Sequence[str],
    neighbours: int,
    executor: Executor | None = None,
) -> list[Task]:
    """Return one circuit per student; those too near to a student before are drawn again, all at once.

    Parameters
    ----------
    goal, lab, level
        Goal, conditions and the difficulty of every circuit.
    seeds : Seeds
        Where the circuits come from.
    names : sequence of str
        The class list.
    neighbours : int
        How many students before count.
    executor : concurrent.futures.Executor, optional
        Where circuits are drawn; the result is the same with any number of workers.

    Raises
    ------
    RequirementError
        If the stock does not give enough circuits.
    """
    run = map if executor is None else executor.map
    drawn: dict[int, _Drawn] = {}
    again = list(range(len(names)))
    fewest, since = len(names) + 1, 0
    for attempt in range(_MOST_ATTEMPTS):
        wanted = [seeds.of(names[i], attempt) for i in again]
        jobs = [_Job(goal, lab, level, tuple(wanted[k : k + _CHUNK])) for k in range(0, len(wanted), _CHUNK)]
        drawn |= zip(again, (one for found in run(_run, jobs) for one in found), strict=True)
        again = [i for i in range(len(names)) if _is_near(drawn, i, neighbours)]
        if not again:
            return [drawn[i][0] for i in range(len(names))]
        fewest, since = (len(again), attempt) if len(again) < fewest else (fewest, since)
        if attempt - since >= _PATIENCE:
            break
    raise RequirementError(
        "stock",
        lab.stock.title,
        allowed=f"enough values for {neighbours} different neighbours",
        remedy=f"Declare more values or rails, or fewer neighbours: neighbours={neighbours // 2}.",
    )


def _is_near(drawn: Mapping[int, _Drawn], place: int, neighbours: int) -> bool:
    before = range(max(0, place - neighbours), place)
    return any(not apart(drawn[place][1], drawn[other][1]) for other in before)


def answers(goal: Goal, task: Task) -> tuple[float, ...]:
    """Return the predicted numbers of a circuit, SI units.

    Parameters
    ----------
    goal, task
        Goal and circuit.
    """
    asked = questions_of(goal, task)
    return tuple(q.value for q in asked if q.ask.setup is None and not q.ask.is_formula)


def apart(one: Sequence[float], other: Sequence[float]) -> bool:
    """Return whether two students have at least two answers that differ by 15 % or more, of few one.

    Parameters
    ----------
    one, other : sequence of float
        Their answers.
    """
    pairs = zip(one, other, strict=True)
    different = sum(abs(a - b) >= APART * max(abs(a), abs(b)) for a, b in pairs)
    return different >= (ANSWERS_APART if len(one) > _FEW else 1)
