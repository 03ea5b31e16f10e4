"""Marks: what is right, what follows from an earlier mistake, which mistake it was, and nothing else."""

import csv
import math
from concurrent.futures import ProcessPoolExecutor

import pytest

from singlerail_nb.documents.answers import read_answers, read_csv
from singlerail_nb.documents.document import Table
from singlerail_nb.documents.feedback import feedback_paper
from singlerail_nb.documents.html import to_html
from singlerail_nb.documents.judging import judge
from singlerail_nb.documents.marking import mark, mark_sheet
from singlerail_nb.documents.submissions import Collected, Submission
from singlerail_nb.errors import QuantityError
from singlerail_nb.quantities import write_quantity

from .lab_sheets import CLASS, question, right_answers, sheet, small_class, task


def marks_of(given):
    """Return {key: Mark} of answers given by key; all others are left out."""
    ids = {q.ask.key: q.id for q in sheet().questions}
    result = mark_sheet(sheet(), {ids[key]: text for key, text in given.items()})
    return {found.question.ask.key: found for found in result.marks}


def handed_in(given):
    """Return what a class handed in: {student: answers by id}."""
    rows = [Submission(name, "", answers, f"row {i}") for i, (name, answers) in enumerate(given.items())]
    return Collected(tuple(rows))


def test_right_answers_earn_every_point():
    result = mark_sheet(sheet(), right_answers(sheet()))
    assert result.points == result.possible
    assert result.slips == set()


@pytest.mark.parametrize(
    ("key", "text"),
    [
        ("thevenin", "18k7"), ("thevenin", "18.7 kohm"), ("thevenin", "0.0187 MΩ"), ("thevenin", "18671"),
        ("low_cutoff", "0.0234 kHz"), ("low_cutoff", "f = 23.4 Hz"), ("low_cutoff", "23,4 Hz"),
        ("low_cutoff", "≈ 23.4 Hz"),
        ("gain", "17.0"), ("gain", "24.6 dB"), ("gain", "17 V/V"),
        ("swing", "4.99 Vpp"), ("swing", "2.495 Vp"), ("swing", "1.764 Vrms"), ("swing", "4990 mVpp"),
        ("ready", "890 ms"), ("ready", "0.89 s"), ("bias", "5.09 V V"),
    ],
)  # fmt: skip
def test_a_number_is_right_in_any_prefix(key, text):
    assert marks_of({key: text})[key].verdict == "right", marks_of({key: text})[key].remark


@pytest.mark.parametrize(
    ("key", "text", "slip", "credit"),
    [
        ("swing", "4.99 V", "unit", 0.75),
        ("low_cutoff", "23.4 kHz", "prefix", 0.75),
        ("low_cutoff", "147 Hz", "radians", 0.5),
        ("swing", "2.5 Vpp", "peak", 0.5),
        ("thevenin", "33k", "R_A alone", 0.5),
        ("gain", "18.7", "source forgotten", 0.5),
        ("input_formula", "1/(2 pi C_in R_bias)", "source forgotten", 0.5),
        ("input_formula", "1/(C_in (R_s + R_bias))", "radians", 0.5),
        ("thevenin", "33 kHz", "", 0.0),
        ("low_cutoff", "1e300 Hz", "", 0.0),
        ("low_cutoff", "-23.4 Hz", "", 0.0),
        ("low_cutoff", "1,234 Hz", "", 0.0),
    ],
)
def test_a_mistake_is_named_and_earns_its_part(key, text, slip, credit):
    found = marks_of({key: text})[key]
    assert (found.slip, found.credit) == (slip, credit)
    assert found.remark


def test_every_recognised_mistake_is_named():
    for asked in sheet().questions:
        for found in asked.signatures:
            text = (
                str(found.value) if asked.ask.is_formula else write_quantity(found.value, asked.ask.unit, 6)
            )
            got = judge(asked, text, {})
            assert got.credit == found.slip.credit, (asked.ask.key, found.slip.key)
            assert found.slip.credit == 1.0 or got.slip == found.slip.key


@pytest.mark.parametrize(
    "text",
    ["1/(2*pi*C_in*(R_s+R_bias))", "1/(2π·Cin·(Rbias+Rs))", "f_in = 1/(2pi(R_s C_in + R_bias C_in))",
     "1/2/pi/C_in/(R_bias + R_s)", "0.15915/(C_in (R_s + R_bias))"],
)  # fmt: skip
def test_an_equal_formula_is_right_in_any_form(text):
    assert marks_of({"input_formula": text})["input_formula"].credit == 1.0


def test_a_wrong_formula_says_what_is_missing():
    found = marks_of({"input_formula": "1/(2*pi*R_A*(R_s+R_bias))"})["input_formula"]
    assert (found.verdict, found.remark) == ("wrong", "C_in must matter")


def test_a_follow_on_error_costs_nothing():
    # R_A instead of R_A || R_B, and from there on everything is right.
    wrong_corner = 1.0 / (2.0 * math.pi * 33e3 * 10e-6)
    found = marks_of({"thevenin": "33k", "bias_corner": f"{wrong_corner:.4g} Hz"})
    assert found["thevenin"].verdict == "mistake"
    assert found["bias_corner"].verdict == "follow-on"
    assert found["bias_corner"].credit == 1.0
    assert marks_of({"bias_corner": f"{wrong_corner:.4g} Hz"})["bias_corner"].credit == 0.5


def test_a_number_that_follows_from_a_wrong_formula_costs_nothing():
    asked = {q.ask.key: q for q in sheet().questions}
    values = task().stage.values
    corner = 1 / (2 * math.pi * values["c_in"] * values["r_bias"])
    given = {asked["input_formula"].id: "1/(2 pi C_in R_bias)", asked["input_corner"].id: f"{corner} Hz"}
    found = {m.question.ask.key: m for m in mark_sheet(sheet(), given).marks}
    assert (found["input_formula"].slip, found["input_formula"].credit) == ("source forgotten", 0.5)
    assert (found["input_corner"].verdict, found["input_corner"].credit) == ("follow-on", 1.0)
    alone = mark_sheet(sheet(), {asked["input_corner"].id: f"{corner} Hz"}).marks
    assert next(m for m in alone if m.text).slip == "source forgotten"


@pytest.mark.parametrize("formula", ["1/(R_s - R_s)", "sqrt(C_in - R_s)", "R_s^12^12", "0*R_s"])
def test_a_formula_without_a_number_carries_nothing_on(formula):
    asked = {q.ask.key: q for q in sheet().questions}
    given = {asked["input_formula"].id: formula, asked["input_corner"].id: "1 Hz"}
    found = {m.question.ask.key: m for m in mark_sheet(sheet(), given).marks}
    assert found["input_formula"].credit == found["input_corner"].credit == 0.0


def test_a_follow_on_of_the_bias_moves_the_swing():
    low, high = sheet().task.output_range()
    found = marks_of({"bias": "3.907 V", "swing": f"{2 * (3.907 - low):.4g} Vpp"})
    assert 3.907 - low < high - 3.907
    assert (found["bias"].slip, found["swing"].verdict) == ("divider swapped", "follow-on")


def test_several_wrong_corners_are_carried_into_the_cut_off():
    # Corners twice too high, in turn, move the cut-off of the whole network by the same factor.
    answers = {"input_corner": "28 Hz", "leg_corner": "30.8 Hz", "output_corner": "6.77 Hz"}
    found = marks_of(answers | {"low_cutoff": f"{2 * question('low_cutoff').value:.4g} Hz"})
    assert found["low_cutoff"].verdict == "follow-on"


def test_what_follows_from_the_impossible_is_not_credited():
    found = marks_of({"bias": "90 V", "swing": "80 Vpp"})
    assert found["swing"].verdict == "wrong"


def test_the_textbook_answer_is_accepted_with_a_word():
    asked = question("low_cutoff")
    textbook = next(s for s in asked.ask.accepted)
    assert textbook.value(asked.task) == pytest.approx(asked.value, rel=0.05)
    assert judge(asked, f"{textbook.value(asked.task):.4g} Hz", {}).credit == 1.0


def test_a_measurement_is_judged_by_its_band():
    asked = question("m_cutoff")
    low, high = asked.band
    for value, right in (
        (low * 1.001, True),
        (high * 0.999, True),
        (low * 0.97, False),
        (high * 1.03, False),
    ):
        assert (judge(asked, f"{value} Hz", {}).verdict == "right") is right
    assert "band" in judge(asked, f"{high * 1.3} Hz", {}).remark


def test_marks_of_a_class_from_a_table(tmp_path):
    rows = [["Name", "Sheet code", *(q.id for q in small_class().sheets[0].questions)]]
    rows += [
        [one.student.upper(), one.code.lower(), *right_answers(one).values()]
        for one in small_class().sheets[:3]
    ]
    path = tmp_path / "answers.csv"
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        csv.writer(file, delimiter=";").writerows(rows)
    found = mark(small_class(), path)
    assert [bool(r.marks) for r in found.results] == [True] * 3 + [False] * 3
    assert all(r.points == r.possible for r in found.results[:3])
    assert found.notices == ()


def test_marks_from_one_line_per_answer():
    text = "student,question,answer\nBo Brood,P1,4.5 V\nBo Brood,p2,4k7\nBo Brood,P1,9 V\n"
    (one,) = read_csv(text).submissions
    assert one.answers == {"P1": "4.5 V", "P2": "4k7"}
    assert "first answer counts" in read_csv(text).notices[0]


def test_a_table_with_decimal_commas_and_quotes():
    text = 'student;P1;P2\r\n"Bo ""B"" Brood";"4,5 V";4,7 kohm\r\n'
    (one,) = read_csv(text).submissions
    assert (one.student, one.answers["P1"], one.answers["P2"]) == ('Bo "B" Brood', "4.5 V", "4.7 kohm")


def test_a_table_as_a_spreadsheet_with_decimal_commas_saves_it(tmp_path):
    own = small_class().sheet("Dé Drone")
    answers = {name: text.replace(".", ",") for name, text in right_answers(own).items()}
    answers["P2"] = "37,123 kohm"  # three figures behind the comma, where it could mean thousands
    lines = (";".join(["Student", "Code", *answers]), ";".join([own.student, own.code, *answers.values()]))
    for letters in ("utf-8-sig", "cp1252"):
        text = "\r\n".join(lines).replace("Ω", "ohm")
        (tmp_path / "answers.csv").write_bytes(text.encode(letters))
        found = mark(small_class(), tmp_path / "answers.csv")
        marks = {m.question.id: m for m in found.of("Dé Drone").marks}
        assert {m.verdict for name, m in marks.items() if name != "P2"} == {"right"}
        assert marks["P2"].value == 37123.0
        assert found.notices == ()


def test_notices_are_plain_text_and_the_report_shows_them_as_written():
    rows = (Submission("Jean-Luc *B*\n", "", {"P1": "1 V"}, "line_2"),)
    found = mark(small_class(), Collected(rows))
    assert found.notices == ("line_2: no student Jean-Luc *B*  in the class, left out",)
    assert "line_2: no student Jean-Luc *B*  in the class" in to_html(found.report)


def test_a_sheet_code_settles_a_name_that_was_misspelt():
    own = small_class().sheets[1]
    found = mark(small_class(), Collected((Submission("Bo Brod", own.code, right_answers(own), "line 2"),)))
    assert found.of(own.student).points == found.of(own.student).possible
    assert found.notices == ("line 2: Bo Brod is taken for Bo Brood by the sheet code",)
    nobody = mark(small_class(), Collected((Submission("Bo Brod", "", right_answers(own), "line 2"),)))
    assert nobody.of(own.student).marks == ()


def test_feedback_leaves_room_for_what_a_person_marks_and_the_report_says_where():
    own = small_class().sheets[0]
    asked = {q.ask.key: q for q in own.questions}
    slip = next(s for s in asked["gain"].signatures if s.slip.key == "source forgotten")
    answers = right_answers(own) | {asked["gain"].id: asked["gain"].written(slip.value)}
    found = mark(small_class(), Collected((Submission(own.student, own.code, answers, "line 2"),)))
    by_hand = dict(found.feedback(own.student).facts)["Marked by hand"]
    assert by_hand.startswith("Critical evaluation ........ of 6; ")
    ((name, students, _, where, example),) = found.report.section("Misconceptions").of_kind(Table)[0].rows
    assert (name, students, where) == ("source forgotten", "1", asked["gain"].id)
    assert "$R_{s}$" in example


BAD_LINES = [
    'Cy Comb,"4.5 V',
    "Cy Comb," + "x" * 200_000,
    ",4.5 V",
    "Cy Comb,1,2,3,4,5",
    "\x00\x00,\x00",
    "Zoe Zander,4.5 V",
    '"""""',
    "Bo Brood,99 V",
]


@pytest.mark.parametrize("bad", BAD_LINES, ids=range(len(BAD_LINES)))
def test_a_bad_line_spoils_nobody_elses_marks(tmp_path, bad):
    first = {"Bo Brood": small_class().sheet("Bo Brood"), "Eli Egg": small_class().sheet("Eli Egg")}
    good = [f"{name},{right_answers(one)['P1']}" for name, one in first.items()]
    path = tmp_path / "answers.csv"
    path.write_text("\n".join(["student,P1", good[0], bad, good[1]]) + "\n", encoding="utf-8")
    found = mark(small_class(), path)
    assert found.of("Bo Brood").points == found.of("Eli Egg").points == 2.0
    assert found.of("Bo Brood").marks[0].verdict == "right"


def test_answers_need_the_code_of_their_own_sheet():
    own, other = small_class().sheets[:2]
    rows = (
        Submission(own.student, other.code, {"P1": "1 V"}, "line 2"),
        Submission(own.student, own.code, right_answers(own), "line 3"),
        Submission(own.student, own.code, {"P1": "2 V"}, "line 4"),
        Submission(other.student, "", right_answers(other), "x.ipynb"),
    )
    found = mark(small_class(), Collected(rows))
    assert found.of(own.student).points == found.of(own.student).possible
    assert found.of(other.student).marks == ()
    assert ["line 2" in found.notices[0], "line 4" in found.notices[1], "x" in found.notices[2]] == [True] * 3


def test_copied_answers_are_pointed_out_to_the_instructor_only():
    own, other = small_class().sheets[:2]
    found = mark(
        small_class(), handed_in({own.student: right_answers(own), other.student: right_answers(own)})
    )
    assert "are the answers of Ada Anther" in found.notices[0]
    assert "Ada" not in to_html(found.feedback(other.student))


def test_copied_mistakes_are_pointed_out_and_only_at_the_one_who_copied():
    own, other = small_class().sheets[:2]
    slips = {}
    for asked in own.questions:
        known = [s.value for s in asked.signatures if s.slip.key in ("source forgotten", "half the voltage")]
        slips |= {asked.id: asked.written(float(known[0]))} if known and not asked.ask.is_formula else {}
    keep = {q.id for q in own.questions if q.ask.key in ("thevenin", *(q.ask.key for q in own.measurements))}
    answers = {name: text for name, text in (right_answers(own) | slips).items() if name in keep | set(slips)}
    found = mark(small_class(), handed_in({own.student: answers, other.student: answers}))
    (notice,) = found.notices
    assert notice.startswith(f"{other.student}: P2, ")
    assert all(name in notice for name in slips if name.startswith("P"))


def test_a_misconception_that_the_class_shares_is_no_copy():
    given = {}
    for one in small_class().sheets:
        known = {q.id: [s for s in q.signatures if s.slip.key == "source forgotten"] for q in one.predictions}
        wrong = {q.id: q.written(float(known[q.id][0].value)) for q in one.predictions
                 if known[q.id] and not q.ask.is_formula}  # fmt: skip
        given[one.student] = right_answers(one) | wrong
    found = mark(small_class(), handed_in(given))
    assert found.misconceptions["source forgotten"] == len(CLASS)
    assert found.notices == ()


def test_misconceptions_are_counted_once_a_student():
    given = {}
    for one in small_class().sheets[:4]:
        ids = {q.ask.key: q for q in one.questions}
        source = [
            next(s.value for s in ids[k].signatures if s.slip.key == "source forgotten")
            for k in ("gain", "input_corner")
        ]
        given[one.student] = {
            ids["gain"].id: f"{source[0]:.5g}",
            ids["input_corner"].id: f"{source[1]:.5g} Hz",
        }
    given[CLASS[0]] = right_answers(small_class().sheets[0])
    found = mark(small_class(), handed_in(given))
    assert found.misconceptions["source forgotten"] == 3
    table = found.report.of_kind(Table)[0]
    assert table.rows[0][:2] == ("source forgotten", "3")


def test_files_of_the_marks(tmp_path):
    given = {one.student: right_answers(one) for one in small_class().sheets[:2]}
    top = mark(small_class(), handed_in(given)).write(tmp_path)
    assert [p.name for p in sorted(top.iterdir())] == ["feedback", "feedback.html", "instructor"]
    with (top / "instructor" / "marks.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["points"] for row in rows] == ["44", "44", "0", "0", "0", "0"]
    assert rows[0]["P1"] == "2"
    assert len(list((top / "feedback").iterdir())) == len(CLASS)


def test_the_same_marks_with_workers():
    given = handed_in({one.student: right_answers(one) for one in small_class().sheets[:2]})
    with ProcessPoolExecutor(2) as processes:
        found = mark(small_class(), given, executor=processes)
    assert found.of("Bo Brood").points == found.of("Bo Brood").possible


def test_what_cannot_be_read_is_no_answer_and_no_crash():
    with pytest.raises(QuantityError, match="path"):
        read_answers("nowhere.csv")
    assert read_csv("").notices == ("answers: empty",)
    assert "no column named student" in read_csv("who,P1\nBo,1 V\n").notices[0]


def test_a_sheet_code_in_the_wrong_line_is_reported_with_its_owner():
    bo, cy = small_class().sheets[1:3]
    found = mark(small_class(), Collected((Submission(bo.student, cy.code, {"P1": "1 V"}, "line 2"),)))
    assert found.notices == (
        f"line 2: the code is not that of {bo.student}'s sheet, but of {cy.student}'s, left out",
    )
    assert "If you handed some in, ask" in to_html(found.feedback(bo.student))


def test_a_line_given_twice_is_one_notice():
    found = read_csv("student,P1,P2,P3\nBo,1,2,\nBo,4,5,6\n")
    assert found.notices == ("answers, line 3: P1, P2 of Bo answered before; the first answer counts",)
    assert found.submissions[0].answers == {"P1": "1", "P2": "2", "P3": "6"}


@pytest.mark.parametrize(
    "text",
    [
        "Student name;Sheet code;P2 (Hz)\nBo;X;1,5;;\n",
        "sep=;\nstudent;code;P02\nBo;X;1,5\n",
        "student,code,question,answer\nBo,X,p 2,1.5\n",
    ],
)
def test_tables_as_spreadsheets_write_them(text):
    found = read_csv(text)
    assert found.notices == ()
    assert [(s.student, s.code, s.answers) for s in found.submissions] == [("Bo", "X", {"P2": "1.5"})]


def test_a_column_that_is_no_question_is_reported():
    assert read_csv("student;Q2\nBo;1\n").notices == ("answers: q2 is no question, left out",)


def test_a_long_answer_without_spaces_may_be_broken_on_the_page():
    one = small_class().sheets[0]
    found = feedback_paper(mark_sheet(one, {"P1": "9" * 60, "P2": "short", "P3": "$" * 50}))
    rows = found.of_kind(Table)[0].rows
    assert [max(map(len, row[1].replace("&#36;", "$").split("\u200b"))) for row in rows[:3]] == [24, 5, 24]
