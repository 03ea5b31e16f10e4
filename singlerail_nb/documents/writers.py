"""Choose a writer by the ending of the file name, and write in one step."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from secrets import token_hex

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
    new = target.with_name(f".{target.name}.{token_hex(8)}")
    try:
        with new.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
        new.replace(target)
    except BaseException:
        new.unlink(missing_ok=True)
        raise
