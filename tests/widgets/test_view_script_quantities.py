"""The browser reads and writes quantities as Python does: one table of cases, made by Python."""

import math

import pytest

from singlerail_nb.designing.preferred_values import series, values_between
from singlerail_nb.errors import QuantityError
from singlerail_nb.quantities import read_part, write_quantity
from tests.widgets.view_script import run

PART_TEXTS = (
    "4k7", "4K7", "47k", "220", "220R", "R47", "1M", "2M2", "0R22", "47 kohm", "47 kΩ", "47 k\u2126",
    "4.7 k ohm", "1e3 ohm",
    "4.7", "4,7k", "", "  ", "k47k", "4k7k", "-5k", "47 F", "ten",
    "12 mohm", "1e999 ohm", "4k7\u00a0", "10kHz",
    "2µ2", "2\u03bc2", "2u2", "100n", "100 nF", "4.7 uF", "4p7", "0.1 µF", "470 pF", "47mF", "1 F",
    "n47", "33", "1e-6 F", "10UF",
)  # fmt: skip
NUMBERS = (
    4700.0,
    1e-7,
    2.2e-6,
    999.96,
    15.918,
    0.4699,
    1e6,
    123456.0,
    0.0,
    3.3e9,
    -3.0103,
    47e-12,
    0.05,
    1e-18,
)
UNITS = ("ohm", "F", "Hz", "dB", "V", "s", "deg", "V/V", "A")


def read_or_none(part, text):
    try:
        return read_part(part, text)
    except QuantityError:
        return None


@pytest.mark.parametrize(
    ("part", "unit", "low", "high"), [("r_f", "ohm", 0.1, 1e9), ("c_in", "F", 1e-12, 1e-2)]
)
def test_reading(node, tmp_path, part, unit, low, high):
    expected = [read_or_none(part, text) for text in PART_TEXTS]
    told = run(
        node,
        tmp_path,
        "return data.map(([text, unit]) => view.parseQuantity(text, unit));",
        [(t, unit) for t in PART_TEXTS],
    )
    for text, own, browser in zip(PART_TEXTS, expected, told, strict=True):
        plausible = "value" in browser and low <= browser["value"] <= high
        assert (browser["value"] if plausible else None) == own, text
    assert sum(value is not None for value in expected) >= 10


def test_a_refusal_says_what_to_write(node, tmp_path):
    told = run(
        node,
        tmp_path,
        "return data.map((text) => view.parseQuantity(text, 'ohm').error);",
        ["4,7k", "4.7", "", "abc", "5m"],
    )
    assert [
        word in error for word, error in zip(("point", "unit", "4k7", "4k7", "milli"), told, strict=True)
    ] == [True] * 5


@pytest.mark.parametrize("digits", [3, 4, 6])
def test_writing(node, tmp_path, digits):
    cases = [(number, unit, digits) for number in NUMBERS for unit in UNITS]
    told = run(node, tmp_path, "return data.map((c) => view.formatQuantity(...c));", cases)
    assert [text.replace("−", "-") for text in told] == [write_quantity(*case) for case in cases]


def test_what_does_not_exist_is_said(node, tmp_path):
    assert run(node, tmp_path, "return [null, Infinity].map((x) => view.formatQuantity(x, 'Hz'));", 0) == [
        "none",
        "unlimited",
    ]


def test_spoken_form(node, tmp_path):
    told = run(
        node, tmp_path, "return [view.speakQuantity(4700, 'ohm'), view.speakQuantity(2.2e-7, 'F')];", 0
    )
    assert told == ["4.7 kilo-ohm", "220 nano-farad"]


@pytest.mark.parametrize(("part", "unit"), [("r_f", "ohm"), ("c_in", "F")])
def test_code_reads_back_to_the_same_number(node, tmp_path, part, unit):
    numbers = [
        x for x in (*NUMBERS, 4700.1234567, math.pi * 1e3, math.pi * 1e-6, 1e-9) if read_or_none(part, x)
    ]
    told = run(
        node,
        tmp_path,
        "return data.map(([x, unit]) => view.codeQuantity(x, unit));",
        [(x, unit) for x in numbers],
    )
    for number, text in zip(numbers, told, strict=True):
        given = text.strip('"') if text.startswith('"') else float(text)
        assert read_part(part, given) == number


@pytest.mark.parametrize("name", ["E3", "E12", "E24", "E96"])
def test_preferred_values_are_those_of_python(node, tmp_path, name):
    grid = {"mantissas": series(name), "min": 3.3e-9, "max": 4.7e5}
    assert run(node, tmp_path, "return view.preferredValues(data);", grid) == list(
        values_between(3.3e-9, 4.7e5, name)
    )
