"""Cautions appear with the part or rail that causes them, and name what is outside the model."""

import pytest

from singlerail_nb.cautions import CAUTIONS, caution, cautions_for
from singlerail_nb.errors import UnknownNameError


def keys(**facts):
    return [found.key for found in cautions_for(**facts)]


def test_nothing_dangerous_needs_no_caution():
    assert keys(capacitors={"c_in": 220e-9, "r_f": 39e3}, highest_rail=5.25, supply="usb") == []


@pytest.mark.parametrize(
    ("facts", "expected"),
    [
        ({"capacitors": {"c_in": 1e-6}, "highest_rail": 9.6}, ["electrolytic_polarity"]),
        ({"reversed_capacitors": True}, ["electrolytic_polarity"]),
        (
            {"capacitors": {"c_bias": 100e-6}, "highest_rail": 29.0},
            ["electrolytic_polarity", "capacitor_energy"],
        ),
        ({"supply": "vehicle"}, ["vehicle_rail"]),
        ({"supply": "aircraft"}, ["aircraft_rail"]),
        ({"supply": "mains"}, ["mains_supply"]),
        ({"supply": "battery"}, []),
        ({"headphones": True}, ["hearing"]),
    ],
)
def test_each_caution_has_its_cause(facts, expected):
    assert keys(**facts) == expected


@pytest.mark.parametrize("kind", ["car", "Vehicle", "12 V"])
def test_an_unknown_supply_is_refused_and_not_passed_over(kind):
    with pytest.raises(UnknownNameError, match="battery, usb, vehicle, aircraft, mains"):
        cautions_for(supply=kind)


def test_energy_is_that_of_all_capacitors_at_the_highest_rail():
    """100 uF at 14 V hold 9.8 mJ, at 14.2 V 10.1 mJ; resistors hold nothing."""
    assert "capacitor_energy" not in keys(capacitors={"c_bias": 100e-6, "r_f": 1e6}, highest_rail=14.0)
    assert "capacitor_energy" in keys(capacitors={"c_bias": 50e-6, "c_out": 50e-6}, highest_rail=14.2)


def test_every_key_is_there_once_and_findable():
    assert len({found.key for found in CAUTIONS}) == len(CAUTIONS)
    assert all(caution(found.key) is found and found.when and found.title for found in CAUTIONS)
    with pytest.raises(UnknownNameError, match="hearing"):
        caution("earing")


def test_rails_name_their_standards_and_defer_to_local_rules():
    vehicle, aircraft, mains = (caution(k).text for k in ("vehicle_rail", "aircraft_rail", "mains_supply"))
    assert "ISO 16750-2" in vehicle
    assert "ISO 7637-2" in vehicle
    assert "MIL-STD-704" in aircraft
    for text in (vehicle, aircraft):
        assert "outside it" in text
    for text in (vehicle, aircraft, mains):
        assert "Local electrical codes" in text
        assert "licensed" in text


def test_cautions_show_themselves_as_blocks():
    found = cautions_for(supply="vehicle", headphones=True)
    blocks = found._repr_markdown_().split("\n\n")
    assert all(b.startswith(f"> ⚠ **{c.title}.** ") for b, c in zip(blocks, found, strict=True))
    assert all(one.text in block for block, one in zip(blocks, found, strict=True))
    assert repr(found).splitlines() == [f"Caution. {one.title}. {one.text}" for one in found]
    assert repr(cautions_for()) == ""
