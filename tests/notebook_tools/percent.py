"""A notebook from a text: `# %%` starts a code cell, `# %% [markdown]` a text cell.

Text cells are written as comments.  Tags follow the mark: `# %% tags=raises-exception,other`.
"""

from __future__ import annotations

import hashlib
import re
from typing import TYPE_CHECKING

import nbformat

from tests.notebook_tools import files

if TYPE_CHECKING:
    from nbformat import NotebookNode

MARK = re.compile(r"^# %%(?P<markdown> \[markdown\])?(?: tags=(?P<tags>\S+))?[ \t]*$", re.MULTILINE)


def from_percent(text: str) -> NotebookNode:
    """Build a tidy, not yet executed notebook."""
    marks = list(MARK.finditer(text))
    if not marks or text[: marks[0].start()].strip():
        msg = "a notebook text starts with a cell mark: '# %%' or '# %% [markdown]'"
        raise ValueError(msg)
    ends = [mark.start() for mark in marks[1:]] + [len(text)]
    notebook = nbformat.v4.new_notebook()
    seen: set[str] = set()
    for mark, end in zip(marks, ends, strict=True):
        body = text[mark.end() : end].strip("\n").rstrip()
        cell = _markdown(body) if mark["markdown"] else nbformat.v4.new_code_cell(body)
        if mark["tags"]:
            cell.metadata["tags"] = mark["tags"].split(",")
        cell.id = _identity(body, seen)
        notebook.cells.append(cell)
    return files.tidy(notebook)


def _markdown(body: str) -> NotebookNode:
    lines = [re.sub(r"^# ?", "", line) for line in body.splitlines()]
    return nbformat.v4.new_markdown_cell("\n".join(lines))


def _identity(body: str, seen: set[str]) -> str:
    """Return an id that follows from the text, so that the same text gives the same file."""
    digest = hashlib.sha256(body.encode()).hexdigest()
    name = next(digest[i : i + 8] for i in range(56) if digest[i : i + 8] not in seen)
    seen.add(name)
    return name
