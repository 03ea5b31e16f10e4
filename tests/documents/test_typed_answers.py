"""What students type is read as they mean it, where they can mean only one thing."""

import pytest

from singlerail_nb.documents.typed_answers import plain_formula, read_answer
from singlerail_nb.errors import SingleRailError


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0,564 Hz", 0.564),
        ("f = 1/(2 pi R C) = 40.5 Hz", 40.5),
        ("1/(2*pi*47n*100k) ≈ 33,9 Hz", 33.9),
        ("~40 Hz", 40.0),
        ("ca. 40 Hz", 40.0),
        ("40", 40.0),
    ],
)
def test_an_answer_is_read_from_what_students_write(text, value):
    assert read_answer(text, "Hz") == (value, "")


@pytest.mark.parametrize(
    "text",
    [
        "1,234 Hz",
        "40 Hz =",
        "1.0,564 Hz",
        "40 Hz or 50 Hz",
        "40 Hz (or 50 Hz)",
        "28 to 40",
        "about a lot",
        "40 (Hz",
    ],
)
def test_what_could_mean_two_things_is_not_read(text):
    with pytest.raises(SingleRailError):
        read_answer(text, "Hz")


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("34.9 hz", "Hz", 34.9),
        ("3,49·10^1 Hz", "Hz", 34.9),
        ("3.49 x 10^(-2) kHz", "Hz", 34.9),
        ("34.9 ± 0.5 Hz", "Hz", 34.9),
        ("34.9 Hz ± 2 %", "Hz", 34.9),
        ("34,9 Hz (rounded)", "Hz", 34.9),
        ("34.9 (Hz)", "Hz", 34.9),
        ("34.9 Hz.", "Hz", 34.9),
        ("14.8 kOhm", "ohm", 14.8e3),
        ("19x", "V/V", 19.0),
        ("×19", "V/V", 19.0),
        ("-19 times", "V/V", -19.0),
        ("3.3 Vpp ± 0.1 V", "Vpp", 3.3),
        ("3.3 V peak to peak", "Vpp", 3.3),
        ("3.3 V(pp)", "Vpp", 3.3),
        ("1.65 Vp", "Vpp", 3.3),
    ],
)
def test_other_ways_of_writing_the_same_number(text, unit, value):
    found, missing = read_answer(text, unit)
    assert found == pytest.approx(value, rel=1e-12)
    assert missing == ""


def test_volts_without_peak_to_peak_are_read_with_a_remark():
    assert read_answer("3.3 V", "Vpp") == (3.3, "state Vpp, Vp or Vrms")


def test_a_prefix_is_never_guessed():
    assert read_answer("34.9 mHz", "Hz")[0] == pytest.approx(0.0349)


@pytest.mark.parametrize(
    ("text", "formula"),
    [
        ("f = 1/(2 pi R C) = 40 Hz", "1/(2 pi R C)"),
        ("1/(2 pi R C) = 40 Hz", "1/(2 pi R C)"),
        (
            r"$f_{in}=\frac{1}{2 \pi C_{\mathrm{in}} \left(R_{s} + R_{bias}\right)}$",
            "((1)/(2 pi C_in (R_s + R_bias )))",
        ),
        (r"\frac{1}{2\pi R_{s} C_{in}}", "((1)/(2 pi R_s C_in))"),
        (r"R_f \cdot C_g", "R_f * C_g"),
        ("R_f", "R_f"),
        ("=", "="),
    ],
)
def test_a_formula_is_found_in_what_students_type(text, formula):
    assert " ".join(plain_formula(text).split()) == formula
