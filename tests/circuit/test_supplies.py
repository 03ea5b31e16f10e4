"""The rails of the beehive monitor."""

import pytest

from singlerail_nb.cautions import cautions_for
from singlerail_nb.circuit.supplies import supplies, supply_rail
from singlerail_nb.errors import UnknownNameError


@pytest.mark.parametrize("name", supplies())
def test_a_rail_makes_sense(name):
    rail = supply_rail(name)
    assert 0 < rail.lowest < rail.nominal < rail.highest <= 60
    assert all(f > 0 and 0 < volts < rail.lowest for f, volts in rail.ripple.items())
    assert rail.rise_time > 0
    assert rail.range_source
    assert (rail.capacity > 0) == (rail.kind == "battery")


def test_the_four_rails_of_the_scenario_are_there():
    assert {"battery", "usb", "vehicle", "aircraft"} <= set(supplies())
    with pytest.raises(UnknownNameError, match="vehicle"):
        supply_rail("vehicel")


def test_ranges_from_published_sources():
    """ISO 16750-2:2010 table 1 code C; MIL-STD-704F 28 V; USB 2.0 (secondary); 6LR61 (secondary)."""
    ends = {name: (supply_rail(name).lowest, supply_rail(name).highest) for name in supplies()}
    assert ends["vehicle"] == (9.0, 16.0)
    assert ends["aircraft"] == (22.0, 29.0)
    assert ends["usb"] == (4.4, 5.25)
    assert ends["battery"] == (6.0, 9.6)


def test_dangerous_rails_bring_their_caution():
    found = {name: [c.key for c in cautions_for(supply=supply_rail(name).kind)] for name in supplies()}
    assert found["vehicle"] == ["vehicle_rail"]
    assert found["aircraft"] == ["aircraft_rail"]
    assert found["bench"] == ["mains_supply"]
    assert found["battery"] == found["usb"] == []
