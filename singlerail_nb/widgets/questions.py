"""Predict, then reveal: questions that keep the guess, judge it and name the likely mistake.

The answer is computed from the circuit, or stored in a form that nobody reads by accident, so it is
not in plain sight in a student's notebook.  That is courtesy, not secrecy: marking has its own keys.
"""

from __future__ import annotations

import base64
import binascii
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import anywidget
import sympy
import traitlets

from ..analysis.network import require_stage
from ..analysis.stage import Stage
from ..errors import QuantityError, SingleRailError
from ..formulas import parse_formula, same_formula
from ..quantities import read_quantity, write_quantity
from . import bundle
from .figures import Figure, standard_figures

_USUAL_SLIPS: tuple[tuple[float, str], ...] = (
    (2.0 * math.pi, "That is 2π times the answer: rad/s and Hz are mixed up."),
    (1.0 / (2.0 * math.pi), "That is the answer divided by 2π once too often."),
    (1e3, "That is a thousand times the answer: check a prefix."),
    (1e-3, "That is a thousandth of the answer: check a prefix."),
    (2.0, "That is twice the answer: is something in parallel, or halved, that you took whole?"),
    (0.5, "That is half the answer: is something taken twice?"),
)
_SEAL = b"mid-rail"


@dataclass(frozen=True)
class Verdict:
    """What a question says about a guess.

    Attributes
    ----------
    right : bool
        True if the guess is accepted.
    text : str
        The verdict in words; it never states the answer of a wrong guess.
    """

    right: bool
    text: str

    def __repr__(self) -> str:
        return self.text


class Question(anywidget.AnyWidget):
    """A question with a box to answer it; made by the ``ask_...`` functions.

    Parameters
    ----------
    prompt : str
        The question.
    example : str
        A text that shows how to write an answer.
    judge : callable
        Takes the typed text, returns a `Verdict`, raises a `SingleRailError` if it cannot be read.
    answer_text : callable
        Returns the answer in words.
    """

    _esm = traitlets.Unicode().tag(sync=True)
    _css = traitlets.Unicode().tag(sync=True)
    prompt = traitlets.Unicode().tag(sync=True)
    example = traitlets.Unicode().tag(sync=True)

    def __init__(
        self, prompt: str, example: str, judge: Callable[[str], Verdict], answer_text: Callable[[], str]
    ) -> None:
        self._judge, self._answer_text = judge, answer_text
        self._guesses: list[str] = []
        super().__init__(_esm=bundle.question_script(), _css=bundle.style(), prompt=prompt, example=example)
        self.on_msg(self._received)

    @property
    def guesses(self) -> tuple[str, ...]:
        """Every guess that could be read, oldest first."""
        return tuple(self._guesses)

    def answer(self, guess: str) -> Verdict:
        """Judge a guess and keep it.

        Parameters
        ----------
        guess : str
            A quantity with its unit, or a formula.

        Raises
        ------
        SingleRailError
            If it cannot be read; such a text does not count as a guess.
        """
        verdict = self._judge(guess)
        self._guesses.append(guess)
        self.send({"type": "verdict", "right": verdict.right, "text": verdict.text, "guess": guess})
        return verdict

    def reveal(self) -> str:
        """Return the answer, once a guess has been made.

        Raises
        ------
        QuantityError
            If there was no guess yet.
        """
        if not self._guesses:
            raise QuantityError(
                "guess", "none yet", allowed="one guess at least", remedy="Predict first, then look."
            )
        text = f"The answer is {self._answer_text()}. Your first guess was {self._guesses[0]}."
        self.send({"type": "answer", "text": text})
        return text

    def __repr__(self) -> str:
        return f"Question: {self.prompt}"

    def _repr_mimebundle_(self, **options: Any) -> Any:
        """Return the widget view and the question as text."""
        bundles = super()._repr_mimebundle_(**options)
        data, metadata = bundles if isinstance(bundles, tuple) else (bundles or {}, {})
        return {**data, "text/plain": repr(self)}, metadata

    def _received(self, _widget: object, content: Mapping[str, Any], _buffers: object) -> None:
        try:
            if content.get("type") == "guess":
                self.answer(str(content.get("text", "")))
            else:
                self.reveal()
        except SingleRailError as error:
            self.send({"type": "unreadable", "text": str(error)})


def hide(value: float) -> str:
    """Return a number in a form that nobody reads by accident, for `ask_number`.

    Parameters
    ----------
    value : float
        SI units.
    """
    return base64.b64encode(_mixed(repr(float(value)).encode())).decode("ascii")


def _unhidden(text: str) -> float:
    try:
        return float(_mixed(base64.b64decode(text, validate=True)).decode("ascii"))
    except (binascii.Error, ValueError):
        raise QuantityError(
            "hidden answer", text, allowed="a text made by hide()", remedy="Make it again with hide()."
        ) from None


def _mixed(data: bytes) -> bytes:
    return bytes(byte ^ _SEAL[k % len(_SEAL)] for k, byte in enumerate(data))


def ask_number(
    prompt: str, hidden: str, unit: str, *, within: float = 0.03, mistakes: Mapping[str, float] | None = None
) -> Question:
    """Return a question whose answer is a number.

    Parameters
    ----------
    prompt : str
        The question.
    hidden : str
        The answer, as `hide` writes it.
    unit : str
        Unit of the answer, a name of the table of units.
    within : float
        Accepted deviation, relative.
    mistakes : mapping of str to float, optional
        What to say -> the wrong value that shows this mistake, SI units.

    Raises
    ------
    QuantityError
        If the hidden answer cannot be read.
    """
    exact = _unhidden(hidden)
    return _number_question(prompt, exact, unit, within, mistakes or {})


def ask_figure(
    stage: Stage,
    figure: str | Figure,
    prompt: str = "",
    *,
    within: float = 0.03,
    mistakes: Mapping[str, float] | None = None,
) -> Question:
    """Return a question about a figure of a stage; the answer follows from its circuit.

    Parameters
    ----------
    stage : Stage
        The stage.
    figure : str or Figure
        Id of a standard figure, such as "low_cutoff", or a figure of your own.
    prompt : str
        The question; made from the name of the figure unless given.
    within : float
        Accepted deviation, relative; in decibels the deviation is 20 times its logarithm.
    mistakes : mapping of str to float, optional
        What to say -> the wrong value that shows this mistake, SI units.

    Raises
    ------
    QuantityError
        If the stage has no such figure, or ``stage`` is no stage.
    """
    require_stage(stage)
    wanted = figure if isinstance(figure, Figure) else _standard(stage, figure)
    exact = wanted.value(stage)
    if exact is None or not math.isfinite(exact):
        raise QuantityError(
            wanted.label, exact, allowed="a finite value", remedy="Ask for a figure that this stage has."
        )
    asked = prompt or f"Predict: {wanted.label[0].lower()}{wanted.label[1:]}?"
    return _number_question(asked, exact, wanted.unit, within, mistakes or {})


def _standard(stage: Stage, name: str) -> Figure:
    figures = {figure.id: figure for figure in standard_figures(stage)}
    if name not in figures:
        raise QuantityError("figure", name, allowed=", ".join(figures), remedy="Use one of these.")
    return figures[name]


def _number_question(
    prompt: str, exact: float, unit: str, within: float, mistakes: Mapping[str, float]
) -> Question:
    def close(guess: float, value: float) -> bool:
        if unit == "dB":
            return abs(guess - value) <= 20.0 * math.log10(1.0 + within)
        return abs(guess - value) <= within * abs(value)

    def judge(text: str) -> Verdict:
        guess = read_quantity(text, unit, name="answer", bare=True)
        if close(guess, exact):
            return Verdict(True, f"Right: {write_quantity(exact, unit)}.")
        for remark, wrong in mistakes.items():
            if close(guess, wrong):
                return Verdict(False, f"Not yet. {remark}")
        slips = () if unit == "dB" else _USUAL_SLIPS
        for factor, remark in slips:
            if close(guess, factor * exact):
                return Verdict(False, f"Not yet. {remark}")
        return Verdict(False, f"Not yet: too {'high' if guess > exact else 'low'}.")

    return Question(prompt, _example(unit), judge, lambda: write_quantity(exact, unit))


def _example(unit: str) -> str:
    return {"Hz": "16 Hz", "ohm": "4k7", "F": "220n", "V": "4.5 V", "dB": "-3 dB", "V/V": "11 V/V"}.get(
        unit, f"1 {unit}"
    )


def ask_formula(prompt: str, formula: sympy.Expr, *, mistakes: Mapping[str, str] | None = None) -> Question:
    """Return a question whose answer is a formula, compared algebraically.

    Parameters
    ----------
    prompt : str
        The question.
    formula : sympy expression
        The answer, such as ``stage.derivation().step("input").equation("f_{in}").expression``: it is
        derived from the circuit and not written in the notebook.
    mistakes : mapping of str to str, optional
        What to say -> the wrong formula that shows this mistake.

    Raises
    ------
    QuantityError
        If a wrong formula cannot be read.
    """
    symbols = {symbol.name: symbol for symbol in sorted(formula.free_symbols, key=str)}
    wrong = {remark: parse_formula(text, symbols) for remark, text in (mistakes or {}).items()}

    def judge(text: str) -> Verdict:
        guess = parse_formula(text, symbols)
        if same_formula(guess, formula):
            return Verdict(True, "Right: identical to the formula of the circuit.")
        for remark, mistake in wrong.items():
            if same_formula(guess, mistake):
                return Verdict(False, f"Not yet. {remark}")
        for factor, remark in ((2 * sympy.pi, _USUAL_SLIPS[0][1]), (1 / (2 * sympy.pi), _USUAL_SLIPS[1][1])):
            if same_formula(guess, factor * formula):
                return Verdict(False, f"Not yet. {remark}")
        missing = sorted(set(symbols) - {symbol.name for symbol in guess.free_symbols})
        if missing:
            return Verdict(False, f"Not yet: {', '.join(missing)} must matter.")
        return Verdict(False, "Not yet: not the same formula.")

    example = f"a formula in {', '.join(symbols)}"
    return Question(prompt, example, judge, lambda: str(formula))
