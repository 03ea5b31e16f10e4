"""A class set: one circuit per student, equally hard, different enough that a copied answer shows.

Everything follows from the class list and a secret: the same two give the same sheets and keys on
any machine and with any number of workers.  The secret itself is kept nowhere.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from concurrent.futures import Executor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..analysis.stage import Stage
from ..designing.stock import Stock
from ..errors import QuantityError, UnknownNameError
from .class_files import write_sheets
from .drawing_lots import draw
from .fitness import Difficulty
from .goals import Goal, learning_goal
from .handout import Handout
from .lab import Lab, declared
from .seating import LONGEST_NAME, Seeds, drawn_apart, folded, usual_difficulty
from .task import Task

SHORTEST_SECRET = 8


@dataclass(frozen=True)
class ClassSet:
    """The sheets of a class.

    Attributes
    ----------
    goal : Goal
        What is to be learnt.
    lab : Lab
        What is on the bench and on the shelf.
    sheets : tuple of Handout
        In the order of the class list.
    difficulty : Difficulty
        What binds every one of the circuits.
    """

    goal: Goal
    lab: Lab
    sheets: tuple[Handout, ...]
    difficulty: Difficulty

    @property
    def students(self) -> tuple[str, ...]:
        """The class list."""
        return tuple(sheet.student for sheet in self.sheets)

    def sheet(self, student: str) -> Handout:
        """Return the sheet of a student.

        Parameters
        ----------
        student : str
            Name; capitals and spaces around it do not matter.

        Raises
        ------
        UnknownNameError
            If the class has no such student.
        """
        wanted = folded(student)
        for sheet in self.sheets:
            if folded(sheet.student) == wanted:
                return sheet
        raise UnknownNameError(
            "student",
            student[:LONGEST_NAME],
            allowed="a name of the class list",
            remedy="Check the spelling.",
        )

    def write(self, folder: str | Path, *, form: str = ".html", executor: Executor | None = None) -> Path:
        """Write the sheets, all of them for printing, and apart from them the keys.

        Parameters
        ----------
        folder : str or Path
            Where; made if it does not exist.
        form : str
            Form of the students' files: ".html", ".ipynb" or ".md".
        executor : concurrent.futures.Executor, optional
            Where the files are composed; here, one after the other, unless given.

        Raises
        ------
        SingleRailError
            If there is no such form.
        """
        return write_sheets(self.sheets, folder, form=form, executor=executor)


def class_set(
    students: Iterable[str],
    goal: str | Goal,
    *,
    secret: str,
    stock: Stock | None = None,
    neighbours: int = 8,
    executor: Executor | None = None,
    **conditions: Any,
) -> ClassSet:
    """Return one circuit per student, feasible, equally hard and different from the neighbours'.

    Parameters
    ----------
    students : iterable of str
        Class list; names are unique.
    goal : str or Goal
        Learning goal, such as ``"low end"``.
    secret : str
        The course secret, 8 characters or more; with the class list it gives the same sheets again.
    stock : Stock, optional
        Values on the shelf; E24 resistors and E6 capacitors unless given.
    neighbours : int
        How many places of the class list before and behind a student count as neighbours: these differ
        by 15 % or more in two answers at least, or in one where three or fewer numbers are asked.
    executor : concurrent.futures.Executor, optional
        Where circuits are drawn; here, one after the other, unless given.
    **conditions
        Other fields of `Lab`: ``topology``, ``supplies``, ``opamp``, ``tolerance``, ``meter`` ...

    Raises
    ------
    QuantityError
        If the secret is too short, the class is empty or a name occurs twice.
    RequirementError
        If the stock does not give enough circuits.
    UnknownNameError
        If there is no such goal.
    """
    names, wanted, lab = _class_list(students), learning_goal(goal), declared(stock, **conditions)
    if len(secret) < SHORTEST_SECRET:
        raise QuantityError(
            "secret",
            f"{len(secret)} characters",
            allowed=f"{SHORTEST_SECRET} characters or more",
            remedy="Take a sentence, and keep it where the keys are kept.",
        )
    seeds = Seeds(secret, wanted, lab)
    level = usual_difficulty(wanted, lab, seeds)
    tasks = drawn_apart(wanted, lab, level, seeds, names, neighbours, executor)
    sheets = tuple(
        Handout(wanted, task, name, seeds.code(name)) for name, task in zip(names, tasks, strict=True)
    )
    return ClassSet(wanted, lab, sheets, level)


def handout(
    goal: str | Goal,
    *,
    stock: Stock | None = None,
    stage: Stage | None = None,
    seed: int = 1,
    **conditions: Any,
) -> Handout:
    """Return one lab handout from a learning goal and declared stock.

    Parameters
    ----------
    goal : str or Goal
        Learning goal: ``"bias"``, ``"low end"``, ``"headroom"`` or ``"whole stage"``.
    stock : Stock, optional
        Values on the shelf; E24 resistors and E6 capacitors unless given.
    stage : Stage, optional
        The circuit; drawn from the stock unless given.
    seed : int
        The same seed draws the same circuit.
    **conditions
        Other fields of `Lab`: ``topology``, ``supplies``, ``opamp``, ``tolerance``, ``meter`` ...

    Raises
    ------
    RequirementError
        If the stock gives no fit circuit.
    UnknownNameError
        If there is no such goal.
    """
    wanted = learning_goal(goal)
    if stage is not None:
        conditions = {"topology": stage.name, "supplies": (stage.supply,)} | conditions
    lab = declared(stock, **conditions)
    return Handout(wanted, draw(wanted, lab, seed) if stage is None else Task.of(lab, stage))


def _class_list(students: Iterable[str]) -> list[str]:
    if isinstance(students, str):
        raise QuantityError(
            "class list", students, allowed="a list of names", remedy=f"Write [{students!r}] for one student."
        )
    names = [" ".join(str(name).split()) for name in students]
    twice = [name for name, count in Counter(map(folded, names)).items() if count > 1]
    if not names or not all(names) or twice:
        raise QuantityError(
            "class list",
            twice[0] if twice else "an empty name" if names else "empty",
            allowed="one name per student, each once",
            remedy="Tell students of one name apart by a number.",
        )
    return names
