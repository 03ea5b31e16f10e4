"""The capacitor desk: volts in every phase, effective value, leakage, rating, advice."""

import pytest

from singlerail_nb.analysis.capacitor_classes import (
    capacitor_class,
    capacitor_classes,
    load_capacitor_classes,
    temperature_code,
)
from singlerail_nb.analysis.capacitor_volts import capacitor_voltages
from singlerail_nb.analysis.capacitors import capacitor_desk
from singlerail_nb.analysis.startup_blame import resistance_seen
from singlerail_nb.analysis.tolerance import worst_case
from singlerail_nb.errors import QuantityError, UnknownNameError
from tests.sensible_stages import SENSIBLE, inverting, noninverting


def phase(phases, name):
    return next(p for p in phases if p.phase == name)


def test_running_and_faults_by_hand():
    volts = capacitor_voltages(noninverting(), supply_max=9.6)
    assert phase(volts["c_in"], "running").largest == pytest.approx(4.8)
    assert phase(volts["c_out"], "output of opamp at the rail").largest == pytest.approx(9.6)
    assert phase(volts["c_out"], "output of opamp at ground").largest == pytest.approx(0.0)
    assert phase(volts["c_bias"], "r_bottom open").largest == pytest.approx(9.6)
    assert phase(volts["c_bias"], "r_top open").largest == pytest.approx(0.0)
    assert phase(volts["c_g"], "output of opamp at the rail").largest == pytest.approx(9.6)


@pytest.mark.parametrize("name", SENSIBLE)
def test_every_stage_has_every_phase(name):
    for phases in capacitor_voltages(SENSIBLE[name]).values():
        assert {"running", "starting", "power-down"} <= {p.phase for p in phases}
        starting, running = phase(phases, "starting"), phase(phases, "running")
        assert starting.lowest - 1e-6 <= running.largest <= starting.highest + 1e-6


def test_worst_is_the_whole_rail_not_half_of_it():
    desk = capacitor_desk(noninverting(), supply_max=9.6)
    assert [abs(row.worst.largest) for row in desk.rows] == pytest.approx([9.6] * 4)
    assert desk["c_bias"].rated == 16.0  # 9.6 V / 80 % = 12 V


def test_a_rating_that_is_too_low_is_said():
    row = capacitor_desk(noninverting(), rated={"c_g": 6.3})["c_g"]
    assert row.stress == pytest.approx(9.0 / 6.3)
    assert any("more than 80%" in advice and "common practice" in advice for advice in row.advice)


def test_class_2_ceramic_where_it_sets_the_cutoff():
    desk = capacitor_desk(noninverting(), kinds={"c_g": "X7R", "c_in": "film"}, rated={"c_g": 16})
    row = desk["c_g"]
    low, high = row.kind.spread(4.5, 16).factors
    assert row.effective == pytest.approx((4.7e-6 * low, 4.7e-6 * high))
    assert any("sets the cut-off" in advice for advice in row.advice)
    assert not any("sets the cut-off" in advice for advice in desk["c_in"].advice)


def test_leakage_times_resistance():
    row = capacitor_desk(noninverting())["c_g"]
    assert row.leakage == 3e-6
    # The leakage of C_g flows through R_f alone: I R_f, not times the gain.
    assert row.shift == pytest.approx(3e-6 * 39e3)
    assert row.resistance == pytest.approx(resistance_seen(noninverting(), "c_g"))


def test_polarity_and_cautions():
    rows = {row.name: row for row in capacitor_desk(inverting()).rows}
    assert rows["c_bias"].plus_node == "bias"
    assert any("observe polarity" in caution for caution in rows["c_bias"].cautions)
    assert not rows["c_in"].cautions
    big = capacitor_desk(noninverting(supply=28, c_bias=4.7e-3))["c_bias"]
    assert any("discharge" in caution for caution in big.cautions)


def test_reverse_voltage_is_found():
    # A source that holds 0 V behind a bias of half the rail: driven the other way by a signal level.
    row = capacitor_desk(noninverting(r_bias="1M", c_in="10u", r_load="100k"))["c_out"]
    assert row.reverse is None
    assert row.reverse_volts == 0.0


def test_the_desk_feeds_the_tolerances():
    stage = noninverting()
    desk = capacitor_desk(stage, kinds={"c_g": "X5R"})
    low, high = worst_case(stage, {**desk.tolerances, "resistors": 0.01}).low_cutoff
    assert high > 1.5 * stage.transfer("signal", "output").low_cutoff() > low


def test_text_has_everything():
    text = capacitor_desk(noninverting()).text
    for word in ("c_in", "Aluminium electrolytic", "+ at bias", "CAUTION", "r_bottom open"):
        assert word in text


def test_table_advice_and_cautions_in_a_notebook():
    desk = capacitor_desk(noninverting())
    shown = desk._repr_markdown_().replace("\N{NO-BREAK SPACE}", " ")
    assert all(f"| {' | '.join(row.cells)} |" in shown for row in desk.rows)
    assert all(words in shown for row in desk.rows for words in (*row.advice, *row.cautions))
    assert "common practice, no published source" in shown


def test_unknown_names():
    with pytest.raises(UnknownNameError, match="Did you mean 'c_in'"):
        capacitor_desk(noninverting(), kinds={"c_inn": "film"})
    with pytest.raises(UnknownNameError, match="film"):
        capacitor_desk(noninverting(), kinds={"c_in": "flim"})
    with pytest.raises(UnknownNameError, match="c_x"):
        _ = capacitor_desk(noninverting())["c_x"]


def test_every_shipped_class_makes_sense():
    for name in capacitor_classes():
        kind = capacitor_class(name)
        low, high = kind.spread(5.0, 16.0).factors
        assert 0 < low < 1 < high < 2
        assert kind.leakage(1e-6, 5.0, 16.0) >= 0
        assert kind.rating_for(9.0) * kind.stress >= 9.0


def test_bias_loss_grows_with_the_voltage_and_ageing_with_time():
    kind = capacitor_class("X7R")
    assert kind.spread(0.0, 16).bias_loss == (0.0, 0.0)
    assert kind.spread(16.0, 16).bias_loss == kind.bias_loss
    assert kind.spread(8.0, 16, life_hours=100_000.0).ageing == pytest.approx((-0.08, 0.0))


def test_broken_class_files(tmp_path):
    path = tmp_path / "classes.toml"
    path.write_text("[a]\ntitle = 'x'\ncolour = 'red'\n", encoding="utf-8")
    with pytest.raises(QuantityError, match=r"no tolerance.*colour"):
        load_capacitor_classes(path)
    path.write_text("[a\n", encoding="utf-8")
    with pytest.raises(QuantityError, match="TOML"):
        load_capacitor_classes(path)


@pytest.mark.parametrize("code", ["C0G", "X7", "Q7R", "X3R", "X7Z", ""])
def test_what_is_no_temperature_code(code):
    with pytest.raises(UnknownNameError):
        temperature_code(code)
