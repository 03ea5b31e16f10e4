"""Choose a writer by the ending of the file name, and write in one step."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from pathlib import Path

from ..errors import SingleRailError
from .document import Document
from .html import to_html
from .markdown import to_markdown
from .notebook import to_notebook

WRITERS: dict[str, Callable[[Document], str]] = {
    ".md": to_markdown,
    ".html": to_html,
    ".ipynb": to_notebook,
}


def write_document(document: Document, path: str | Path) -> Path:
    """Write a document to a file; the ending names the form: .md, .html or .ipynb.

    Parameters
    ----------
    document : Document
        What to write.
    path : str or Path
        Where; an existing file is replaced only when the new one is complete.

    Raises
    ------
    SingleRailError
        If there is no writer for the ending.
    """
    target = Path(path)
    if target.suffix.lower() not in WRITERS:
        raise SingleRailError(
            "path",
            target.name,
            allowed=f"a name that ends in {', '.join(WRITERS)}",
            remedy="Change the ending.",
        )
    write_text(target, WRITERS[target.suffix.lower()](document))
    return target


def write_text(target: Path, text: str) -> None:
    """Write a text file in one step: the old file stays whole until the new one is.

    Parameters
    ----------
    target : Path
        Where.
    text : str
        What.
    """
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)
        Path(name).replace(target)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
