"""What a design starts from: anything but requirements is refused in words."""

from __future__ import annotations

from ..analysis.stage import Stage
from ..errors import RequirementError
from .requirements import Requirements

_EXAMPLE = 'sr.Requirements(supply="9 V", gain=11, input_impedance="47 kohm", low_cutoff="20 Hz")'


def require_requirements(given: object) -> None:
    """Refuse what says nothing of what a stage must do.

    Parameters
    ----------
    given : object
        What a function got where it asks for requirements.

    Raises
    ------
    RequirementError
        If it is anything else.
    """
    if isinstance(given, Requirements):
        return
    stage = isinstance(given, Stage)
    reason = "A stage says what it is, not what it must do. " if stage else ""
    raise RequirementError(
        "requirements",
        given if isinstance(given, str) else type(given).__name__,
        allowed="a Requirements",
        remedy=f"{reason}Give requirements, such as {_EXAMPLE}.",
    )
