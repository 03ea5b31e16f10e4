"""A handout is complete, printable, derived from its circuit, and holds no answer."""

import re

import pytest

from singlerail_nb.documents.document import Blank, Caution, Document, Drawing, Heading, Paragraph, Table
from singlerail_nb.documents.fault_page import AS_SOUND, bench_of, failed_board, failed_boards, sound_board
from singlerail_nb.documents.goals import GOALS
from singlerail_nb.documents.handout import Handout
from singlerail_nb.documents.html import page_rule, to_html
from singlerail_nb.documents.keys import answer_key
from singlerail_nb.documents.markdown import to_markdown
from singlerail_nb.documents.plain_text import plain
from singlerail_nb.documents.variants import handout
from singlerail_nb.errors import RequirementError, UnknownNameError
from singlerail_nb.fault_finding.catalogue import fault_named

from .lab_sheets import sheet, task


@pytest.mark.parametrize("goal", GOALS)
def test_a_handout_has_every_part_of_a_lab(goal):
    document = sheet(goal).document
    titles = [block.text for block in document.of_kind(Heading)]
    wanted = ["Objectives", "Your circuit", "Parts", "Pre-lab: derive and predict", "Build", "Measure",
              "Explain the differences", "Fault finding", "How this is graded", "Words"]  # fmt: skip
    assert titles == wanted
    assert [b.title for b in document.of_kind(Caution)] == ["Electrolytic capacitors have a right way round"]
    assert len(document.of_kind(Drawing)) == 1
    blanks = {block.id for block in document.of_kind(Blank)}
    assert {q.id for q in sheet(goal).predictions} <= blanks


def test_the_measurement_table_has_its_columns_and_blanks():
    table = next(t for t in sheet().document.of_kind(Table) if "Measured" in t.header)
    assert table.header == (
        "", "What", "With", "Predicted", "Allowed", "Measured", "Difference", "Comment",
    )  # fmt: skip
    for row, question in zip(table.rows, sheet().measurements, strict=True):
        assert row[0] == question.id
        assert (row[3], row[5], row[6], row[7]) == ("", "", "", "")
        assert re.fullmatch(r"-\d+% to \+\d+%", row[4])


def test_no_answer_is_in_the_sheet():
    text = to_markdown(sheet().document)
    text = text[text.index("Pre-lab") :]
    for question in sheet().questions:
        if not question.ask.is_formula:
            assert question.written(question.value) not in text, question.ask.key
    assert "R_bias + R_s" not in text


def test_the_key_has_every_answer_every_band_and_every_own_mistake():
    text = to_markdown(answer_key(sheet()))
    for question in sheet().questions:
        if question.ask.is_formula:
            continue
        assert question.written(question.value) in text
        assert question.written(question.band[0]) in text
        for found in question.signatures:
            if found.slip.key not in ("prefix", "radians", "peak", "rms"):
                assert question.written(found.value) in text


def test_capacitors_are_built_with_their_plus_side_named():
    steps = next(b for b in sheet().document.blocks if getattr(b, "numbered", False)).items
    assert any(
        "4.7 µF, output coupling capacitor" in s and s.endswith("**+** side to amp_out.") for s in steps
    )
    assert not any("resistor" in s.lower() and "side to" in s for s in steps)


@pytest.mark.parametrize(
    ("goal", "promised", "asked"),
    [
        ("low end", "above the highest single corner", "highest single corner"),
        ("headroom", "moving the bias", "bias"),
    ],
)
def test_what_an_objective_promises_to_explain_is_asked(goal, promised, asked):
    assert any(promised in text for text in GOALS[goal].objectives)
    prompts = [block.text for block in sheet(goal).document.of_kind(Blank) if block.id.startswith("E")]
    assert any(asked in text for text in prompts)


def test_the_bench_is_told_how_to_stay_safe():
    text = to_markdown(sheet().document)
    assert "Rail off. Fit the op-amp" in text
    assert "Change a part only with the rail off and the capacitors discharged" in text
    assert "from a supply made to be modulated" in text


def test_build_steps_name_only_what_the_drawing_names():
    steps = next(b for b in sheet().document.blocks if getattr(b, "numbered", False)).items
    places = {place for s in steps for place in re.findall(r"(?:from|to) ([a-z_]+|\$[^$]+\$)(?= to|[,.])", s)}
    drawing = next(b.data for b in sheet().document.of_kind(Drawing))
    assert {"plus", "amp_out", r"$R_{s}$", r"$C_{g}$"} <= places
    assert all(f">{place}<" in drawing for place in places if place[0] != "$" and place not in UNNAMED)


UNNAMED = ("ground",)
"""Drawn as a symbol."""


@pytest.mark.parametrize("goal", ["bias", "headroom"])
def test_neither_failed_boards_nor_the_drawing_give_predictions_away(goal):
    found = handout(goal, seed=4)
    assert AS_SOUND in to_markdown(found.document)
    for text in (to_markdown(found.document), to_html(found.document)):
        assert "At rest" not in text
        for question in found.predictions:
            assert not re.search(rf"\b{re.escape(question.written(question.value))}\b", text), (
                question.ask.key
            )


def test_every_printed_page_says_whose_it_is():
    named = Handout(sheet().goal, sheet().task, "O'Dowd, Ada", "AB12CD34")
    rule = page_rule(named.document)
    assert r"Ada\2c  sheet AB12CD34" in rule
    assert r"\5c" not in rule
    assert "sheet" not in page_rule(Handout(sheet().goal, sheet().task).document)


def test_a_topology_that_is_not_drawn_is_refused_with_those_that_are():
    with pytest.raises(UnknownNameError, match="lowpass; allowed: noninverting, inverting, follower"):
        handout("low end", topology="lowpass")


def test_the_rubric_adds_up_the_points_of_the_questions():
    table = sheet().document.of_kind(Table)[-1]
    assert float(table.rows[0][1]) == sum(q.ask.points for q in sheet().predictions)
    assert float(table.rows[1][1]) == sum(q.ask.points for q in sheet().measurements)


def test_faults_show_symptoms_that_can_be_told_apart():
    found = (*failed_boards(task()), sound_board(task()))
    assert len(found) == 4
    assert all(one.differs(other) for one in found for other in found if one is not other)


def test_a_bias_filter_that_is_open_lets_ripple_through_and_nothing_else():
    every = {(board.part, board.how): board for board in failed_boards(task(), most=10)}
    sound, broken = sound_board(task()), every["c_bias", "open"]
    for one, two in zip(broken.readings[:2], sound.readings[:2], strict=True):
        assert one.value == pytest.approx(two.value, rel=1e-6)
    assert broken.readings[3].value > 50.0 * sound.readings[3].value


def test_a_shorted_gain_leg_capacitor_drives_the_output_to_its_limit():
    found = failed_board(bench_of(task()), fault_named(task().stage, "c_g short"))
    assert found.readings[1].value == pytest.approx(task().output_range()[1])
    assert found.cells[2] == "nothing seen"


@pytest.mark.parametrize("suffix", [".html", ".md", ".ipynb"])
def test_a_handout_from_a_goal_writes_itself(tmp_path, suffix):
    found = handout("bias", seed=3)
    assert handout("bias", seed=3).stage == found.stage
    path = found.write(tmp_path / f"lab{suffix}")
    assert "Pre-lab" in path.read_text(encoding="utf-8")


def test_a_handout_of_a_given_stage_keeps_it():
    assert handout("low end", stage=task().stage).stage == task().stage


def test_a_vehicle_rail_brings_its_caution():
    found = handout("headroom", supplies=(12.0,), supply_kind="vehicle", seed=2)
    assert "vehicle" in " ".join(block.title for block in found.document.of_kind(Caution)).lower()


def test_wrong_conditions_are_refused_with_what_there_is():
    with pytest.raises(UnknownNameError, match="topology"):
        handout("bias", rail=9)
    with pytest.raises(RequirementError, match="ripple too small"):
        handout("bias", topology="follower", ripple=0.01, seed=1)


HOSTILE = "<script>x</script> $\\frac{1}$ ![i](http://a.b/c.png) [l](javascript:d) *e* `f` | g &amp; &#60;"


def test_names_of_students_are_shown_and_never_read_as_markup():
    html = to_html(document_of(HOSTILE))
    assert "<script" not in html
    assert "<img" not in html
    assert "<a " not in html
    assert "&lt;script&gt;x&lt;/script&gt; $\\frac{1}$ ![i](http://a.b/c.png)" in html


def document_of(text):
    return Document("Test", (Paragraph(plain(text, 200)), Table(("a",), ((plain(text, 200),),))))


def test_the_printed_text_is_the_typed_text():
    html = to_html(document_of(HOSTILE))
    assert "*e* `f` | g &amp;amp; &amp;#60;" in html
