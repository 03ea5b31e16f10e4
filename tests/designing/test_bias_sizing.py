"""Bias sources sized by rule, and the ones that cannot work."""

import math

import pytest

import singlerail_nb as sr
from singlerail_nb.circuit.opamp_library import opamp
from singlerail_nb.designing.bias_sizing import (
    RailRange,
    buffered_divider_choice,
    divider_choice,
    filter_capacitor,
    filtered_divider_choice,
    isolation_resistor,
    require_reaches_mid_rail,
)
from singlerail_nb.designing.fixed_bias_sizing import (
    reference_choice,
    require_above_knee,
    with_filter,
    zener_choice,
    zener_resistor,
)
from singlerail_nb.errors import QuantityError, RequirementError

BATTERY = RailRange(6.0, 9.0, 9.6)
USB = RailRange(4.4, 5.0, 5.25)
HIVE = {
    "supply": 9, "r_source": "2k2", "c_in": "1u", "r_bias": "100k", "r_f": "22k", "r_g": "1k", "c_g": "22u",
    "bias": "divider", "r_top": "1k", "r_bottom": "1k",
}  # fmt: skip


@pytest.fixture(scope="module")
def hive():
    return sr.stage("noninverting", **HIVE)


def on(stage, choice):
    return stage.with_bias(choice.bias, **choice.values)


def test_a_divider_draws_what_it_may(hive):
    stage = on(hive, divider_choice(BATTERY, "50 uA"))
    assert stage.values["r_top"] == stage.values["r_bottom"] == 91e3
    assert 40e-6 < stage.divider_current() <= 50e-6


def test_the_filter_sits_a_tenth_below_the_cut_off(hive):
    """AN-581 and AN-937 (Analog Devices): bias pole at a tenth of the lowest signal corner."""
    choice = filtered_divider_choice(BATTERY, 20.0)
    corner = on(hive, choice).bias_filter().high_cutoff()
    assert 0.5 * 2.0 < corner <= 2.0
    value, reason = filter_capacitor(50e3, 20.0)
    assert value >= 1 / (2 * math.pi * 50e3 * 2.0)
    assert "20 Hz" in reason


def test_a_zener_gets_its_current_at_the_lowest_rail(hive):
    choice = with_filter(zener_choice(BATTERY, current="1 mA", load_current="0.2 mA"), 20.0)
    stage = on(hive, choice)
    # 4.7 V is the nearest to 4.5 V by ratio in E24: 4.3 V and 4.7 V.
    assert choice.values["zener"] == pytest.approx(4.7 - 5e-3 * 50)
    # What is left for the Zener after the load has taken its share:
    r_zener, r_dynamic = choice.values["r_zener"], choice.values["r_dynamic"]
    left = (6.0 - choice.values["zener"] - 0.2e-3 * r_zener) / (r_zener + r_dynamic)
    assert left == pytest.approx(1e-3, rel=0.06)
    assert left >= 1e-3
    assert {"r_filter", "c_bias"} <= set(stage.values)
    assert len(choice.reasons) == 3


def test_zener_above_the_lowest_rail():
    with pytest.raises(RequirementError, match="Zener below the lowest rail"):
        zener_choice(BATTERY, wanted=6.8)
    with pytest.raises(RequirementError, match="Zener below the lowest rail"):
        zener_resistor(5.0, 5.1, 1e-3)
    with pytest.raises(RequirementError, match="zener current"):
        zener_resistor(9.0, 5.1, 0.0)


def test_knee_current_not_reached_at_the_lowest_rail():
    values = {"zener": 4.45, "r_zener": 3.3e3, "r_dynamic": 50.0}
    assert require_above_knee(values, 9.0, 0.5e-3) == pytest.approx((9 - 4.45) / 3350)
    with pytest.raises(RequirementError, match=r"463 µA at a rail of 6 V.*knee current of 500 µA"):
        require_above_knee(values, 6.0, 0.5e-3)
    with pytest.raises(RequirementError, match="knee"):
        zener_choice(BATTERY, current="0.1 mA", knee_current="0.25 mA")


def test_a_follower_that_reaches_mid_rail():
    choice = buffered_divider_choice(USB, 20.0, opamp("PRC"), c_buffer="1u")
    assert choice.values["r_buffer"] == opamp("PRC").output_resistance
    assert choice.values["c_buffer"] == 1e-6


def test_a_follower_that_cannot_reach_mid_rail():
    """A JFET input that needs 3.5 V above ground does not work at the middle of 5 V."""
    with pytest.raises(RequirementError, match=r"mid-rail of 2\.2 V on a rail of 4\.4 V"):
        require_reaches_mid_rail(USB, opamp("JFT"))
    with pytest.raises(RequirementError, match="mid-rail"):
        buffered_divider_choice(RailRange(22, 28, 29), 20.0, opamp("PRC"))  # 5.5 V part on a 28 V rail


def test_isolation_keeps_a_follower_stable():
    """GBW 1 MHz, 300 ohm, 1 uF: 1.4 degrees bare; 47 ohm gives 45 and more (worked by hand)."""
    follower = sr.OpAmp("invented", gbw=1e6, output_resistance=300.0, source="invented")
    ohms, reason = isolation_resistor(follower, 1e-6)
    assert 0 < ohms <= 47
    assert "phase margin" in reason
    none, _ = isolation_resistor(follower, 1e-12)
    assert none == 0.0


def test_a_follower_no_resistor_can_save():
    slow = sr.OpAmp("invented", gbw=1e9, output_resistance=1e6, source="invented")
    with pytest.raises(RequirementError, match="at most 1 kohm"):
        isolation_resistor(slow, 100e-12)


def test_a_reference_with_room_above_it(hive):
    choice = with_filter(reference_choice(USB, "2.5 V"), 20.0)
    assert on(hive, choice).bias == "reference"
    assert reference_choice(USB, 2.5, sinks=False).bias == "source_only_reference"
    with pytest.raises(RequirementError, match=r"4.396 V or more"):
        reference_choice(RailRange(4.3, 5.0, 5.25), 4.096)


def test_a_reference_that_must_sink_and_cannot():
    with pytest.raises(RequirementError, match=r"3\.4 mA to be sunk by a source-only reference"):
        reference_choice(USB, 2.5, sinks=False, sink_current="3.4 mA")
    assert reference_choice(USB, 2.5, sinks=True, sink_current="3.4 mA").bias == "reference"


def test_senseless_values_are_refused():
    with pytest.raises(RequirementError, match="lowest <= nominal <= highest"):
        RailRange(9.0, 6.0, 5.0)
    with pytest.raises(QuantityError):
        divider_choice(USB, "0 A")
    with pytest.raises(QuantityError):
        filter_capacitor(50e3, 0.0)
