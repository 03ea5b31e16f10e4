"""A requirement with its verdict, as the panel shows it."""

from __future__ import annotations

from dataclasses import dataclass

from ..quantities import write_quantity
from .figures import Figure, Limit


@dataclass(frozen=True)
class Check:
    """A requirement with the present figure.

    Attributes
    ----------
    text : str
        The requirement in words.
    limit : str
        Its limit as text.
    value : str
        The present figure as text.
    passes : bool or None
        None where the figure does not exist.
    """

    text: str
    limit: str
    value: str
    passes: bool | None

    def __str__(self) -> str:
        verdict = {True: "pass", False: "FAIL", None: "not known"}[self.passes]
        return f"{self.text}: {self.value}, {self.limit}: {verdict}"


def checked(limit: Limit, figure: Figure, value: float | None) -> Check:
    """Return a limit with the present value of its figure.

    Parameters
    ----------
    limit : Limit
        The requirement.
    figure : Figure
        The figure that it limits.
    value : float or None
        Its present value, SI units; None where it does not exist.
    """
    shown = "none" if value is None else write_quantity(value, figure.unit)
    return Check(limit.text or figure.label, limit.in_words(figure.unit), shown, limit.keeps(value))
