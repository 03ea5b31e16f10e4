"""The rationale says what the design says, completely, and every number in it can be found again."""

import re
from dataclasses import replace

import pytest
import sympy
from markdown_it import MarkdownIt

import singlerail_nb as sr
from singlerail_nb.circuit.checks import check_circuit
from singlerail_nb.circuit.typeset import sentence
from singlerail_nb.designing.guarantee import guarantee
from singlerail_nb.documents.document import Caution, Drawing, Formula, Heading, Table
from singlerail_nb.documents.faults import fault_table
from singlerail_nb.documents.rationale import rationale, rationale_difference
from singlerail_nb.documents.record import record
from singlerail_nb.documents.slugs import slug
from singlerail_nb.documents.wording import LONGEST_FORMULA, formulas_of, symbol, typeset
from singlerail_nb.errors import RequirementError, UnknownNameError
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
    "Start-up, shutdown and faults", "Noise, supply rejection and stability", "Test plan",
    "Deviations and open points", "Reproducibility record", "Words", "Approval",
)  # fmt: skip


def test_outline_is_complete_and_in_order(paper):
    headings = [b.text for b in paper.of_kind(Heading) if b.level == 2]
    assert headings == [f"{i} {title}" for i, title in enumerate(OUTLINE, 1)]
    for heading in headings:
        assert f'href="#{slug(heading)}"' in paper.html
        assert f'id="{slug(heading)}"' in paper.html
    assert dict(paper.facts)["Revision"] == "B"
    assert dict(paper.facts)["Author"] == ""


def test_every_requirement_has_its_row_and_its_test(paper, design):
    results = table(paper, "margin").rows
    assert results == tuple((*row.cells[:-2], row.cells[-1]) for row in design.checks)
    asked = table(paper, "origin").rows
    assert [row[:3] for row in asked] == [(r.id, r.requirement, r.worst.limit_text) for r in design.checks]
    origins = {row[1]: row[3] for row in asked}
    assert origins["low-end cut-off"] == "stated requirement"
    assert "common practice" in origins["divider current"]
    plan = table(paper, "instrument")
    pairs = zip(plan.rows, design.checks, strict=True)
    assert all(row[1].startswith(check.requirement + ": ") for row, check in pairs)
    assert [row[0] for row in plan.rows] == [row.id for row in design.checks]
    assert all(row[4:] == ("", "", "") for row in plan.rows)


def test_every_decision_and_every_step_stands_with_its_formula(paper, design):
    formulas = {block.text for block in paper.of_kind(Formula)}
    assert {step.text for step in design.steps} <= formulas
    equations = [e for step in design.stage.derivation() for e in step.equations]
    assert {e.text for e in equations if len(e.text) <= LONGEST_FORMULA} <= formulas
    assert all("P_1" in text for text in formulas - {e.text for e in equations} if text.startswith("H(s)"))
    html = paper.html.replace("\xa0", " ")
    for step in design.steps:
        assert write_quantity(step.chosen, step.unit) in html


def test_pictures_carry_their_numbers(paper):
    drawings = paper.of_kind(Drawing)
    assert [d.kind for d in drawings] == ["svg", "png", "png", "png", "png"]
    assert all(re.search(r"\d", d.text) for d in drawings)


def test_cautions_come_with_what_causes_them(paper, design):
    titles = " ".join(block.title for block in paper.of_kind(Caution))
    assert "right way round" in titles
    plain = rationale(design)
    assert len(paper.of_kind(Caution)) >= len(plain.of_kind(Caution)) + 2
    assert "ISO 16750-2" in paper.markdown
    assert "ISO 16750-2" not in plain.markdown


def test_what_the_rail_comes_from_is_known_or_an_open_point(paper, design):
    plain = rationale(design)
    assert "It was not stated what the rail comes from" in repr(plain.section("Deviations and open points"))
    assert "It was not stated" not in paper.markdown
    assert "protection in front keeps the rail within 6 V to 9.6 V" in repr(paper.section("Assumptions"))
    assert "protection in front" not in plain.markdown
    with pytest.raises(UnknownNameError, match="vehicle"):
        rationale(design, supply_kind="car")


def test_the_chosen_bias_source_stands_as_it_is_designed(paper, design):
    rows = {row[0]: row for row in table(paper, "property").rows}
    chosen = table(paper, "property").header.index("filtered divider, chosen")
    values = design.stage.values
    assert rows["draws"][chosen] == write_quantity(9.0 / (values["r_top"] + values["r_bottom"]), "A", 3)
    parallel = 1.0 / (1.0 / values["r_top"] + 1.0 / values["r_bottom"])
    assert rows["impedance at DC"][chosen] == write_quantity(parallel, "ohm", 3)
    (rejects,) = (row for row in table(paper, "sum of capacitance").rows if row[-1] == "chosen")
    assert float(rows["rejects, 100 Hz"][chosen].split()[0]) == pytest.approx(
        -float(rejects[2].split()[0]), abs=0.06
    )


def test_every_usual_bias_source_can_be_written_down(design):
    compared = sr.bias_comparison(design.stage, sr.BiasConditions.on(sr.supply_rail("battery")))
    for row in compared.rows:
        if row.name in ("filtered_zener", "buffered_divider"):  # nothing of theirs is not in the others
            continue
        paper = rationale(replace(design, stage=row.stage))
        explained = {block.text.split(":")[0] for block in paper.of_kind(Heading) if block.level == 3}
        assert symbol("c_in") in explained
        assert ("of the bias is ideal here" in paper.markdown) == bool(row.stage.levels)
        same = row.stage.values.get("c_bias") == design.stage.values["c_bias"]
        assert (symbol("c_bias") in explained) == same
        assert (
            f"{row.name.replace('_', ' ').replace('zener', 'Zener')}, chosen"
            in table(paper, "property").header
        )


def test_the_test_of_the_impedance_counts_the_source(paper, design):
    # At the limit: a bias resistor of just 47 kohm, firm capacitors, and once more 47 kohm in the way.
    firm = design.stage.with_parts(r_bias="47k", c_in="10u", c_bias="100u", c_g="1000u", c_out="1000u")
    further = firm.with_parts(r_source=2.2e3 + 47e3)
    kept = abs(further.transfer("signal", "output")(1e3) / firm.transfer("signal", "output")(1e3))
    (words,) = (row[1] for row in table(paper, "instrument").rows if row[0] == "R2")
    found = re.search(r"sine at (\S+) Hz, extra 47 kΩ in series: .* at least (\S+) %", words)
    assert float(found[2]) == pytest.approx(100.0 * kept, abs=0.06)
    assert float(found[1]) == pytest.approx(
        10.0 * design.stage.transfer("signal", "output").low_cutoff(), rel=0.03
    )


def test_leakage_that_the_dc_error_leaves_out_is_an_open_point():
    asked = sr.design(requirements(dc_error="150 mV"))
    row = next(row for row in asked.checks if row.requirement == "DC error at the output")
    desk = sr.capacitor_desk(asked.stage, supply_max=9.6)
    shift = sum(abs(capacitor.shift) for capacitor in desk.rows)
    assert row.status == "pass"
    assert row.value + shift > 0.15
    assert f"{row.id} DC error at the output counts the op-amp only" in rationale(asked).markdown
    easy = sr.design(requirements(dc_error="1 V"))
    assert "counts the op-amp only" not in rationale(easy).markdown


def test_a_follower_that_a_cable_upsets_is_an_open_point_unless_a_margin_was_asked():
    given = {
        "supply": "5 V", "supply_min": "4.4 V", "supply_max": "5.25 V", "gain": 1, "output_swing": None,
        "opamp": sr.opamp("PRC"),
    }  # fmt: skip
    words = "No phase margin was asked for. With 100 pF"
    assert words in rationale(sr.design(requirements(**given), "follower")).markdown
    asked = sr.design(requirements(**given, phase_margin="45 deg"), "follower")
    assert words not in rationale(asked).markdown


def test_alternatives_are_shown_or_rejected_with_the_reason(paper, design):
    rows = {row[0]: row for row in table(paper, "sum of capacitance").rows}
    assert rows["noninverting"][-1] == "chosen"
    assert rows["inverting"][-1].startswith("possible")
    assert rows["follower"][-1].startswith("rejected: gain")
    assert "worse in rail to output, 100 Hz" in rows["inverting"][-1]
    # In mid-band the summing node stands still: the source sees the input resistor.
    seen = sr.design(design.requirements, "inverting").stage.values["r_in"]
    assert rows["inverting"][1].split() == [f"{seen / 1e3 + 0.01:.4g}", "kΩ"]


def test_the_same_design_gives_the_same_document(design, paper):
    again = rationale(design, revision="B", supply_kind="vehicle", headphones=True)
    assert again.markdown == paper.markdown
    assert not re.search(r"(src|href)=.?https?:|url\(", paper.html)


def test_checksum_follows_every_input(design):
    assert record(design).checksum == record(sr.design(requirements())).checksum
    for change in ({"gain": 21}, {"output_swing": "2.1 Vpp"}, {"opamp": sr.opamp("PRC"), "supply": "5 V",
                   "supply_min": "4.4 V", "supply_max": "5.25 V"}):  # fmt: skip
        assert record(sr.design(requirements(**change))).checksum != record(design).checksum


@pytest.mark.parametrize("change", [{"gbw": 0.8e6}, {"noise_voltage": 80e-9}])
def test_checksum_follows_the_figures_of_the_opamp(design, change):
    other = replace(design.requirements.opamp, **change)
    moved = replace(design, requirements=replace(design.requirements, opamp=other))
    assert record(moved).checksum != record(design).checksum
    assert "opamp" in {row[0] for row in table(rationale_difference(design, moved), "input").rows}


def test_a_design_from_a_file_has_the_same_checksum(design, tmp_path):
    again = sr.load_design(sr.save_design(tmp_path / "hum.json", design))
    assert record(again) == record(design)


def test_what_a_file_does_not_keep_is_said(tmp_path):
    needed = requirements(gain_tolerance="12 %", output_swing="1 Vpp")
    made = guarantee(needed, tolerance={"resistors": 0.01, "capacitors": 0.1})
    again = sr.load_design(sr.save_design(tmp_path / "hum.json", made))
    assert record(again) == record(made)
    words = "No tolerances were stated: 5 % was taken", "No reason is recorded for"
    assert all(word in rationale(again).markdown for word in words)
    markdown = rationale(made).markdown
    assert not any(word in markdown for word in words)
    assert "Its reasons come with `guarantee`" in markdown


def test_a_reissue_lists_every_number_that_moved(design):
    other = sr.design(requirements(low_cutoff="33 Hz"))
    paper = rationale_difference(design, other)
    parts = {row[0] for row in table(paper, "part").rows}
    old, new = design.stage.values, other.stage.values
    assert parts == {symbol(name) for name in new if old[name] != new[name]}
    assert parts
    moved = {row[0]: row for row in table(paper, "limit before").rows}
    assert moved["low-end cut-off"][3:5] == ("at most 20 Hz", "at most 33 Hz")
    assert ("low_cutoff", "20.0", "33.0") in table(paper, "input").rows
    assert moved["low-end cut-off"][1:3] == tuple(
        write_quantity(d.stage.transfer("signal", "output").low_cutoff(), "Hz") for d in (design, other)
    )
    assert "input impedance" not in moved
    nothing = rationale_difference(design, design)
    assert not nothing.of_kind(Table)
    assert nothing.markdown.count("None moved.") == 4


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


def test_a_fault_without_end_is_told_in_words():
    """A shorted input resistor behind a source of 0 ohm: C_in alone, and a gain that only rises."""
    ideal = requirements(opamp=None, output_swing=None, gain=-4, source_resistance="0 ohm")
    symptoms = {(f.part, f.state): f.symptom for f in fault_table(sr.design(ideal, "inverting").stage)}
    assert "gain rises without end" in symptoms["r_in", "short"]
    assert not any("infinity" in symptom for symptom in symptoms.values())


def test_a_long_quotient_is_the_same_in_pieces(design):
    equations = [e for step in design.stage.derivation() for e in step.equations]
    (whole,) = (e for e in equations if len(e.text) > LONGEST_FORMULA)
    pieces = [formula.text.split(" = ") for formula in formulas_of(whole)]
    values = {name: sympy.sympify(right) for name, right in pieces if re.fullmatch(r"[a-f]_\d", name)}
    s = sympy.Symbol("s")
    names = {str(symbol): symbol for symbol in whole.expression.free_symbols}
    rebuilt = {
        sum(c.subs(names) * s ** int(name[2:]) for name, c in values.items() if name[0] == letter)
        for letter in {name[0] for name in values}
    }
    factors = [f for half in sympy.fraction(whole.right_side) for f in sympy.Mul.make_args(half)]
    assert len(rebuilt) == 2
    for polynomial in rebuilt:
        assert any(sympy.expand(polynomial - factor) == 0 for factor in factors)


def test_part_names_are_printed_as_symbols(paper):
    assert typeset("r_top open, c_in and amp_out") == r"$R_{A}$ open, $C_{\mathrm{in}}$ and amp_out"
    assert typeset("output of opamp at the rail") == "output of op-amp at the rail"
    for block in paper.of_kind(Table):
        if "input" not in block.header:
            cells = " ".join(cell for row in block.rows for cell in row)
            assert not re.search(r"\b[rc]_(?:in|bias|top|bottom|f|g|out|load|source)\b", cells)


def test_every_table_has_a_caption_and_full_rows(paper):
    for block in paper.of_kind(Table):
        assert block.caption or "name and signature" in block.header
        assert all(len(row) == len(block.header) for row in block.rows)


def test_the_extremes_are_judged_and_what_misses_is_open(paper, design):
    rows = {row[1]: row for row in table(paper, "at the extremes").rows}
    worst = sr.worst_case(design.stage, 0.05)
    for name, figure in (("mid-band gain", worst.midband_gain), ("low-end cut-off", worst.low_cutoff)):
        low, high = (write_quantity(end, "V/V" if "gain" in name else "Hz") for end in figure)
        assert rows[name][2] == f"{low} to {high}"
    # 5 % resistors spread the gain of 20 by about 10 %, twice the 5 % that is allowed.
    assert rows["mid-band gain"][-1] == "misses"
    assert rows["low-end cut-off"][-1] == "holds"
    assert "R1 mid-band gain is not guaranteed" in paper.markdown
    total = design.stage.values["r_top"] + design.stage.values["r_bottom"]
    ends = " to ".join(write_quantity(9.0 / (total * end), "A") for end in (1.05, 0.95))
    assert rows["divider current"][2:] == (ends, "at most 100 µA", "misses")
    assert "at the ends of their tolerance it misses R1 mid-band gain" in paper.markdown


def test_a_guaranteed_design_brings_its_tolerance_and_misses_nothing():
    needed = requirements(gain_tolerance="12 %", output_swing="1 Vpp")
    guaranteed = guarantee(needed, tolerance={"resistors": 0.01, "capacitors": 0.1})
    paper = rationale(guaranteed)
    assert {row[-1] for row in table(paper, "at the extremes").rows} == {"holds"}
    assert "No requirement is missed, neither with nominal parts nor at the extremes." in paper.markdown
    assert {row[1] for row in table(paper, "initial").rows} == {"± 1 %", "± 10 %"}


def test_sensitivities_are_those_of_the_network(paper, design):
    rows = {row[0]: row[1] for row in table(paper, "how found").rows}
    stage, step = design.stage, 1e-5
    ends = [stage.with_parts(c_in=stage.values["c_in"] * (1 + d)) for d in (step, -step)]
    high, low = (end.transfer("signal", "output").low_cutoff() for end in ends)
    share = (high - low) / (2 * step * stage.transfer("signal", "output").low_cutoff())
    assert rows["low-end cut-off"].startswith(rf"$C_{{\mathrm{{in}}}}$ {share:+.2f}, ")


def test_a_section_is_shown_alone(paper):
    assert paper.outline.splitlines() == [f"{i} {title}" for i, title in enumerate(OUTLINE, 1)]
    plan = paper.section("Test plan")
    assert plan.blocks == paper.section("14 Test plan").blocks
    assert plan.blocks[0].text == "14 Test plan"
    assert "## 14 Test plan" in plan._repr_markdown_() == repr(plan)
    assert sum(len(paper.section(title).blocks) for title in OUTLINE) == len(paper.blocks) - 2
    with pytest.raises(UnknownNameError, match="section"):
        paper.section("Test plans")


def test_history_and_record(design):
    paper = rationale(design, revision="B", history=[("A", "1 May", "first issue")])
    assert table(paper, "change").rows == (("A", "1 May", "first issue"), ("B", "", ""))
    inputs = table(paper, "exact value").rows
    assert ("supply", "9.0", "volt") in inputs
    assert ("demand output_swing", "2.0", "volt peak to peak") in inputs
    assert ("part c_in", repr(design.stage.values["c_in"]), "farad") in inputs
    assert len({row[0] for row in inputs}) == len(inputs)
    assert dict(paper.facts)["Checksum of the inputs"] == record(design).checksum


def test_what_is_no_design_and_no_history_is_named(design):
    for write in (rationale, lambda made: rationale_difference(design, made)):
        with pytest.raises(RequirementError, match=r"design: got Stage; .* with its requirements"):
            write(design.stage)
    with pytest.raises(RequirementError, match="three texts"):
        rationale(design, history=["first issue"])


def test_an_ideal_opamp_and_another_topology_are_written_too():
    ideal = sr.design(requirements(opamp=None, output_swing=None, gain=-4), "inverting")
    markdown = rationale(ideal).markdown
    assert "the op-amp is ideal, so there is nothing to state" in markdown
    assert "noninverting | - | - | - | rejected" in markdown
    assert "An inverting stage with a gain of -4 V/V" in markdown


def test_both_forms_stand_before_standard_parsers(paper):
    html5lib = pytest.importorskip("html5lib")
    html5lib.HTMLParser(strict=True).parse(paper.html)
    parser = MarkdownIt("commonmark").enable("table")
    parser.validateLink = lambda _: True  # an SVG inside an address is CommonMark, but not to every taste
    rendered = parser.render(paper.markdown)
    assert rendered.count("<table>") == len(paper.of_kind(Table)) + 1
    assert rendered.count("<img ") == len(paper.of_kind(Drawing))
    assert rendered.count("<h2>") == len(OUTLINE)
    assert rendered.count('href="#') == len(OUTLINE)


def test_words_of_the_design_are_not_changed(paper, design):
    assert all(sentence(step.rejected) in paper.markdown for step in design.steps)
