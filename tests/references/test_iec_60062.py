"""Codes for resistance and capacitance values against the examples of the standard.

Source: IEC 60062, Marking codes for resistors and capacitors. The examples were read in copies of
encyclopedia articles on the standard, not in the standard itself; the micro codes are from memory.
"""

import pytest

from singlerail_nb.quantities import read_quantity, write_code

RESISTANCES = {
    "R47": 0.47,
    "4R7": 4.7,
    "470R": 470.0,
    "4K7": 4.7e3,
    "47K": 47e3,
    "47K3": 47.3e3,
    "470K": 470e3,
    "4M7": 4.7e6,
    "R10": 0.1,
    "1K0": 1e3,
    "2M2": 2.2e6,
}
CAPACITANCES = {"4n7": 4.7e-9, "10p": 10e-12, "1u0": 1e-6}
FROM_MEMORY = {"2u2": 2.2e-6, "2\u00b52": 2.2e-6, "2\u03bc2": 2.2e-6}
MULTIPLIERS = {"R": 1.0, "K": 1e3, "M": 1e6, "G": 1e9}


@pytest.mark.parametrize(("code", "ohms"), RESISTANCES.items())
def test_resistances(code, ohms):
    assert read_quantity(code, "ohm", name="r") == ohms


@pytest.mark.parametrize(("code", "farads"), (CAPACITANCES | FROM_MEMORY).items())
def test_capacitances(code, farads):
    assert read_quantity(code, "F", name="c") == farads


@pytest.mark.parametrize(("letter", "factor"), MULTIPLIERS.items())
def test_multiplier_letters(letter, factor):
    assert read_quantity(f"10{letter}", "ohm", name="r") == 10 * factor


@pytest.mark.parametrize(
    ("value", "unit", "code"),
    [
        (0.47, "ohm", "R47"),
        (4.7, "ohm", "4R7"),
        (220.0, "ohm", "220R"),
        (4.7e3, "ohm", "4k7"),
        (47.3e3, "ohm", "47k3"),
        (4.7e6, "ohm", "4M7"),
        (1e9, "ohm", "1G"),
        (0.047, "ohm", "R047"),
        (0.0, "ohm", "0R"),
        (4.7e-9, "F", "4n7"),
        (10e-12, "F", "10p"),
        (100e-9, "F", "100n"),
        (2.2e-6, "F", "2µ2"),
        (4.7e-3, "F", "4700µ"),  # no milli: it is refused on parts
        (0.47e-12, "F", "p47"),
    ],
)
def test_codes_written(value, unit, code):
    assert write_code(value, unit) == code
