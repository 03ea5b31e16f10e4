"""Choose a writer by the ending of the file name, and write in one step."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from ..errors import SingleRailError
from ..files import write_at_once
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
    return write_at_once(target, WRITERS[target.suffix.lower()](document))
