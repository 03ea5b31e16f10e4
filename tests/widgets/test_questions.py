"""Predict, then reveal."""

import pytest

from singlerail_nb.errors import QuantityError
from singlerail_nb.widgets.questions import ask_figure, ask_formula, ask_number, hide


@pytest.fixture
def cutoff(stage):
    alone = stage.section("plus", "amp_out").low_cutoff()
    return ask_figure(stage, "low_cutoff", mistakes={"That is the gain leg alone.": alone})


@pytest.mark.parametrize(
    ("guess", "right", "words"),
    [
        ("39.9 Hz", True, "Right: 39.87 Hz"),
        ("0.0395 kHz", True, "Right"),
        ("33.86 Hz", False, "gain leg alone"),
        ("250 Hz", False, "2π"),
        ("39.9 kHz", False, "prefix"),
        ("25 Hz", False, "too low"),
    ],
)
def test_a_number_is_judged_and_the_likely_mistake_named(cutoff, guess, right, words):
    verdict = cutoff.answer(guess)
    assert verdict.right is right
    assert words in repr(verdict)


def test_a_wrong_guess_does_not_show_the_answer(cutoff):
    assert "39.87" not in repr(cutoff.answer("25 Hz"))


def test_predict_first(cutoff):
    with pytest.raises(QuantityError, match="Predict first"):
        cutoff.reveal()
    cutoff.answer("25 Hz")
    assert cutoff.reveal() == "The answer is 39.87 Hz. Your first guess was 25 Hz."


def test_an_unreadable_guess_does_not_count(cutoff):
    with pytest.raises(QuantityError, match="answer"):
        cutoff.answer("about 40")
    assert cutoff.guesses == ()


def test_decibels_are_compared_as_ratios(stage):
    question = ask_figure(stage, "ripple_bias")
    assert question.answer("-46.2 dB").right
    assert not question.answer("-45.8 dB").right
    assert "low" in repr(question.answer("-52.4 dB"))


def test_a_hidden_number_is_not_in_plain_sight():
    assert "4.5" not in hide(4.5)
    question = ask_number("Where does the output rest on a 9 V rail?", hide(4.5), "V")
    assert question.answer("4.5 V").right
    assert "twice" in repr(question.answer("9 V"))
    with pytest.raises(QuantityError, match="hide"):
        ask_number("?", "4.5", "V")


@pytest.fixture
def corner(stage):
    formula = stage.derivation().step("input").equation("f_{in}").expression
    mistake = {"The source resistance is missing.": "1/(2 pi C_in R_bias)"}
    return ask_formula("At which frequency does the input coupling cut off?", formula, mistakes=mistake)


@pytest.mark.parametrize(
    ("guess", "right", "words"),
    [
        ("1/(2 pi C_in (R_bias + R_s))", True, "identical"),
        ("1/(2*pi*(Cin*Rs + Cin*Rbias))", True, "identical"),
        ("1/(2 pi C_in R_bias)", False, "source resistance"),
        ("1/(C_in (R_bias + R_s))", False, "2π"),
        ("1/(2 pi C_in)", False, "R_bias, R_s must matter"),
        ("R_s/(R_bias + C_in)", False, "not the same"),
    ],
)
def test_a_formula_is_compared_algebraically(corner, guess, right, words):
    verdict = corner.answer(guess)
    assert verdict.right is right
    assert words in repr(verdict)


def test_the_browser_gets_the_question_and_no_answer(corner, cutoff):
    for question in (corner, cutoff):
        state = {name: question.get_state()[name] for name in ("prompt", "example")}
        assert "39.87" not in str(state)
        assert "1/(" not in str(state)


def test_messages_of_the_browser(cutoff):
    sent = []
    cutoff.send = sent.append
    for content in (
        {"type": "reveal"},
        {"type": "guess", "text": "ten"},
        {"type": "guess", "text": "40 Hz"},
        {"type": "reveal"},
    ):
        cutoff._received(cutoff, content, [])
    assert [message["type"] for message in sent] == ["unreadable", "unreadable", "verdict", "answer"]
