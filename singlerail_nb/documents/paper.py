"""A document that writes itself to a file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from .document import Document
from .html import to_html
from .markdown import to_markdown
from .writers import write_document


@dataclass(frozen=True)
class Paper(Document):
    """A document with a title, blocks and facts, as `Document`; shows itself in a notebook.

    Attributes
    ----------
    title : str
        Title of the document.
    blocks : tuple of Block
        In reading order.
    facts : tuple of (str, str)
        Lines of the head.
    """

    def write(self, path: str | Path) -> Path:
        """Write the document to a file; the ending names the form: .md, .html or .ipynb.

        Parameters
        ----------
        path : str or Path
            Where.

        Raises
        ------
        SingleRailError
            If there is no writer for the ending.
        """
        return write_document(self, path)

    @property
    def html(self) -> str:
        """The document as the text of one HTML file."""
        return to_html(self)

    @property
    def markdown(self) -> str:
        """The document as Markdown."""
        return to_markdown(self)

    def __repr__(self) -> str:
        return f"<{type(self).__name__} {self.title!r}, {len(self.blocks)} blocks>"
