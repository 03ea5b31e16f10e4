"""Errors that say what was wrong and what to do about it.

Every error of the package carries four facts as data: the quantity, the value received,
the range allowed and the remedy.  The sentence is built from them in this one place.
All of them inherit `ValueError`, so a caller may catch either.
"""

from __future__ import annotations

import re


class SingleRailError(ValueError):
    """Something given to the package cannot be used.

    Attributes
    ----------
    quantity : str
        What the value was meant to be, in the user's words ("c_in", "gain").
    value : str
        The value received, as text; an empty text in quotes.
    allowed : str
        The range or form that would have been accepted.
    remedy : str
        What to do next.
    """

    def __init__(self, quantity: str, value: object, *, allowed: str, remedy: str) -> None:
        self.quantity = quantity
        self.value = value if isinstance(value, str) and value.strip() else repr(value)
        self.allowed = allowed
        self.remedy = remedy
        super().__init__(f"{quantity}: got {self.value}; allowed: {allowed}. {remedy}")


class QuantityError(SingleRailError):
    """A quantity could not be read, or its value makes no sense for what it names."""


class CircuitError(SingleRailError):
    """A circuit is not a circuit: a floating node, a missing DC path, a shorted source."""


class RequirementError(SingleRailError):
    """A requirement contradicts itself, another requirement or what the parts can do."""


class UnknownNameError(SingleRailError, KeyError):
    """A part, node, source or stage of that name does not exist."""

    def __str__(self) -> str:
        """Show the sentence itself; `KeyError` would show its quoted form."""
        return str(self.args[0])


def require_result(given: object, kind: type, call: str) -> None:
    """Refuse what is not the result that a function goes on from.

    Parameters
    ----------
    given : object
        What was given.
    kind : type
        What is wanted.
    call : str
        How one gets it.

    Raises
    ------
    QuantityError
        If it is anything else.
    """
    if not isinstance(given, kind):
        words = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", kind.__name__).lower()
        raise QuantityError(
            words,
            given if isinstance(given, str) else type(given).__name__,
            allowed=f"a {words}",
            remedy=f"Give the result: {call}.",
        )
