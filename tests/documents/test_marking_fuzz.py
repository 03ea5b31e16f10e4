"""Whatever a student types: no crash, no hang, nothing run, no other marks moved, clean pages."""

import html
import re
import sys

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from singlerail_nb.documents.answers import read_csv
from singlerail_nb.documents.csv_tables import csv_text, safe_cell
from singlerail_nb.documents.feedback import feedback_paper, report_paper
from singlerail_nb.documents.filled_notebooks import read_notebook
from singlerail_nb.documents.html import to_html
from singlerail_nb.documents.judging import judge
from singlerail_nb.documents.marking import mark, mark_sheet
from singlerail_nb.documents.submissions import Collected, Submission

from .lab_sheets import right_answers, sheet, small_class

PIECES = st.sampled_from(
    [
        *("9()*/-.,$k0 \\"),
        *("^12", "sqrt(", "R_s", "C_in", "R_bias", "pi", "1e99", "Hz", "inf", "nan"),
        *("__import__('os').system('x')", "lambda: 0", "=cmd|' /C calc'!A0", "<script>"),
    ]
)
TYPED = st.one_of(st.text(max_size=400), st.lists(PIECES, max_size=60).map("".join))
QUESTIONS = sheet().questions
MANY = settings(max_examples=300, suppress_health_check=[HealthCheck.too_slow])


@MANY
@given(text=TYPED, which=st.integers(0, len(QUESTIONS) - 1))
@example(text="((((((((9^12)^12)^12)^12)^12)^12)^12)^12)", which=3)
@example(text="(" * 5000, which=3)
@example(text="sqrt(" * 19 + "1e99^12" + ")" * 19, which=3)
@example(text="1e400 Hz", which=4)
@example(text="-0 Hz", which=4)
def test_any_text_gets_a_mark(text, which):
    found = judge(QUESTIONS[which], text, {})
    assert 0.0 <= found.credit <= 1.0
    assert found.verdict in ("right", "accepted", "mistake", "wrong", "unreadable", "missing")


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(st.dictionaries(st.sampled_from([q.id for q in QUESTIONS]), TYPED, max_size=8))
def test_any_sheet_gets_marks_and_a_page_without_markup_of_its_own(answers):
    result = mark_sheet(sheet(), answers)
    page = to_html(feedback_paper(result))
    assert 0.0 <= result.points <= result.possible
    assert not re.search(r"<(?:script|img|a|iframe|object|link)\b", page)


@MANY
@given(st.text(max_size=2000))
def test_any_file_is_read_or_reported(text):
    for read in (read_csv, read_notebook):
        collected = read(text)
        assert len(collected.submissions) + len(collected.notices) < 3000
        for one in collected.submissions:
            assert all(len(answer) <= 200 for answer in one.answers.values())


@settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow])
@given(hostile=TYPED, name=st.text(max_size=60))
def test_one_students_text_moves_nobody_elses_marks(hostile, name):
    first, second = small_class("bias").sheets[:2]
    rows = (
        Submission(name, "", {"P1": hostile}, "line 2"),
        Submission(second.student, second.code, dict.fromkeys(right_answers(second), hostile), "line 3"),
        Submission(first.student, first.code, right_answers(first), "line 4"),
    )
    found = mark(small_class("bias"), Collected(rows))
    assert found.of(first.student).points == found.of(first.student).possible
    assert not re.search(
        r"<(?:script|img|a|iframe)\b", to_html(report_paper("Lab", found.results, found.notices))
    )


def test_the_longest_answers_take_a_bounded_number_of_steps():
    """Count calls instead of seconds: the worst formula may not cost more than a thousand plain ones."""

    def calls(text):
        count = 0

        def tick(*_):
            nonlocal count
            count += 1

        sys.setprofile(tick)
        try:
            judge(QUESTIONS[3], text, {})
        finally:
            sys.setprofile(None)
        return count

    plain = calls("1/(2*pi*C_in*(R_bias + R_s))")
    worst = (
        "(" * 18 + "R_s" + "+C_in)^12" * 18,
        "sqrt(R_s)" * 22,
        "1/" * 99 + "R_s",
        "9^12*" * 39 + "9",
        "R_s^-12" * 20,
    )
    assert max(map(calls, worst)) < 1000 * plain


@pytest.mark.parametrize("cell", ["=1+1", "+A1", "-A1", "@sum", "\t=1", "\r=1"])
def test_a_spreadsheet_runs_nothing(cell):
    assert safe_cell(cell).startswith("'")
    assert safe_cell("Ada") == "Ada"


def test_names_in_tables_are_shown_and_not_run():
    text = csv_text([[safe_cell("=HYPERLINK(1)"), 'a "b", c', "two\nlines"]])
    assert text == '\'=HYPERLINK(1),"a ""b"", c",two lines\n'


def test_a_page_shows_what_was_typed():
    typed = "![x](http://a.b/c.png) <b>"
    page = to_html(feedback_paper(mark_sheet(sheet(), {"P1": typed})))
    assert html.escape(typed) in page
