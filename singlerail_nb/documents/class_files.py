"""Write a class set, or its marks, as files: what students get apart from what the instructor keeps."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from pathlib import Path

from .csv_tables import table_of_answers
from .document import Document
from .feedback import feedback_paper, marks_table, report_paper
from .handout import Handout
from .html import to_html
from .keys import answer_key
from .marked import MarkedSheet
from .writers import WRITERS, write_document, write_text

_CHUNK = 2
_MAIN = re.compile(r"<main>\n(.*)\n</main>", re.DOTALL)


@dataclass(frozen=True)
class _Job:
    """Some sheets to write: what a worker is sent."""

    sheets: tuple[Handout, ...]
    form: str


def _written(job: _Job) -> list[tuple[str, str, str]]:
    """Return the sheet in its form, the sheet as HTML for printing, and the key as HTML."""
    found = []
    for sheet in job.sheets:
        printed = to_html(sheet.document)
        own = printed if job.form == ".html" else WRITERS[job.form](sheet.document)
        found.append((own, printed, to_html(answer_key(sheet))))
    return found


def write_sheets(
    sheets: Sequence[Handout], folder: str | Path, *, form: str = ".html", executor: Executor | None = None
) -> Path:
    """Write a class set to a folder.

    ``students/`` holds one file per student; ``handouts.html`` all of them for printing, each on its
    own pages.  ``instructor/`` holds ``keys.html`` and ``answers.csv``, a table to fill in.

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
    for name, (own, _, _) in zip(file_names(sheets), found, strict=True):
        write_text(students / f"{name}{form}", own)
    write_text(top / "handouts.html", joined([printed for _, printed, _ in found], sheets[0].goal.title))
    write_text(instructor / "keys.html", joined([key for _, _, key in found], "Keys"))
    asked = [question.id for question in sheets[0].questions]
    table = table_of_answers(((sheet.student, sheet.code) for sheet in sheets), asked)
    write_text(instructor / "answers.csv", table)
    return top


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
        write_text(feedback / f"{name}.html", page)
    write_text(top / "feedback.html", joined(pages, "Marks"))
    write_document(report_paper(title, results, notices), instructor / "report.html")
    write_text(instructor / "marks.csv", marks_table(results))
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


def joined(pages: list[str], title: str) -> str:
    """Return several pages as one file for printing, each beginning on a page of its own.

    Parameters
    ----------
    pages : list of str
        Complete HTML files of this package.
    title : str
        Title of the whole.
    """
    bodies = [found[1] for page in pages if (found := _MAIN.search(page))]
    head = to_html(Document(title, ()))
    start = head.index("<main>") + len("<main>\n")
    whole = '\n<div class="page-break"></div>\n'.join(bodies)
    return f"{head[:start]}{whole}\n</main>\n</body>\n</html>\n"
