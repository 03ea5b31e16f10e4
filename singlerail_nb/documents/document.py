"""A document as data: blocks in reading order.

Text in a block is plain, with three marks of Markdown: ``**strong**``, ``*emphasis*`` and
``$formula$``.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Literal


@dataclass(frozen=True)
class Heading:
    """A heading.

    Attributes
    ----------
    text : str
        Its text.
    level : int
        2 for a section, 3 for a part of it, 4 below that; 1 is the title of the document.
    """

    text: str
    level: int = 2


@dataclass(frozen=True)
class Paragraph:
    """A paragraph of text.

    Attributes
    ----------
    text : str
        Its text.
    """

    text: str


@dataclass(frozen=True)
class Items:
    """A list of points.

    Attributes
    ----------
    items : tuple of str
        One text per point.
    numbered : bool
        Whether the order matters.
    """

    items: tuple[str, ...]
    numbered: bool = False


@dataclass(frozen=True)
class Formula:
    """A displayed formula.

    Attributes
    ----------
    latex : str
        As LaTeX.
    text : str
        The same in plain text, for readers of the source and for screen readers.
    """

    latex: str
    text: str


@dataclass(frozen=True)
class Table:
    """A table of texts.

    Attributes
    ----------
    header : tuple of str
        Column titles.
    rows : tuple of tuple of str
        Cells.
    caption : str
        What the table says.
    """

    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    caption: str = ""


@dataclass(frozen=True)
class Drawing:
    """A picture.

    Attributes
    ----------
    data : str or bytes
        SVG text, or the bytes of a PNG.
    caption : str
        What it shows.
    text : str
        Text alternative that states its numbers.
    """

    data: str | bytes
    caption: str
    text: str

    @property
    def kind(self) -> Literal["svg", "png"]:
        """Format of the data."""
        return "svg" if isinstance(self.data, str) else "png"


@dataclass(frozen=True)
class Caution:
    """A caution that comes with the part or rail that causes it.

    Attributes
    ----------
    title : str
        In a few words.
    text : str
        What can happen and what to do.
    """

    title: str
    text: str


@dataclass(frozen=True)
class Blank:
    """A question with room for an answer.

    Attributes
    ----------
    id : str
        Identifier, such as "Q3".
    text : str
        The question.
    unit : str
        Unit of the answer; empty for words.
    lines : int
        Lines of room.
    """

    id: str
    text: str
    unit: str = ""
    lines: int = 1


@dataclass(frozen=True)
class PageBreak:
    """The next block begins a page when printed.

    Attributes
    ----------
    text : str
        What stands at the top of that page; nothing on a screen, which has no pages.
    """

    text: str = ""


Block = Heading | Paragraph | Items | Formula | Table | Drawing | Caution | Blank | PageBreak


@dataclass(frozen=True)
class Document:
    """A title and blocks.

    Attributes
    ----------
    title : str
        Title of the document.
    blocks : tuple of Block
        In reading order.
    facts : tuple of (str, str)
        Lines of the head: what and which, such as ("Revision", "A").
    """

    title: str
    blocks: tuple[Block, ...]
    facts: tuple[tuple[str, str], ...] = field(default=())

    def with_blocks(self, blocks: Iterable[Block]) -> Document:
        """Return the document with further blocks at its end.

        Parameters
        ----------
        blocks : iterable of Block
            What to add.
        """
        return Document(self.title, (*self.blocks, *blocks), self.facts)

    def of_kind(self, kind: type) -> tuple[Block, ...]:
        """Return all blocks of a kind, in order.

        Parameters
        ----------
        kind : type
            A class of this module.
        """
        return tuple(block for block in self.blocks if isinstance(block, kind))
