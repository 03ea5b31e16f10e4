"""Engineering form and codes as they are written."""

import math

import numpy as np
import pytest

from singlerail_nb.errors import QuantityError, UnknownNameError
from singlerail_nb.quantities import write_code, write_quantity


def refusal(read, *args, **options):
    with pytest.raises(QuantityError) as caught:
        read(*args, **options)
    return caught.value


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (4700, "ohm", "4.7 kΩ"),
        (2.2e-6, "F", "2.2 µF"),
        (15.9155, "Hz", "15.92 Hz"),
        (-3.0103, "dB", "-3.01 dB"),
        (0, "ohm", "0 Ω"),
        (-0.0, "V", "0 V"),
        (999.94, "ohm", "999.9 Ω"),
        (999.95, "V", "1 kV"),
        (999.96, "ohm", "1 kΩ"),
        (0.99996e-6, "A", "1 µA"),
        (0.1, "ohm", "0.1 Ω"),
        (0.5, "Hz", "0.5 Hz"),
        (4.7e-3, "F", "4700 µF"),
        (1.0, "F", "1 F"),
        (1e-20, "F", "1e-20 F"),
        (0.1, "Vpp", "100 mVpp"),
        (-0.0015, "V", "-1.5 mV"),
        (0.05, "%", "5 %"),
        (0.5e6, "V/us", "0.5 V/µs"),
        (5e-9, "V/sqrt(Hz)", "5 nV/√Hz"),
        (11, "V/V", "11 V/V"),
        (11, "ratio", "11"),
        (-45.2, "deg", "-45.2°"),
        (25, "degC", "25 °C"),
        (np.float64(4700), "ohm", "4.7 kΩ"),
        (math.nan, "V", "not a number"),
        (math.inf, "Hz", "infinity"),
        (-math.inf, "dB", "minus infinity"),
    ],
)
def test_engineering_form(value, unit, text):
    assert write_quantity(value, unit) == text


@pytest.mark.parametrize(("digits", "text"), [(1, "10 kΩ"), (2, "9.9 kΩ"), (3, "9.88 kΩ"), (6, "9.8765 kΩ")])
def test_digits_are_significant_digits(digits, text):
    assert write_quantity(9876.5, "ohm", digits) == text


@pytest.mark.parametrize("digits", [0, 18])
def test_digits_out_of_range(digits):
    assert refusal(write_quantity, 1, "V", digits).allowed == "1 to 17"


def test_written_signs_are_micro_and_greek_omega():
    assert "\u00b5" in write_quantity(1e-6, "F")
    assert "\u03a9" in write_quantity(1, "ohm")
    assert "\u00b5" in write_code(1e-6, "F")


@pytest.mark.parametrize("value", [-1.0, math.nan, math.inf, 1e-19, 1e16])
def test_values_without_a_code(value):
    assert refusal(write_code, value, "ohm").quantity == "ohm"


def test_codes_are_for_resistances_and_capacitances():
    with pytest.raises(UnknownNameError, match="ohm or F"):
        write_code(1.0, "V")
