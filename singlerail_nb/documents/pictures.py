"""A picture as a block of a document, sharp enough for paper."""

from __future__ import annotations

import io

from ..plots.picture import Picture
from .document import Drawing

_RESOLUTION = 170
"""Dots per inch: 7.6 inches wide become 1300 dots on 17 cm of paper."""


def drawing(picture: Picture, caption: str) -> Drawing:
    """Return a picture as a block.

    Parameters
    ----------
    picture : Picture
        The picture.
    caption : str
        What it shows.
    """
    buffer = io.BytesIO()
    picture.figure.savefig(buffer, format="png", dpi=_RESOLUTION, metadata={"Software": None})
    return Drawing(buffer.getvalue(), caption, picture.text)
