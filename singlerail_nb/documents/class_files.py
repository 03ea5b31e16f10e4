"""Write a class set, or its marks, as files: what students get apart from what the instructor keeps."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from pathlib import Path

from ..files import write_at_once
from .csv_tables import BYTE_ORDER_MARK, table_of_answers
from .document import Document
from .feedback import feedback_paper, marks_table, report_paper
from .handout import Handout
from .html import joined, to_html
from .keys import all_answers, answer_key, answer_rows
from .marked import MarkedSheet
from .writers import WRITERS, write_document

_CHUNK = 2


@dataclass(frozen=True)
class _Job:
    """Some sheets to write: what a worker is sent."""

    sheets: tuple[Handout, ...]
    form: str


@dataclass(frozen=True)
class _Written:
    """A sheet as text: in its form, for printing, its key, and its rows of the table of all answers."""

    own: str
    printed: str
    key: str
    rows: tuple[tuple[str, ...], ...]


def _written(job: _Job) -> list[_Written]:
    found = []
    for sheet in job.sheets:
        printed = to_html(sheet.document)
        own = printed if job.form == ".html" else WRITERS[job.form](sheet.document)
        found.append(_Written(own, printed, to_html(answer_key(sheet)), answer_rows(sheet)))
    return found


def write_sheets(
    sheets: Sequence[Handout], folder: str | Path, *, form: str = ".html", executor: Executor | None = None
) -> Path:
    """Write a class set to a folder.

    ``students/`` holds one file per student; ``handouts.html`` all of them for printing, each on its
    own pages.  ``instructor/`` holds ``keys.html``, which begins with all answers on one page, and
    ``answers.csv``, a table to fill in.

    Parameters
    ----------
    sheets : sequence of Handout
        In the order of the class list.
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
    top = Path(folder)
    students, instructor = _folders(top, "students", "instructor")
    if form not in WRITERS:
        write_document(Document("", ()), students / f"x{form}")
    jobs = [_Job(tuple(sheets[i : i + _CHUNK]), form) for i in range(0, len(sheets), _CHUNK)]
    found = [one for part in (map if executor is None else executor.map)(_written, jobs) for one in part]
    for name, one in zip(file_names(sheets), found, strict=True):
        write_at_once(students / f"{name}{form}", one.own)
    title, owners = sheets[0].goal.title, [_owner(sheet) for sheet in sheets]
    printed = zip(owners, (one.printed for one in found), strict=True)
    write_at_once(top / "handouts.html", joined(title, [*printed]))
    overview = to_html(all_answers(title, sheets[0].questions, [one.rows for one in found]))
    keys = zip((f"Key: {owner}" for owner in owners), (one.key for one in found), strict=True)
    write_at_once(instructor / "keys.html", joined("Keys", [("All answers", overview), *keys]))
    asked = [question.id for question in sheets[0].questions]
    table = table_of_answers(((sheet.student, sheet.code) for sheet in sheets), asked)
    write_at_once(instructor / "answers.csv", BYTE_ORDER_MARK + table)
    return top


def _owner(sheet: Handout) -> str:
    return f"{sheet.student}, sheet {sheet.code}"


def write_marks(
    title: str, results: Sequence[MarkedSheet], notices: Iterable[str], folder: str | Path
) -> Path:
    """Write the marks of a class: ``feedback/`` for the students, ``instructor/`` for report and table.

    Parameters
    ----------
    title : str
        Title of the lab.
    results : sequence of MarkedSheet
        In the order of the class list.
    notices : iterable of str
        For the report.
    folder : str or Path
        Where; made if it does not exist.
    """
    top = Path(folder)
    feedback, instructor = _folders(top, "feedback", "instructor")
    pages = [to_html(feedback_paper(result)) for result in results]
    for name, page in zip(file_names([result.sheet for result in results]), pages, strict=True):
        write_at_once(feedback / f"{name}.html", page)
    owners = [_owner(result.sheet) for result in results]
    write_at_once(top / "feedback.html", joined("Marks", [*zip(owners, pages, strict=True)]))
    write_document(report_paper(title, results, notices), instructor / "report.html")
    write_at_once(instructor / "marks.csv", BYTE_ORDER_MARK + marks_table(results))
    return top


def _folders(top: Path, *names: str) -> list[Path]:
    found = [top / name for name in names]
    for path in found:
        path.mkdir(parents=True, exist_ok=True)
    return found


def file_names(sheets: Sequence[Handout]) -> list[str]:
    """Return a safe file name for every student, numbered as in the class list.

    Parameters
    ----------
    sheets : sequence of Handout
        In the order of the class list.
    """
    width = len(str(len(sheets)))
    return [f"{i:0{width}}_{_slug(sheet.student)}".rstrip("_") for i, sheet in enumerate(sheets, 1)]


def _slug(name: str) -> str:
    ascii_only = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    return re.sub(r"[^A-Za-z0-9]+", "_", ascii_only).strip("_")[:40]
