"""What a committed notebook must look like.

Each check is a function that takes a notebook and yields one sentence per fault; `CHECKS` lists
them.  The limits keep a lesson readable: little code at a time, and never a picture whose numbers
nobody compares (strict notebook testing skips pictures).
"""

from __future__ import annotations

import re
import statistics
from typing import TYPE_CHECKING

import nbformat

from tests.notebook_tools.changes import cell_text, output_text
from tests.notebook_tools.files import (
    CELL_METADATA,
    NOTEBOOK_METADATA,
    WIDGET_VIEW,
    tidy_output_metadata,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from nbformat import NotebookNode

MOST_CODE_CELLS = 25
MOST_LINES = 12
MOST_MEDIAN_LINES = 4
PICTURES = ("image/png", "image/svg+xml", "image/jpeg")
LOCAL_PATH = re.compile(r"(?<![\w.])/(?:home|root|Users|tmp|work|opt|mnt)/\S|\b[A-Z]:\\\w")
# "<Figure size 800x550 ...>" and "IntSlider(value=7)" name an object; they are no reading of a value.
OBJECT_NAME = re.compile(r"^\s*(?:<.*>|[A-Z]\w*\(.*\))\s*$", re.DOTALL)


def code_cells(notebook: NotebookNode) -> list[NotebookNode]:
    """Return the code cells, in order."""
    return [cell for cell in notebook.cells if cell.cell_type == "code"]


def valid_format(notebook: NotebookNode) -> Iterator[str]:
    """Ask nbformat."""
    try:
        nbformat.validate(notebook)
    except nbformat.ValidationError as error:
        yield f"not a valid notebook: {error.message}"


def executed_in_order(notebook: NotebookNode) -> Iterator[str]:
    """Want counts 1, 2, 3 ...: a cell that never ran passes strict notebook testing."""
    for expected, cell in enumerate(code_cells(notebook), start=1):
        if cell.get("execution_count") != expected:
            yield f"code cell {expected} has execution count {cell.get('execution_count')}"


def no_trailing_semicolon(notebook: NotebookNode) -> Iterator[str]:
    """Want none: under test it does not silence the output that it silences on screen."""
    for number, cell in enumerate(code_cells(notebook), start=1):
        for line in cell.source.splitlines():
            if line.split(" #")[0].rstrip().endswith(";"):
                yield f"code cell {number} ends a line with a semicolon: {line.strip()}"


def metadata_only_as_listed(notebook: NotebookNode) -> Iterator[str]:
    """Want no widget state or id, no versions, timings or editor settings."""
    yield from (f"notebook metadata: {key}" for key in notebook.metadata if key not in NOTEBOOK_METADATA)
    for key, value in NOTEBOOK_METADATA.items():
        if notebook.metadata.get(key) != value:
            yield f"notebook metadata {key} is {notebook.metadata.get(key)}, not {value}"
    for index, cell in enumerate(notebook.cells):
        yield from (f"cell {index} metadata: {key}" for key in cell.metadata if key not in CELL_METADATA)
        for output in cell.get("outputs", ()):
            if output.get("metadata", {}) != tidy_output_metadata(output.get("metadata", {})):
                yield f"cell {index} output metadata: {dict(output.metadata)}"
            if WIDGET_VIEW in output.get("data", {}):
                yield f"cell {index} stores a widget id, which is dead when the notebook is opened"


def short_cells(notebook: NotebookNode) -> Iterator[str]:
    """Want few and short code cells: a notebook is read, a module is studied."""
    lengths = [len(cell.source.splitlines()) for cell in code_cells(notebook)]
    if not lengths or min(lengths) == 0:
        yield "a code cell is empty, or there is none"
        return
    for number, length in enumerate(lengths, start=1):
        if length > MOST_LINES:
            yield f"code cell {number} has {length} lines, more than {MOST_LINES}"
    if statistics.median(lengths) > MOST_MEDIAN_LINES:
        yield f"the median code cell has {statistics.median(lengths)} lines, more than {MOST_MEDIAN_LINES}"
    if len(lengths) > MOST_CODE_CELLS:
        yield f"{len(lengths)} code cells, more than {MOST_CODE_CELLS}"


def no_errors_stored(notebook: NotebookNode) -> Iterator[str]:
    """Want no error and nothing on stderr; an error is shown by catching and printing it."""
    for number, cell in enumerate(code_cells(notebook), start=1):
        for output in cell.outputs:
            if output.output_type == "error":
                yield f"code cell {number} stores an error: {output.ename}"
            elif output.get("name") == "stderr":
                yield f"code cell {number} stores a warning: {output.text.strip()[:80]}"


def numbers_beside_pictures(notebook: NotebookNode) -> Iterator[str]:
    """Want printed numbers with each picture, in its cell or in the next code cell."""
    cells = code_cells(notebook)
    for number, cell in enumerate(cells, start=1):
        has_picture = any(kind in PICTURES for out in cell.outputs for kind in out.get("data", ()))
        if has_picture and not any(_prints_numbers(near) for near in cells[number - 1 : number + 1]):
            yield f"code cell {number} shows a picture; print the numbers it shows there or in the next cell"


def _prints_numbers(cell: NotebookNode) -> bool:
    texts = (output_text(output) for output in cell.outputs)
    return any(re.search(r"\d", text) and not OBJECT_NAME.match(text) for text in texts)


def no_local_paths(notebook: NotebookNode) -> Iterator[str]:
    """Want nothing that only exists on one machine."""
    for index, cell in enumerate(notebook.cells):
        for found in LOCAL_PATH.finditer(f"{cell.source}\n{cell_text(cell)}"):
            yield f"cell {index} names a local path: {found.group()}..."


CHECKS: tuple[Callable[[NotebookNode], Iterator[str]], ...] = (
    valid_format,
    executed_in_order,
    no_trailing_semicolon,
    metadata_only_as_listed,
    short_cells,
    no_errors_stored,
    numbers_beside_pictures,
    no_local_paths,
)


def problems(notebook: NotebookNode) -> list[str]:
    """Return every fault that any check finds."""
    return [fault for check in CHECKS for fault in check(notebook)]
