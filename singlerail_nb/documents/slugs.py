"""Names of headings in addresses."""

from __future__ import annotations

import re


def slug(text: str) -> str:
    """Return the name of a heading in an address: small letters, hyphens for spaces, no other signs.

    Parameters
    ----------
    text : str
        The heading.
    """
    bare = re.sub(r"[^\w\s-]", "", text.lower())
    return re.sub(r"\s", "-", bare.strip())
