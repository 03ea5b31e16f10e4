"""A decision as a record: question, formula, numbers, choice, reason."""

import pytest

import singlerail_nb as sr
from singlerail_nb.designing.steps import Figure
from singlerail_nb.quantities import read_quantity

STEPS = [
    (topology, step)
    for topology, gain in (("noninverting", 14), ("inverting", -14), ("follower", 1))
    for step in sr.design(
        sr.Requirements("12 V", gain, "18k", "33 Hz", source_resistance="470R", load="6k8"), topology
    ).steps
]
EVERY_STEP = pytest.mark.parametrize("step", [s for _, s in STEPS], ids=[f"{t}-{s.part}" for t, s in STEPS])


@EVERY_STEP
def test_a_step_answers_a_question_with_a_reason(step):
    assert step.question.endswith("?")
    assert step.reason.endswith(".")
    assert step.rejected.endswith(".")
    assert step.source in {"common practice, no published source", "derived from the circuit"}


@EVERY_STEP
def test_the_line_of_text_carries_every_number(step):
    text = step.text
    assert text.startswith(f"{step.symbol} = {step.formula}")
    assert f"({step.rounding})" in text
    for symbol in step.formula.free_symbols:
        assert f"{symbol.name} = " in text
    exact, chosen = text.rpartition(": ")[2].rpartition(" (")[0].split(" -> ")
    assert read_quantity(exact, step.unit, name="exact") == pytest.approx(step.exact, rel=1e-3)
    assert read_quantity(chosen, step.unit, name="chosen") == pytest.approx(step.chosen, rel=1e-9)


@EVERY_STEP
def test_the_formula_is_typeset_with_symbols_and_with_numbers(step):
    left = step.formula_latex.partition(" = ")[0]
    assert step.substituted_latex.startswith(f"{left} = ")
    assert step.substituted_latex.count(" = ") == 2
    for symbol in step.formula.free_symbols:
        # No symbol is left in the line of numbers; units and pi are.
        assert f" {symbol.name} " not in step.substituted_latex
    assert r"\mathrm" in step.substituted_latex
    markdown = step._repr_markdown_()
    for piece in (step.question, step.formula_latex, step.substituted_latex, step.source):
        assert piece in markdown


@EVERY_STEP
def test_the_row_of_the_table_reads_back(step):
    symbol, value, code, exact, rounding, gives = step.row
    assert symbol.startswith("$")
    assert read_quantity(value, step.unit, name="value") == pytest.approx(step.chosen, rel=1e-9)
    assert read_quantity(code, step.unit, name="code", bare=True) == pytest.approx(step.chosen, rel=1e-9)
    assert read_quantity(exact, step.unit, name="exact") == pytest.approx(step.exact, rel=1e-3)
    assert rounding.endswith(step.rounding.rpartition(" ")[2])  # the name of the series
    assert gives.startswith(step.recomputed.name.partition(" ")[0])
    assert gives.endswith(str(step.recomputed).rpartition(" ")[2])  # the unit


def test_a_figure_tells_its_unit():
    assert str(Figure("divider current", 91e-6, "A")) == "divider current 91 µA"
