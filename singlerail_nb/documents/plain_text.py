"""Text of people, made safe for every writer."""

from __future__ import annotations

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
    shown = "".join(c if c.isprintable() else " " for c in text[:most])
    return "".join("&#36;" if c == "$" else f"\\{c}" if c in _MARKUP else c for c in shown)
