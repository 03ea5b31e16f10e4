"""Naming the fault of a mystery in the predict-then-reveal question."""

import pytest

import singlerail_nb as sr
from singlerail_nb.errors import QuantityError, UnknownNameError
from tests.sensible_stages import SENSIBLE

STAGE = SENSIBLE["noninverting, GPB"]
KEYS = ["c_in open", "c_g short", "supply sags"]


@pytest.fixture
def board():
    return sr.mystery(STAGE, seed=4, candidates=KEYS)


def test_the_right_name_is_accepted_and_a_wrong_one_is_met_with_a_reading(board):
    question = sr.ask_fault(board)
    board.measure(board.best.measurement)
    (left,) = board.remaining
    wrong = next(key for key in KEYS if key != left.key)
    assert "you read" in question.answer(wrong).text
    assert question.answer(f" {left.key} ").right
    assert left.what in question.reveal()


def test_the_prompt_names_the_candidates_and_not_the_answer(board):
    question = sr.ask_fault(board)
    assert all(key in question.prompt for key in KEYS)
    with pytest.raises(QuantityError):
        question.reveal()
    with pytest.raises(UnknownNameError):
        question.answer("c_x open")
    assert question.guesses == ()


@pytest.mark.parametrize("text", ["", "   "])
def test_an_empty_answer_is_said_to_be_empty(board, text):
    question = sr.ask_fault(board)
    with pytest.raises(UnknownNameError, match="fault: got ''; allowed: one of the candidates"):
        question.answer(text)
    assert question.guesses == ()
