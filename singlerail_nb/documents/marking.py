"""Mark a class: every answer of every student, what went wrong how often, and who should be asked.

A student's text can only change that student's marks: submissions are matched by name and sheet
code, marked one by one, and shown as plain text.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from .answers import read_answers
from .class_files import write_marks
from .feedback import feedback_paper, report_paper
from .handout import Handout
from .judging import Mark, Verdict, judge
from .marked import MarkedSheet, misconceptions
from .paper import Paper
from .plain_text import printable
from .resemblance import resemblances
from .seating import folded
from .submissions import Collected, Submission
from .variants import ClassSet


@dataclass(frozen=True)
class ClassMarks:
    """The marks of a class.

    Attributes
    ----------
    class_set : ClassSet
        The sheets.
    results : tuple of MarkedSheet
        In the order of the class list.
    notices : tuple of str
        What could not be read or matched, and which sheets resemble each other; for the instructor.
    """

    class_set: ClassSet
    results: tuple[MarkedSheet, ...]
    notices: tuple[str, ...]

    def of(self, student: str) -> MarkedSheet:
        """Return the marks of a student.

        Parameters
        ----------
        student : str
            Name; capitals and spaces around it do not matter.

        Raises
        ------
        UnknownNameError
            If the class has no such student.
        """
        return self.results[self.class_set.sheets.index(self.class_set.sheet(student))]

    @cached_property
    def misconceptions(self) -> Counter[str]:
        """Recognised mistake -> number of students who made it."""
        return misconceptions(self.results)

    def feedback(self, student: str) -> Paper:
        """Return what a student gets back.

        Parameters
        ----------
        student : str
            Name.

        Raises
        ------
        UnknownNameError
            If the class has no such student.
        """
        return feedback_paper(self.of(student))

    @property
    def report(self) -> Paper:
        """Misconceptions, difficult questions, what to look into, and the marks."""
        return report_paper(self.class_set.goal.title, self.results, self.notices)

    def write(self, folder: str | Path) -> Path:
        """Write ``feedback/`` for the students, ``instructor/`` with report and table of marks.

        Parameters
        ----------
        folder : str or Path
            Where; made if it does not exist.
        """
        return write_marks(self.class_set.goal.title, self.results, self.notices, folder)


def mark(
    class_set: ClassSet,
    answers: str | Path | Iterable[str | Path] | Collected,
    *,
    executor: Executor | None = None,
) -> ClassMarks:
    """Return the marks of a class.

    Parameters
    ----------
    class_set : ClassSet
        The sheets, made again from class list and secret.
    answers : path, iterable of path or Collected
        A CSV file, filled notebooks, a folder of them; see `read_answers`.
    executor : concurrent.futures.Executor, optional
        Where sheets are marked; here, one after the other, unless given.

    Raises
    ------
    QuantityError
        If a file does not exist or has another ending.
    """
    collected = answers if isinstance(answers, Collected) else read_answers(answers)
    notices = list(collected.notices)
    given = matched(class_set, collected.submissions, notices)
    sheets, texts = class_set.sheets, [given.get(i, {}) for i in range(len(class_set.sheets))]
    found = (map if executor is None else executor.map)(_judged, sheets, texts)
    results = tuple(_marked(sheet, judged) for sheet, judged in zip(sheets, found, strict=True))
    notices += resemblances(results)
    return ClassMarks(class_set, results, tuple(notices))


def mark_sheet(sheet: Handout, answers: Mapping[str, str]) -> MarkedSheet:
    """Return the marks of one sheet.

    Parameters
    ----------
    sheet : Handout
        What was asked.
    answers : mapping of str to str
        Question id -> what was answered, as typed.
    """
    return _marked(sheet, _judged(sheet, answers))


_Judged = tuple[str, Verdict, float, str, str, float | None]
"""A mark without its question: what a worker sends back."""


def _judged(sheet: Handout, answers: Mapping[str, str]) -> list[_Judged]:
    if not answers:
        return []
    earlier: dict[str, Mark] = {}
    for question in sheet.questions:
        earlier[question.ask.key] = judge(question, answers.get(question.id, ""), earlier)
    return [(m.text, m.verdict, m.credit, m.remark, m.slip, m.value) for m in earlier.values()]


def _marked(sheet: Handout, judged: list[_Judged]) -> MarkedSheet:
    pairs = zip(sheet.questions, judged, strict=False)  # nothing is judged where nothing was handed in
    return MarkedSheet(sheet, tuple(Mark(question, *found) for question, found in pairs))


def matched(
    class_set: ClassSet, submissions: Iterable[Submission], notices: list[str]
) -> dict[int, Mapping[str, str]]:
    """Return whose answers are whose: place in the class list -> answers.

    A sheet code settles it; without one the name does, in a table that the instructor keeps.  A
    notebook without its code, or with the code of somebody else, counts for nobody.

    Parameters
    ----------
    class_set : ClassSet
        The sheets.
    submissions : iterable of Submission
        What was handed in.
    notices : list of str
        Gets a line for everything that counts for nobody.
    """
    by_name = {folded(sheet.student): i for i, sheet in enumerate(class_set.sheets)}
    by_code = {sheet.code: i for i, sheet in enumerate(class_set.sheets)}
    found: dict[int, Submission] = {}
    for one in submissions:
        code = one.code.strip().upper()
        place = by_name.get(folded(one.student), by_code.get(code))
        if place is None:
            notices.append(f"{one.source}: no student {_shown(one.student)} in the class, left out")
            continue
        if folded(one.student) not in by_name:
            owner = class_set.sheets[place].student
            notices.append(
                f"{one.source}: {_shown(one.student)} is taken for {_shown(owner)} by the sheet code"
            )
        proven = code == class_set.sheets[place].code
        if not proven and (code or one.source.lower().endswith(".ipynb")):
            owner = f", but of {_shown(class_set.sheets[by_code[code]].student)}'s" if code in by_code else ""
            notices.append(
                f"{one.source}: the code is not that of {_shown(one.student)}'s sheet{owner}, left out"
            )
            continue
        if place in found and (found[place].code or not proven):
            notices.append(f"{one.source}: a second submission of {_shown(one.student)}, left out")
            continue
        found[place] = one
    return {place: one.answers for place, one in found.items()}


def _shown(text: str) -> str:
    return printable(text, 40)
