"""All bias sources on one stage: the table, the problems and the recommendation."""

import math
from dataclasses import replace

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.noise import noise
from singlerail_nb.circuit.opamp_library import opamp
from singlerail_nb.circuit.supplies import supply_rail
from singlerail_nb.designing.bias_comparison import bias_comparison
from singlerail_nb.designing.bias_conditions import BiasConditions
from singlerail_nb.designing.bias_problems import bias_problems
from singlerail_nb.designing.bias_recommendation import BiasLimits, recommend
from singlerail_nb.designing.bias_sizing import BiasChoice, RailRange
from singlerail_nb.designing.bias_table import spoken
from singlerail_nb.errors import QuantityError, RequirementError, UnknownNameError

BATTERY = RailRange(6.0, 9.0, 9.6)
HIVE = {
    "supply": 9, "r_source": "2k2", "c_in": "1u", "r_bias": "100k", "r_f": "22k", "r_g": "1k", "c_g": "22u",
    "c_out": "10u", "r_load": "10k", "r_top": "100k", "r_bottom": "100k", "c_bias": "10u",
}  # fmt: skip
CONDITIONS = BiasConditions(BATTERY, lines=(100.0, 100e3), capacity=0.5)
NAMES = {"divider", "filtered_divider", "zener", "filtered_zener", "buffered_divider", "reference"}


@pytest.fixture(scope="module")
def hive():
    return sr.stage("noninverting", opamp=opamp("GPB"), **HIVE)


@pytest.fixture(scope="module")
def table(hive):
    return bias_comparison(hive, CONDITIONS)


def test_every_usual_bias_source_is_there(table):
    assert {row.name for row in table.rows} == NAMES
    assert table.impossible == {}
    with pytest.raises(UnknownNameError, match="divider"):
        table.row("dividerr")


def test_rows_agree_with_the_analyses_one_by_one(table):
    for row in table.rows:
        assert row.volts == pytest.approx(sr.operating_point(row.stage).voltage("bias"), rel=1e-9)
        assert row.impedance[0] == pytest.approx(abs(row.stage.node_impedance("bias")(0.0)))
        assert row.tracking == pytest.approx(row.stage.transfer("supply", "bias")(0.0).real)
        assert len(row.rejection_db) == len(row.open_rejection_db) == 2
        assert row.error[0] < 0 < row.error[1]


def test_a_divider_follows_the_rail_and_a_reference_does_not(table):
    tracking = {row.name: row.tracking for row in table.rows}
    assert tracking["divider"] == pytest.approx(0.5)
    assert tracking["reference"] == 0.0
    assert 0 < tracking["zener"] < 0.06


def test_the_filter_pays_at_100_hz_and_costs_time(table):
    plain, filtered = table.row("divider"), table.row("filtered_divider")
    assert filtered.rejection_db[0] > plain.rejection_db[0] + 30
    assert filtered.wake_up > plain.wake_up
    # Far above, the op-amp's own rejection decides, whatever the bias.
    at_100k = [row.rejection_db[1] for row in table.rows]
    assert max(at_100k) - min(at_100k) < 0.5


def test_an_open_jack_amplifies_the_ripple_of_a_plain_divider(table):
    assert table.row("divider").open_rejection_db[0] == pytest.approx(-20 * math.log10(23 / 2), abs=0.1)


def test_current_life_and_parts(table):
    row = table.row("filtered_divider")
    assert row.current == pytest.approx(9.0 / (2 * row.stage.values["r_top"]))
    assert row.battery_life == pytest.approx(0.5 / row.current)
    assert {r.name: r.parts for r in table.rows} == {
        "divider": 2, "filtered_divider": 3, "zener": 2, "filtered_zener": 4, "buffered_divider": 4,
        "reference": 1,
    }  # fmt: skip
    follower = table.row("buffered_divider")
    assert follower.current == pytest.approx(
        follower.stage.divider_current() + opamp("GPB").quiescent_current
    )


def test_life_counts_everything_that_draws(hive):
    more = bias_comparison(hive, replace(CONDITIONS, other_current=1e-3), {"r": plain_choice()})
    assert more.rows[0].battery_life == pytest.approx(0.5 / (1e-3 + more.rows[0].current))
    endless = bias_comparison(hive, replace(CONDITIONS, capacity=0.0), {"r": plain_choice()})
    assert endless.rows[0].battery_life == math.inf


def plain_choice():
    return BiasChoice("divider", {"r_top": 91e3, "r_bottom": 91e3}, ())


def test_error_of_a_divider_by_hand(hive):
    """1 % resistors: 9 V x 1.01/(1.01 + 0.99) is 45 mV off; 200 nA in 45.5k are 9.1 mV more."""
    row = bias_comparison(hive, CONDITIONS, {"plain": plain_choice()}).row("plain")
    assert row.error == pytest.approx((-0.045 - 0.0091, 0.045 + 0.0091), rel=2e-3)


def test_noise_of_the_bias_is_its_share_of_the_whole(table):
    row = table.row("divider")
    by_source = noise(row.stage).rms_by_source(20.0, 20e3, "output")
    assert row.noise == pytest.approx(math.hypot(by_source["r_top"], by_source["r_bottom"]), rel=1e-9)
    assert table.row("filtered_divider").noise < 0.05 * row.noise


def test_a_stated_reference_noise_reaches_the_output(hive):
    """White noise at the bias node, shaped by the transfer from the reference to the output."""
    f = np.geomspace(20.0, 20e3, 4001)
    quiet = bias_comparison(hive, replace(CONDITIONS, reference_noise=0.0))
    loud = bias_comparison(hive, replace(CONDITIONS, reference_noise=1e-6))
    stage = loud.row("reference").stage
    expected = math.sqrt(np.trapezoid((1e-6 * np.abs(stage.transfer("reference", "output")(f))) ** 2, f))
    assert loud.row("reference").noise == pytest.approx(expected, rel=1e-3)
    assert quiet.row("reference").noise < 1e-3 * expected


def test_a_fixed_bias_meets_a_sagging_battery(table):
    """At 6 V the amplifier reaches 4.4 V only; a Zener bias of 4.5 V is past that."""
    assert any("At a rail of 6 V the idle output" in problem for problem in table.row("zener").problems)
    assert table.row("filtered_divider").problems == ()


def test_problems_are_found_wherever_the_rail_goes(hive):
    zener = hive.with_bias("zener", zener=4.45, r_zener="10k", r_dynamic=50)
    found = bias_problems(zener, BATTERY, knee_current=0.5e-3)
    assert any("knee current" in problem for problem in found)
    found = bias_problems(hive.with_bias("zener", zener=6.5, r_zener="1k", r_dynamic=50), BATTERY)
    assert any("cannot work at or above the rail" in problem for problem in found)
    low = hive.with_bias("reference", reference=5.9, r_reference=1)
    assert any("less than its dropout" in problem for problem in bias_problems(low, BATTERY))
    source_only = hive.with_bias("source_only_reference", reference=2.5, r_reference=1)
    assert bias_problems(source_only, BATTERY) == ()
    found = bias_problems(source_only, BATTERY, sink_current=1e-3)
    assert any("would have to sink 1 mA" in problem for problem in found)
    jfet = sr.stage("noninverting", opamp=opamp("JFT"), bias="buffered_divider", **HIVE)
    assert any("mid-rail" in problem for problem in bias_problems(jfet, BATTERY))


def test_what_cannot_be_sized_is_listed_with_its_reason():
    usb = replace(CONDITIONS, rail=RailRange(1.8, 3.0, 3.2))
    table = bias_comparison(sr.stage("noninverting", **HIVE), replace(usb, low=0.02, high=0.02))
    assert {"zener", "filtered_zener"} <= set(table.impossible)
    assert "Zener below the lowest rail" in table.impossible["zener"]


def test_recommendation_takes_the_fewest_parts_that_keep_the_limits(table):
    limits = BiasLimits(rejection_db={100.0: 40.0}, follows_rail=True)
    chosen = recommend(table, limits)
    assert chosen.row.name == "filtered_divider"
    assert "3 parts" in chosen.reason
    assert set(chosen.rejected) == NAMES - {"filtered_divider"}
    assert "Rejects 13.6 dB at 100 Hz" in chosen.rejected["divider"]
    assert "stays where it is" in chosen.rejected["reference"]
    assert "4 parts instead of 3" in chosen.rejected["buffered_divider"]


@pytest.mark.parametrize(
    ("limits", "name"),
    [
        ({}, "reference"),
        ({"noise": 1e-6, "follows_rail": True}, "filtered_divider"),
        ({"impedance": 10.0, "follows_rail": True}, "buffered_divider"),
        ({"current": 60e-6}, "divider"),
        ({"open_rejection_db": {100.0: 30.0}}, "reference"),
        ({"wake_up": 0.7}, "reference"),
        ({"current": "60 uA", "wake_up": "3 s"}, "divider"),
    ],
)
def test_each_limit_decides(table, limits, name):
    assert recommend(table, BiasLimits(**limits)).row.name == name


def test_what_is_no_stage_and_no_condition_is_named(hive):
    with pytest.raises(QuantityError, match=r"stage: got str.*design\.stage"):
        bias_comparison("hive", CONDITIONS)
    with pytest.raises(QuantityError, match="conditions: got Supply"):
        bias_comparison(hive, supply_rail("vehicle"))


def test_a_rail_is_read_with_its_units():
    assert RailRange("9 V", "12 V", "16 V") == RailRange(9.0, 12.0, 16.0)
    with pytest.raises(QuantityError, match="nominal: got 12 A"):
        RailRange("9 V", "12 A", "16 V")


def test_limits_are_read_with_their_units():
    assert BiasLimits(rejection_db="40 dB", wake_up="20 ms") == BiasLimits(rejection_db=40.0, wake_up=0.02)
    with pytest.raises(QuantityError, match="wake_up: got 2 V"):
        BiasLimits(wake_up="2 V")


def test_no_bias_source_keeps_an_impossible_limit(table):
    with pytest.raises(RequirementError, match="reference: Draws 100 µA; 1 µA is allowed"):
        recommend(table, BiasLimits(current=1e-6))
    with pytest.raises(RequirementError, match="off by up to"):
        recommend(table, BiasLimits(error=1e-3))


@pytest.mark.parametrize(
    "rail", [BATTERY, RailRange(4.4, 5.0, 5.25), RailRange(9.0, 12.0, 16.0), RailRange(22.0, 28.0, 29.0)]
)
def test_the_hive_monitor_gets_an_answer_on_every_rail(hive, rail):
    table = bias_comparison(hive, replace(CONDITIONS, rail=rail))
    chosen = recommend(table, BiasLimits(rejection_db={100.0: 40.0}, follows_rail=True))
    assert chosen.row.problems == ()
    assert chosen.row.volts == pytest.approx(rail.nominal / 2, rel=1e-9)


@pytest.mark.parametrize("name", ["battery", "usb", "vehicle", "aircraft"])
def test_conditions_on_a_rail_of_the_scenario(hive, name):
    supply = supply_rail(name)
    conditions = BiasConditions.on(supply, other_current=2e-3)
    assert conditions.rail == RailRange(supply.lowest, supply.nominal, supply.highest)
    assert conditions.lines == (tuple(supply.ripple) or (100.0,))
    assert (conditions.ramp_time, conditions.other_current) == (supply.rise_time, 2e-3)
    table = bias_comparison(hive, conditions)
    assert chosen_columns(table) == [spoken(row.name) for row in table.rows]
    assert ("battery life" in repr(table)) == (name == "battery")


def chosen_columns(table):
    head = table._repr_markdown_().splitlines()[0]
    return [cell.strip() for cell in head.strip("|").split("|")][1:]


def test_swing_comes_from_the_op_amp_record_unless_given(hive):
    """GPB into 10k swings linearly to 1.6 V from the rail: a Zener bias of 4.5 V is past that on 6 V."""
    zener = hive.with_bias("zener", zener=4.5, r_zener="300", r_dynamic=50)
    assert any("outside 0.85 V to 4.4 V" in problem for problem in bias_problems(zener, BATTERY))
    assert bias_problems(zener, BATTERY, low=0.0, high=0.1) == ()


def test_the_table_shows_the_rows(table):
    """Each property is a line, in text and in Markdown, with the same cells; what fails stands below."""
    text, typeset = repr(table).splitlines(), table._repr_markdown_().splitlines()
    for shown in (text, typeset):
        (line,) = [line for line in shown if "rejects, 100 kHz" in line and "open" not in line]
        assert all(f"{row.rejection_db[1]:.1f} dB" in line for row in table.rows)
        (life,) = [line for line in shown if "battery life" in line]
        assert f"{table.row('divider').battery_life:.4g} h" in life
        assert sum("At a rail of 6 V the idle output" in line for line in shown) == 2
    assert len(table.notes) == sum(len(row.problems) for row in table.rows)


def test_a_recommendation_shows_its_reasons(table):
    chosen = recommend(table, BiasLimits(follows_rail=True))
    assert repr(chosen).startswith(f"Take the divider. {chosen.reason}")
    for shown in (repr(chosen), chosen._repr_markdown_()):
        assert all(why in shown for why in chosen.rejected.values())
        assert all(spoken(name) in shown for name in chosen.rejected)
