"""What is written reads back as the same value, and no text does anything else than the one error."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from singlerail_nb.designing.preferred_values import SERIES
from singlerail_nb.errors import QuantityError
from singlerail_nb.quantities import read_gain, read_part, read_quantity, write_code, write_quantity
from singlerail_nb.quantities.units import UNITS

part_values = st.builds(
    lambda figure, power: float(f"{figure}e{power}"), st.sampled_from(SERIES["E192"]), st.integers(-3, 6)
)
codes = st.text("0123456789.,+-−eE RkKMGpnuµμmFΩVHzdB%JΩohm\u202f", max_size=12)


@given(part_values, st.sampled_from(["ohm", "F"]))
def test_code_reads_back_as_the_same_float(value, unit):
    assert read_quantity(write_code(value, unit), unit, name="x") == value


@given(part_values)
def test_plausible_parts_read_back_from_both_forms(value):
    if value < 0.1:
        value *= 1e3
    assert read_part("r_f", write_code(value, "ohm")) == value
    assert read_part("r_f", write_quantity(value, "ohm", 17)) == value
    farads = value * 1e-12 if value < 1e9 else 1e-3
    assert read_part("c_in", write_code(max(farads, 1e-12), "F")) == max(farads, 1e-12)


@given(st.floats(1e-18, 1e15), st.sampled_from(["ohm", "F"]))
def test_code_never_loses_a_digit(value, unit):
    assert read_quantity(write_code(value, unit), unit, name="x") == value


@given(st.floats(-1e30, 1e30, allow_subnormal=False), st.sampled_from(sorted(UNITS)))
def test_engineering_form_reads_back(value, unit):
    value = value if UNITS[unit].signed else abs(value)
    assert read_quantity(write_quantity(value, unit, 17), unit, name="x") == pytest.approx(
        value, rel=1e-15, abs=0
    )


@given(st.floats(1e-14, 1e14), st.integers(1, 6))
def test_engineering_form_keeps_the_value_to_its_digits(value, digits):
    read = read_quantity(write_quantity(value, "A", digits), "A", name="x")
    assert read == pytest.approx(value, rel=0.5001 * 10 ** (1 - digits), abs=0)


def outcome(call):
    try:
        return call()
    except QuantityError as error:
        return error


@given(st.text() | codes, st.sampled_from(sorted(UNITS)), st.booleans())
def test_any_text_gives_a_float_or_the_one_error(text, unit, bare):
    outcomes = (
        outcome(lambda: read_quantity(text, unit, name="x", bare=bare)),
        outcome(lambda: read_part("r_f", text)),
        outcome(lambda: read_part("c_in", text)),
        outcome(lambda: read_gain(text, name="gain")),
    )
    for result in outcomes:
        if isinstance(result, QuantityError):
            assert result.remedy.endswith((".", "?"))
            assert len(str(result)) < 700
        else:
            assert type(result) is float
            assert math.isfinite(result)
