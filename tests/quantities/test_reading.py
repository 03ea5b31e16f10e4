"""Text and numbers read as SI values: what is read, what is refused and with which words."""

import decimal
import fractions
import math
from decimal import Decimal

import numpy as np
import pytest

from singlerail_nb.errors import QuantityError, UnknownNameError
from singlerail_nb.quantities import read_gain, read_quantity, write_code, write_quantity
from singlerail_nb.quantities.units import UNITS


def refusal(read, *args, **options):
    with pytest.raises(QuantityError) as caught:
        read(*args, **options)
    return caught.value


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("4.7 kohm", "ohm", 4700.0),
        ("47 kΩ", "ohm", 47e3),  # U+03A9, the Greek letter
        ("47 k\u2126", "ohm", 47e3),  # the ohm sign
        ("47 KOhms", "ohm", 47e3),
        ("4.7 k ohm", "ohm", 4700.0),
        (".5 ohm", "ohm", 0.5),
        ("1 Tohm", "ohm", 1e12),
        ("4.7 uF", "F", 4.7e-6),
        ("4.7 \u00b5F", "F", 4.7e-6),  # the micro sign
        ("4.7 \u03bcF", "F", 4.7e-6),  # the Greek letter
        ("4.7e-6 F", "F", 4.7e-6),
        ("4.7E\u22126 F", "F", 4.7e-6),
        ("4.7 mF", "F", 4.7e-3),
        ("10\u00a0nF", "F", 10e-9),
        ("10\u202fnF", "F", 10e-9),
        (" 9 V\n", "V", 9.0),
        ("-4.5V", "V", -4.5),
        ("+4.5 V", "V", 4.5),
        ("100 mVpp", "Vpp", 0.1),
        ("1 V pp", "Vpp", 1.0),
        ("50 mVp", "Vp", 0.05),
        ("35 mVrms", "Vrms", 0.035),
        ("-3 dB", "dB", -3.0),
        ("\u22123 dB", "dB", -3.0),
        ("20 kHz", "Hz", 20e3),
        ("20 KHz", "Hz", 20e3),
        ("1 mHz", "Hz", 1e-3),
        ("1 MHz", "Hz", 1e6),
        ("5%", "%", 0.05),
        ("0.1 %", "%", 0.001),
        ("25 °C", "degC", 25.0),
        ("-40 degC", "degC", -40.0),
        ("45 deg", "deg", 45.0),
        ("0.5 V/us", "V/us", 0.5e6),
        ("500 mV/\u03bcs", "V/us", 0.5e6),
        ("100 V/mV", "V/V", 100e3),
        ("30 \u00b5V/V", "V/V", 30e-6),
        ("0.1", "ratio", 0.1),
        ("5 nV/sqrt(Hz)", "V/sqrt(Hz)", 5e-9),
        ("0.6 fA/\u221aHz", "A/sqrt(Hz)", 0.6e-15),
    ],
)
def test_text_with_unit(text, unit, value):
    read = read_quantity(text, unit, name="x")
    assert read == value
    assert type(read) is float


def test_every_unit_reads_its_own_example():
    for name, unit in UNITS.items():
        assert math.isfinite(read_quantity(unit.example, name, name="x"))


@pytest.mark.parametrize(
    "number",
    [
        4700,
        4700.0,
        np.float64(4700),
        np.float32(4700),
        np.int16(4700),
        Decimal(4700),
        fractions.Fraction(4700),
    ],
)
def test_numbers_are_si(number):
    read = read_quantity(number, "ohm", name="r")
    assert read == 4700.0
    assert type(read) is float


def test_reading_does_not_follow_the_decimal_context():
    with decimal.localcontext(prec=2):
        assert read_quantity("4k7123", "ohm", name="r") == 4712.3
        assert write_code(4712.3, "ohm") == "4k7123"
        assert write_quantity(4712.3, "ohm", 5) == "4.7123 kΩ"


@pytest.mark.parametrize(
    ("text", "unit", "words"),
    [
        ("4,7k", "ohm", ["comma", '"4.7k" or "4k7"']),
        ("4,7 uF", "F", ['"4.7 uF" or "4µ7"']),
        ("4,700 ohm", "ohm", ['"4.700 Ω" or "4700 Ω"']),
        ("9,6 V", "V", ['"9.6 V"']),
        ("4,7", "ohm", ["comma", "unit is missing"]),
        ("4.7", "ohm", ["unit is missing", '4.7 Ω = "4R7" or 4.7 kΩ = "4k7"']),
        ("220", "ohm", ["unit is missing", '"220R"', '"220k"']),
        ("4.7", "F", ["unit is missing", '4.7 µF = "4µ7" or 4.7 nF = "4n7"']),
        ("9", "V", ["unit is missing", '"9 V"']),
        ("5", "%", ["unit is missing", '"5%"']),
        ("1e3", "ohm", ["unit is missing", '"1e3 Ω"']),
        ("60", "Hz", ["unit is missing", '"60 Hz"']),
        ("10k", "Hz", ["unit is missing", '"10 kHz"']),
        ("3m", "s", ["unit is missing", '"3 ms"']),
        ("47 nF", "ohm", ["a capacitance (F)", "a resistance (Ω) is wanted"]),
        ("4k7", "F", ["a resistance (Ω)", "a capacitance (F) is wanted"]),
        ("1 V", "Vpp", ["a voltage (V)", "a peak-to-peak voltage (Vpp) is wanted"]),
        ("1 Vpp", "Vrms", ["a peak-to-peak voltage (Vpp)", "an rms voltage (Vrms) is wanted"]),
        ("20 mhz", "Hz", ['"20 mHz" or "20 MHz"']),
        ("10 uf", "F", ['"10 uF"']),
        ("470r", "ohm", ['"470R"']),
        ("4k7J", "ohm", ["tolerance letter", '"4k7"']),
        ("100nK", "F", ["tolerance letter", '"100n"']),
        ("10 000 ohm", "ohm", ["without spaces", '"10000 Ω"']),
        ("", "V", ["empty", '"9 V"']),
        ("\u202f", "V", ["empty"]),
        ("4x7", "ohm", ['"4k7"']),
        ("4k7k", "ohm", ['"4k7"']),
        ("four", "ohm", ['"4k7"']),
        ("nan", "V", ['"9 V"']),
        ("inf V", "V", ['"9 V"']),
        ("1e999 V", "V", ["finite"]),
        ("\uff15 V", "V", ['"9 V"']),  # a full-width digit
        ("1_000 V", "V", ['"9 V"']),
        ("__import__('os')", "V", ['"9 V"']),
    ],
)
def test_refused_text_is_told_the_way_out(text, unit, words):
    error = refusal(read_quantity, text, unit, name="x")
    assert error.quantity == "x"
    assert error.value == (text if text.strip() else repr(text))
    assert UNITS[unit].example in error.allowed
    for word in words:
        assert word in error.remedy


@pytest.mark.parametrize("value", [None, True, np.True_, b"4k7", [4700], np.array([1.0, 2.0]), 1 + 2j])
def test_other_kinds_of_values_are_refused(value):
    assert "a text such as" in refusal(read_quantity, value, "ohm", name="x").remedy


@pytest.mark.parametrize(
    "value", [math.nan, math.inf, -math.inf, np.float64("nan"), 10**400, Decimal("sNaN")]
)
def test_numbers_that_are_not_finite_are_refused(value):
    assert "finite" in refusal(read_quantity, value, "V", name="x").remedy


def test_long_text_is_refused_unread_and_shown_short():
    error = refusal(read_quantity, "9" * 65 + " V", "V", name="x")
    assert "64 characters" in error.remedy
    assert len(str(error)) < 200
    assert read_quantity("0" * 61 + "9 V", "V", name="x") == 9.0


def test_range_is_named_in_the_unit():
    error = refusal(read_quantity, "30 V", "V", name="supply", low=2.7, high=18)
    assert (error.quantity, error.value) == ("supply", "30 V")
    assert "from 2.7 V to 18 V" in error.allowed
    assert "of at least 2.7 V" in refusal(read_quantity, 1, "V", name="supply", low=2.7).allowed
    assert "of at most 18 V" in refusal(read_quantity, "19 V", "V", name="supply", high=18).allowed


def test_a_plain_number_out_of_range_is_told_what_it_means():
    volts = refusal(read_quantity, 12, "V", name="sag", low=0, high=9)
    assert volts.remedy == "Give a value in that range. A plain number is in SI units (V)."
    share = refusal(read_quantity, 5, "%", name="tolerance", low=0, high=0.5)
    assert share.remedy == "Give a value in that range. A plain number is a ratio: 0.05 is 5 %."


def test_range_includes_its_ends():
    assert read_quantity("2.7 V", "V", name="supply", low=2.7, high=18) == 2.7
    assert read_quantity(18, "V", name="supply", low=2.7, high=18) == 18.0


@pytest.mark.parametrize("unit", [name for name, unit in UNITS.items() if not unit.signed])
def test_what_cannot_be_negative_starts_at_zero(unit):
    assert "of at least 0" in refusal(read_quantity, -1, unit, name="x").allowed
    assert read_quantity(-1, unit, name="x", low=-2) == -1.0


def test_whole_ohms_as_printed_in_drawings():
    assert read_quantity("220", "ohm", name="r", bare=True) == 220.0
    assert '"4R7"' in refusal(read_quantity, "4.7", "ohm", name="r", bare=True).remedy
    assert "unit is missing" in refusal(read_quantity, "220", "V", name="v", bare=True).remedy
    assert "unit is missing" in refusal(read_quantity, "220", "ohm", name="r").remedy


def test_unknown_unit_lists_the_table():
    for call in (lambda: read_quantity(1, "volt", name="x"), lambda: write_quantity(1, "volt")):
        with pytest.raises(UnknownNameError, match="ohm, F, H, Hz"):
            call()


@pytest.mark.parametrize(
    ("value", "ratio"),
    [
        (11, 11.0),
        ("11", 11.0),
        ("11 V/V", 11.0),
        ("-11", -11.0),
        (-2.5, -2.5),
        ("20 dB", 10.0),
        ("0 dB", 1.0),
        ("-20 dB", 0.1),
        ("100 V/mV", 1e5),
    ],
)
def test_gains(value, ratio):
    assert read_gain(value, name="gain") == pytest.approx(ratio, rel=1e-15)


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (0, "zero"),
        ("0", "zero"),
        ("11,5", '"11.5"'),
        ("11 V", "a voltage (V)"),
        ("eleven", '"11"'),
        ("", "empty"),
        (None, "number"),
        (math.inf, "finite"),
        (math.nan, "finite"),
        ("7000 dB", "number"),
        ("-7000 dB", "number"),
        ("1e999 dB", "number"),
        ("1" * 70 + " dB", "64 characters"),
    ],
)
def test_refused_gains(value, words):
    error = refusal(read_gain, value, name="gain")
    assert error.quantity == "gain"
    assert words in error.remedy
