"""Values of resistors and capacitors: the implausible ones are asked about."""

import math

import pytest

from singlerail_nb.errors import QuantityError, UnknownNameError
from singlerail_nb.quantities import read_part


def refusal(read, *args, **options):
    with pytest.raises(QuantityError) as caught:
        read(*args, **options)
    return caught.value


@pytest.mark.parametrize(
    ("name", "value", "si"),
    [
        ("r_bias", "47k", 47e3),
        ("r_bias", "220", 220.0),
        ("r_bias", 0.1, 0.1),
        ("r_bias", "1G", 1e9),
        ("r_source", 0, 0.0),
        ("r_source", "0", 0.0),
        ("r_source", "0 ohm", 0.0),
        ("r_source", "600", 600.0),
        ("c_in", "220n", 220e-9),
        ("c_bias", "4700 uF", 4.7e-3),
        ("c_in", 10e-3, 10e-3),
        ("c_f", "1p", 1e-12),
    ],
)
def test_part_values(name, value, si):
    assert read_part(name, value) == si


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("r_f", "47m", '47 MΩ = "47M"'),
        ("r_f", "47 mohm", '47 MΩ = "47M"'),
        ("r_f", "4m7", '4.7 MΩ = "4M7"'),
        ("r_f", "470 mohm", '470 MΩ = "470M" or 0.47 Ω = "R47"'),
        ("r_f", "0.01 ohm", '10 Ω = "10R"'),
        ("r_f", 4.7e9, '4.7 MΩ = "4M7"'),
        ("r_f", 0, "positive"),
        ("r_f", -100.0, "positive"),
        ("r_f", 1e30, "exponent"),
        ("c_in", "4.7 mF", '4.7 µF = "4µ7" or 4700 µF = "4700µ"'),
        ("c_in", "4m7", '4.7 µF = "4µ7"'),
        ("c_in", "47m", '47 µF = "47µ"?'),
        ("c_in", 220, '220 µF = "220µ"'),
        ("c_in", "0.1 pF", '100 pF = "100p"'),
        ("c_in", "-1 mF", "milli"),
        ("c_in", "0 uF", "positive"),
        ("c_in", "220", '220 µF = "220µ" or 220 nF = "220n"'),
    ],
)
def test_implausible_parts_are_asked_about(name, value, words):
    error = refusal(read_part, name, value)
    assert error.quantity == name
    assert words in error.remedy


def test_part_ranges_are_named():
    assert "from 0.1 Ω to 1 GΩ" in refusal(read_part, "r_f", 0).allowed
    assert "from 1 pF to 10000 µF" in refusal(read_part, "c_in", 0).allowed
    assert refusal(read_part, "r_source", -1).allowed.startswith("0 or ")


def test_zero_ohms_can_be_allowed_and_forbidden():
    assert read_part("r_f", 0, zero=True) == 0.0
    assert "positive" in refusal(read_part, "r_source", 0, zero=False).remedy


def test_minus_zero_is_zero():
    assert math.copysign(1, read_part("r_source", -0.0)) == 1.0


@pytest.mark.parametrize("name", ["opamp", "R1", "", "l_choke"])
def test_kind_follows_from_the_name(name):
    with pytest.raises(UnknownNameError, match="r_"):
        read_part(name, 1.0)


@pytest.mark.parametrize(
    ("name", "value", "offered"),
    [
        ("c_in", 0.010000000000000004, '10 µF = "10µ"'),
        ("c_in", 0.0100000001, '10.0000001 µF = "10µ0000001"'),
        ("r_f", math.nextafter(1e9, math.inf), '1 MΩ = "1M"'),
    ],
)  # fmt: skip
def test_an_offer_has_no_digits_of_rounding(name, value, offered):
    assert f"did you mean {offered}?" in refusal(read_part, name, value).remedy
