"""Write a document as a notebook of Markdown cells: one cell from heading to heading."""

from __future__ import annotations

import hashlib
import json
from typing import Any

from .document import Blank, Block, Document, Heading
from .markdown import block_markdown, to_markdown


def to_notebook(document: Document) -> str:
    """Return a document as the text of a notebook file.

    Parameters
    ----------
    document : Document
        What to write.
    """
    cells = [to_markdown(Document(document.title, (), document.facts))]
    if document.of_kind(Blank):
        cells.append(_HOW_TO_FILL)
    group: list[Block] = []
    for block in document.blocks:
        if isinstance(block, Heading) and group:
            cells.append(_joined(group))
            group = []
        group.append(block)
    if group:
        cells.append(_joined(group))
    notebook = {
        "cells": [_cell(number, text) for number, text in enumerate(cells)],
        "metadata": {"kernelspec": {"display_name": "Python 3", "language": "python", "name": "python3"}},
        "nbformat": 4,
        "nbformat_minor": 5,
    }
    return json.dumps(notebook, indent=1, ensure_ascii=False) + "\n"


_HOW_TO_FILL = (
    "**How to fill this in.** Double-click a cell and write your answer in place of the line of underscores, "
    "or in its cell of the table. Shift+Enter shows the page again. Leave the table with your name and sheet "
    "code as it is. Save the file and hand it in."
)


def _joined(blocks: list[Block]) -> str:
    return "\n\n".join(block_markdown(block) for block in blocks)


def _cell(number: int, text: str) -> dict[str, Any]:
    name = hashlib.sha256(f"{number} {text}".encode()).hexdigest()[:8]
    return {"cell_type": "markdown", "id": name, "metadata": {}, "source": text.splitlines(keepends=True)}
