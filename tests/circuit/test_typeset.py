"""Formulas and sentences as they are typeset."""

import pytest
import sympy

from singlerail_nb.circuit.typeset import latex, part_label, sentence


def test_words_in_subscripts_stand_upright():
    assert latex(sympy.Symbol("C_in")) == r"C_{\mathrm{in}}"
    assert latex(sympy.Symbol("R_f")) == "R_{f}"


@pytest.mark.parametrize(
    ("plain", "typeset"),
    [
        ("equal to R_A, E24", "equal to $R_{A}$, E24"),
        ("R_f/R_in alone", r"$R_{f}$/$R_{\mathrm{in}}$ alone"),
        ("the same pole f_p.", "the same pole $f_{p}$."),
        ("from plus to amp_out, r_source, c_in", "from plus to amp_out, r_source, c_in"),
        ("$R_{f}$ stays", "$R_{f}$ stays"),
    ],
)
def test_symbols_in_a_sentence_become_formulas(plain, typeset):
    assert sentence(plain) == typeset


@pytest.mark.parametrize(
    ("name", "label"),
    [
        ("r_f", r"$R_{\mathrm{f}}$"),
        ("r_source", r"$R_{\mathrm{s}}$"),
        ("c_in_2", r"$C_{\mathrm{in2}}$"),
        ("opamp voltage", "opamp voltage"),
    ],
)
def test_the_label_of_a_part_is_its_symbol(name, label):
    assert part_label(name) == label
