"""Text of people, made safe for every writer."""

from __future__ import annotations

import re

_MARKUP = "\\`*_{}[]()<>#+-.!|~&^:/@="


def plain(text: str, most: int = 80) -> str:
    """Return text of a person as text that no writer takes for markup, cut to a length.

    Parameters
    ----------
    text : str
        Anything.
    most : int
        Characters kept.
    """
    return "".join("&#36;" if c == "$" else f"\\{c}" if c in _MARKUP else c for c in printable(text, most))


def unmarked(text: str) -> str:
    """Return a text that `plain` made safe as a person wrote it.

    Parameters
    ----------
    text : str
        Safe text.
    """
    return re.sub(r"\\([^\w\s])", r"\1", text).replace("&#36;", "$")


def printable(text: str, most: int = 80) -> str:
    """Return text of a person for a line of plain text: one line, cut to a length, no control characters.

    Parameters
    ----------
    text : str
        Anything.
    most : int
        Characters kept.
    """
    return "".join(c if c.isprintable() else " " for c in text[:most])
