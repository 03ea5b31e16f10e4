"""The rationale says what the design says, completely, and every number in it can be found again."""

import re

import pytest

import singlerail_nb as sr
from singlerail_nb.circuit.checks import check_circuit
from singlerail_nb.circuit.typeset import sentence
from singlerail_nb.documents.document import Caution, Drawing, Formula, Heading, Table
from singlerail_nb.documents.faults import fault_table
from singlerail_nb.documents.rationale import rationale, rationale_difference
from singlerail_nb.documents.record import record
from singlerail_nb.quantities import write_quantity


def requirements(**changes):
    # The electret channel of the hive monitor on a 9 V battery; numbers invented.
    given = {
        "supply": "9 V", "supply_min": "6 V", "supply_max": "9.6 V", "gain": 20, "low_cutoff": "20 Hz",
        "input_impedance": "47 kohm", "source_resistance": "2.2 kohm", "load": "10 kohm",
        "opamp": sr.opamp("GPB"), "output_swing": "2 Vpp",
    }  # fmt: skip
    return sr.Requirements(**given | changes)


@pytest.fixture(scope="module")
def design():
    return sr.design(requirements())


@pytest.fixture(scope="module")
def paper(design):
    return rationale(design, revision="B", supply_kind="vehicle", headphones=True)


def table(paper, column):
    return next(block for block in paper.of_kind(Table) if column in block.header)


OUTLINE = (
    "Purpose and scope", "Interfaces", "Requirements and margins", "Assumptions", "Alternatives",
    "Derivation", "Choices", "Frequency response", "Worst case", "Stress", "Parts list",
    "Start-up and faults", "Noise and supply rejection", "Test plan", "Deviations and open points",
    "Reproducibility record", "Approval",
)  # fmt: skip


def test_outline_is_complete_and_in_order(paper):
    assert tuple(b.text for b in paper.of_kind(Heading) if b.level == 2) == OUTLINE
    assert dict(paper.facts)["Revision"] == "B"
    assert dict(paper.facts)["Author"] == ""


def test_every_requirement_has_its_row_and_its_test(paper, design):
    assert table(paper, "verdict").rows == tuple(row.cells for row in design.checks)
    plan = table(paper, "instrument")
    assert [row[0] for row in plan.rows] == [row.id for row in design.checks]
    assert all(row[4:] == ("", "", "") for row in plan.rows)


def test_every_decision_and_every_step_stands_with_its_formula(paper, design):
    formulas = {block.text for block in paper.of_kind(Formula)}
    assert {step.text for step in design.steps} <= formulas
    assert {e.text for step in design.stage.derivation() for e in step.equations} <= formulas
    html = paper.html
    for step in design.steps:
        assert write_quantity(step.chosen, step.unit) in html


def test_pictures_carry_their_numbers(paper):
    drawings = paper.of_kind(Drawing)
    assert [d.kind for d in drawings] == ["svg", "png", "png", "png"]
    assert all(re.search(r"\d", d.text) for d in drawings)


def test_cautions_come_with_what_causes_them(paper, design):
    titles = " ".join(block.title for block in paper.of_kind(Caution))
    assert "right way round" in titles
    plain = rationale(design)
    assert len(paper.of_kind(Caution)) >= len(plain.of_kind(Caution)) + 2
    assert "ISO 16750-2" in paper.markdown
    assert "ISO 16750-2" not in plain.markdown


def test_alternatives_are_shown_or_rejected_with_the_reason(paper, design):
    rows = {row[0]: row for row in table(paper, "sum of capacitance").rows}
    assert rows["noninverting"][-1] == "chosen"
    assert rows["inverting"][-1].startswith("possible")
    assert rows["follower"][-1].startswith("rejected: gain")
    impedance = sr.design(design.requirements, "inverting").stage.input_impedance().midband_gain()
    assert rows["inverting"][1] == write_quantity(impedance, "ohm")


def test_the_same_design_gives_the_same_document(design, paper):
    again = rationale(design, revision="B", supply_kind="vehicle", headphones=True)
    assert again.markdown == paper.markdown
    assert not re.search(r"(src|href)=.?https?:|url\(", paper.html)


def test_checksum_follows_every_input(design):
    assert record(design).checksum == record(sr.design(requirements())).checksum
    for change in ({"gain": 21}, {"output_swing": "2.1 Vpp"}, {"opamp": sr.opamp("PRC"), "supply": "5 V",
                   "supply_min": "4.4 V", "supply_max": "5.25 V"}):  # fmt: skip
        assert record(sr.design(requirements(**change))).checksum != record(design).checksum


def test_a_reissue_lists_every_number_that_moved(design):
    other = sr.design(requirements(low_cutoff="33 Hz"))
    paper = rationale_difference(design, other)
    parts = {row[0] for row in table(paper, "part").rows}
    old, new = design.stage.values, other.stage.values
    assert len(parts) == sum(old[name] != new[name] for name in new) > 0
    moved = {row[0]: row for row in table(paper, "requirement").rows}
    assert moved["low-end cut-off"][1:3] == tuple(
        write_quantity(d.stage.transfer("signal", "output").low_cutoff(), "Hz") for d in (design, other)
    )
    assert "input impedance" not in moved
    nothing = rationale_difference(design, design)
    assert all(not block.rows for block in nothing.of_kind(Table))


def test_a_failing_requirement_is_a_deviation_with_its_mend():
    failing = sr.design(requirements(output_swing="5 Vpp"))
    assert not failing.passed
    markdown = rationale(failing).markdown
    assert "does not meet every requirement" in markdown
    assert f"would pass with {failing.review.mend_text(failing.review.failed[0].id)}" in markdown


def test_faults_cover_every_part_both_ways(design):
    faults = {(f.part, f.state): f.symptom for f in fault_table(design.stage)}
    assert set(faults) == {(p.name, s) for p in design.stage.circuit.parts for s in ("open", "short")}
    assert faults["c_in", "open"] == "no signal"
    assert "drifts" in faults["r_bias", "open"]
    assert faults["c_g", "short"] == "the output sits at the rail"  # the bias is amplified
    assert check_circuit(design.stage.circuit.opened("r_bias"))


def test_a_fault_that_only_moves_the_bias_is_told_in_volts(design):
    faults = {(f.part, f.state): f.symptom for f in fault_table(design.stage)}
    assert faults["r_top", "open"] == "the output sits at ground"
    assert "gain" in faults["r_g", "open"]


def test_words_of_the_design_are_not_changed(paper, design):
    assert all(sentence(step.rejected) in paper.markdown for step in design.steps)
