"""Write a document as Markdown (CommonMark with tables and dollar formulas)."""

from __future__ import annotations

import base64
from functools import singledispatch

from .document import (
    Blank,
    Block,
    Caution,
    Document,
    Drawing,
    Formula,
    Heading,
    Items,
    PageBreak,
    Paragraph,
    Table,
)


def to_markdown(document: Document) -> str:
    """Return a document as Markdown text.

    Parameters
    ----------
    document : Document
        What to write.
    """
    head = [f"# {document.title}"]
    if document.facts:
        head.append(table_markdown(Table(("", ""), document.facts)))
    return "\n\n".join([*head, *(block_markdown(block) for block in document.blocks)]) + "\n"


@singledispatch
def block_markdown(block: Block) -> str:
    """Return one block as Markdown.

    Parameters
    ----------
    block : Block
        What to write.

    Raises
    ------
    TypeError
        If it is no block of a document.
    """
    raise TypeError(f"no block of a document: {type(block).__name__}")


@block_markdown.register
def _(block: Heading) -> str:
    return f"{'#' * max(2, block.level)} {block.text}"


@block_markdown.register
def _(block: Paragraph) -> str:
    return block.text


@block_markdown.register
def _(block: Items) -> str:
    return "\n".join(f"{f'{i}.' if block.numbered else '-'} {item}" for i, item in enumerate(block.items, 1))


@block_markdown.register
def _(block: Formula) -> str:
    return f"$$\n{block.latex}\n$$"


@block_markdown.register(Table)
def table_markdown(block: Table) -> str:
    """Return a table as Markdown; a vertical bar in a cell is escaped.

    Parameters
    ----------
    block : Table
        What to write.
    """
    lines = [block.header, ("---",) * len(block.header), *block.rows]
    body = "\n".join("| " + " | ".join(_cell(cell) for cell in line) + " |" for line in lines)
    return f"{body}\n\n*{block.caption}*" if block.caption else body


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\n", " ")


@block_markdown.register
def _(block: Drawing) -> str:
    return f"![{block.text.replace(chr(10), ' ')}]({data_address(block)})\n\n*{block.caption}*"


def data_address(block: Drawing) -> str:
    """Return a picture as an address that contains its data.

    Parameters
    ----------
    block : Drawing
        The picture.
    """
    raw = block.data if isinstance(block.data, bytes) else block.data.encode()
    kind = "png" if block.kind == "png" else "svg+xml"
    return f"data:image/{kind};base64,{base64.b64encode(raw).decode()}"


@block_markdown.register
def _(block: Caution) -> str:
    return f"> **Caution: {block.title}.** {block.text}"


@block_markdown.register
def _(block: Blank) -> str:
    room = "\n\n".join(["\\_" * 40] * block.lines)
    return f"**{block.id}.** {block.text}\n\n{room} {block.unit}".rstrip()


@block_markdown.register
def _(block: PageBreak) -> str:  # noqa: ARG001 -- Markdown has no pages
    return "---"
