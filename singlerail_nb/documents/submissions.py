"""What was handed in, as data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

LONGEST_LINE = 10_000
"""Characters of a line that are looked at."""
LONGEST_ANSWER = 200
"""Characters of an answer that are kept."""
QUESTION_ID = r"[PMEF][0-9]{1,2}"


@dataclass(frozen=True)
class Submission:
    """What one student handed in.

    Attributes
    ----------
    student : str
        Name as written.
    code : str
        Sheet code as written; empty if there is none.
    answers : mapping of str to str
        By question id.
    source : str
        File and line, for the report.
    """

    student: str
    code: str
    answers: Mapping[str, str]
    source: str


@dataclass(frozen=True)
class Collected:
    """Everything that was handed in.

    Attributes
    ----------
    submissions : tuple of Submission
        In the order in which they were read.
    notices : tuple of str
        What could not be read and was left out, with its place.
    """

    submissions: tuple[Submission, ...]
    notices: tuple[str, ...] = field(default=())
