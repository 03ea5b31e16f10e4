"""The lab handout: from a learning goal and declared stock to a page that can be printed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from ..analysis.operating_point import operating_point
from ..analysis.stage import Stage
from ..cautions import cautions_for
from ..plots.schematic import schematic_svg, schematic_text
from ..quantities import write_quantity
from .bench_pages import build, explain, find_faults, measure, rubric
from .document import Blank, Block, Caution, Drawing, Heading, Items, PageBreak, Paragraph, Table
from .fault_page import FailedBoard, failed_boards
from .glossary import words_section
from .goals import Goal, questions_of
from .paper import Paper
from .plain_text import plain
from .questions import Question
from .task import Task
from .wording import symbol


@dataclass(frozen=True)
class Handout:
    """One student's sheet: the questions are data, the document is made from them.

    Attributes
    ----------
    goal : Goal
        What is to be learnt.
    task : Task
        The student's circuit and the conditions on the bench.
    student : str
        Name; empty for a sheet without one.
    code : str
        Sheet code that ties answers to this sheet; it says nothing about the answers.
    """

    goal: Goal
    task: Task
    student: str = ""
    code: str = ""

    def __reduce__(self) -> tuple[Any, ...]:
        return (Handout, (self.goal, self.task, self.student, self.code))

    @property
    def stage(self) -> Stage:
        """The student's circuit."""
        return self.task.stage

    @cached_property
    def questions(self) -> tuple[Question, ...]:
        """Predictions and measurements, each with its answer, band and signatures of mistakes."""
        return questions_of(self.goal, self.task)

    @property
    def predictions(self) -> tuple[Question, ...]:
        """The questions of the pre-lab."""
        return tuple(q for q in self.questions if q.ask.setup is None)

    @property
    def measurements(self) -> tuple[Question, ...]:
        """The rows of the measurement table."""
        return tuple(q for q in self.questions if q.ask.setup is not None)

    @cached_property
    def faults(self) -> tuple[FailedBoard, ...]:
        """The failed boards of the fault-finding page."""
        return failed_boards(self.task)

    @property
    def next_page(self) -> PageBreak:
        """A new page that says whose it is: printed pages get mixed."""
        known = self.student or self.code
        return PageBreak(f"*{plain(self.student)}, sheet {plain(self.code)}*" if known else "")

    @cached_property
    def document(self) -> Paper:
        """The sheet for the student: no answer is in it."""
        blocks = [
            *_opening(self),
            *_prelab(self),
            self.next_page,
            *build(self.task),
            *(() if len(self.measurements) <= _FEW else (self.next_page,)),
            *measure(self.task, self.measurements),
            self.next_page,
            *explain(self.goal),
            self.next_page,
            *find_faults(self.task, self.faults),
            *rubric(self.predictions, self.measurements),
        ]
        words = tuple(words_section(blocks))
        page = (self.next_page, *words) if words else ()
        return Paper(self.goal.title, (*blocks, *page), _facts(self))

    def write(self, path: str | Path) -> Path:
        """Write the sheet; the ending names the form: .html, .md or .ipynb.

        Parameters
        ----------
        path : str or Path
            Where.
        """
        return self.document.write(path)


_FEW = 4
"""Rows of the measurement table that fit under the build list."""


def _facts(sheet: Handout) -> tuple[tuple[str, str], ...]:
    lab, stage = sheet.task.lab, sheet.stage
    return (
        ("Student", plain(sheet.student) if sheet.student else "\u2009"),
        ("Sheet code", sheet.code or "none"),
        ("Stage", f"{stage.title} on one rail of {write_quantity(stage.supply, 'V')}"),
        ("Parts from", lab.stock.title),
        ("Time at the bench", f"{sheet.goal.minutes} min, after the pre-lab is done"),
    )


def _opening(sheet: Handout) -> Iterable[Block]:
    yield Heading("Objectives")
    yield Paragraph("After this lab you can:")
    yield Items(sheet.goal.objectives)
    yield Heading("Your circuit")
    yield Drawing(
        schematic_svg(sheet.stage, values=True, resting=False),
        "Your circuit. Every + of an electrolytic is drawn where it belongs.",
        schematic_text(sheet.stage, values=True, resting=False),
    )
    yield sheet.next_page
    yield Heading("Parts")
    yield _parts_table(sheet)
    yield Paragraph(_opamp_text(sheet.task))
    yield from _cautions(sheet.task)


def _opamp_text(task: Task) -> str:
    low, high = task.output_range()
    known = task.stage.opamp
    inputs = (0.0, task.stage.supply) if known is None else known.input_range(task.stage.supply)
    written = [write_quantity(volts, "V", 3) for volts in (low, high, *inputs)]
    name = "The op-amp" if known is None else f"The op-amp ({known.title[0].lower() + known.title[1:]})"
    within = [f"{task.lab.tolerance.get(kind, 0.0):.0%}" for kind in ("resistors", "capacitors")]
    return (
        f"{name} reaches {written[0]} to {written[1]} at its output with this load, and takes "
        f"{written[2]} to {written[3]} at its inputs; all voltages count from ground. "
        f"Resistors are within {within[0]}, capacitors within {within[1]}."
    )


def _parts_table(sheet: Handout) -> Table:
    parts = [part for part in sheet.stage.parts if sheet.stage.values[part.name] > 0]
    rows = tuple(
        (symbol(part.name), part.label, write_quantity(sheet.stage.values[part.name], part.unit), "")
        for part in parts
    )
    return Table(
        ("Part", "Purpose", "Value", "Measured before fitting"),
        rows,
        "Measure every part before it is fitted: a wrong prefix is found here or much later.",
    )


def _cautions(task: Task) -> Iterable[Caution]:
    reversed_ones = any(state.is_reversed for state in operating_point(task.stage).capacitors)
    for found in cautions_for(
        capacitors=task.stage.values,
        highest_rail=task.stage.supply,
        supply=task.lab.supply_kind,
        reversed_capacitors=reversed_ones,
    ):
        yield Caution(found.title, found.text)


def _prelab(sheet: Handout) -> Iterable[Block]:
    yield sheet.next_page
    yield Heading("Pre-lab: derive and predict")
    typed = " Typed, a formula looks like `2*R_x/(C_x+C_y)`."
    yield Paragraph(
        "Do this before you come. Write your own unit with any prefix; a bare number is taken in the unit "
        "that is printed. Keep your working on a sheet of your own: a follow-on error costs nothing, and the "
        "working shows where it began." + (typed if any(q.ask.is_formula for q in sheet.predictions) else "")
    )
    for question in sheet.predictions:
        lines = 2 if question.ask.is_formula else 1
        yield Blank(question.id, question.text, question.ask.printed_unit, lines)
