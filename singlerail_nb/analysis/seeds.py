"""Seeds: the whole numbers that fix what is drawn at random."""

from __future__ import annotations

from numbers import Integral

from ..errors import QuantityError


def require_seed(seed: object) -> None:
    """Refuse what no random draw can start from.

    Parameters
    ----------
    seed : object
        What was given as a seed.

    Raises
    ------
    QuantityError
        If it is no whole number, or negative.
    """
    if isinstance(seed, bool) or not isinstance(seed, Integral) or seed < 0:
        raise QuantityError(
            "seed",
            seed,
            allowed="a whole number, 0 or more",
            remedy="Give any number, such as 7: the same seed draws the same again.",
        )
