"""Every question of the pre-lab, in the order in which one leads to the next."""

from __future__ import annotations

from .asks import Ask
from .bias_questions import BIAS_QUESTIONS
from .signal_questions import SIGNAL_QUESTIONS

_BY_KEY = {ask.key: ask for ask in (*BIAS_QUESTIONS, *SIGNAL_QUESTIONS)}
_ORDER = (
    "bias", "thevenin", "bias_corner", "input_formula", "input_corner", "leg_gain", "gain", "leg_corner",
    "output_corner", "low_cutoff", "swing", "ripple", "ready",
)  # fmt: skip

PRELAB: tuple[Ask, ...] = tuple(_BY_KEY[key] for key in _ORDER)
"""Later questions may carry on the answers of earlier ones."""
