"""Name the fault: the predict-then-reveal question about a board with an unknown fault."""

from __future__ import annotations

from ..errors import QuantityError
from ..fault_finding.mystery import Mystery
from .questions import Question, Verdict


def ask_fault(mystery: Mystery, prompt: str = "") -> Question:
    """Return a question whose answer is the fault of a mystery.

    A wrong answer is met with the measurement that excludes it, or with what to measure next.

    Parameters
    ----------
    mystery : Mystery
        The board; what is measured later counts as well.
    prompt : str
        The question; made from the candidates unless given.

    Raises
    ------
    QuantityError
        If the first argument is no mystery.
    """
    if not isinstance(mystery, Mystery):
        raise QuantityError(
            "mystery",
            mystery if isinstance(mystery, str) else type(mystery).__name__,
            allowed="a board with an unknown fault",
            remedy="Make one first: sr.mystery(stage).",
        )
    names = ", ".join(fault.key for fault in mystery.candidates)

    def judge(text: str) -> Verdict:
        return Verdict(*mystery.judge(text.strip()))

    return Question(
        prompt or f"Which fault is it: {names}?", mystery.candidates[0].key, judge, mystery.answer_text
    )
