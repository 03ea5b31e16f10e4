"""A document that writes itself to a file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from ..circuit.circuit import closest
from ..errors import UnknownNameError
from .document import Block, Document, Heading, PageBreak
from .html import to_html
from .markdown import block_markdown, to_markdown
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

    @property
    def outline(self) -> str:
        """The headings of its sections, one a line."""
        return "\n".join(_text(block) for block in self.blocks if _opens(block))

    def section(self, title: str) -> Section:
        """Return one section, which shows itself in a notebook.

        Parameters
        ----------
        title : str
            Its heading, with or without its number.

        Raises
        ------
        UnknownNameError
            If there is no such section.
        """
        found = [i for i, block in enumerate(self.blocks) if _opens(block)]
        names = {_bare(_text(self.blocks[i])): i for i in found}
        if _bare(title) not in names:
            raise UnknownNameError(
                "section", title, allowed=", ".join(names), remedy=closest(title, list(names))
            )
        start = names[_bare(title)]
        end = next((i for i in found if i > start), len(self.blocks))
        while isinstance(self.blocks[end - 1], PageBreak):
            end -= 1
        return Section(self.title, self.blocks[start:end])

    def __repr__(self) -> str:
        return f"<{type(self).__name__} {self.title!r}, {len(self.blocks)} blocks>"


class Section(Paper):
    """One section of a paper; a notebook shows its text, tables and pictures."""

    def __repr__(self) -> str:
        return self._repr_markdown_()

    def _repr_markdown_(self) -> str:
        return "\n\n".join(block_markdown(block) for block in self.blocks)


def _opens(block: Block) -> bool:
    return isinstance(block, Heading) and block.level == 2


def _text(block: Block) -> str:
    return block.text if isinstance(block, Heading) else ""


def _bare(title: str) -> str:
    """Return a heading without the number in front."""
    number, _, rest = title.partition(" ")
    return rest if number.isdigit() else title
