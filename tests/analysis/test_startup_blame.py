"""The capacitor to blame for a slow start, and the rules beside the truth."""

import math

import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.startup import startup
from singlerail_nb.analysis.startup_blame import resistance_seen, slow_capacitors
from singlerail_nb.errors import UnknownNameError

HIVE = {
    "supply": 9, "r_source": "2k2", "c_in": "330n", "r_bias": "100k", "r_f": "100k", "r_g": "1k",
    "c_g": "10u",
    "r_top": "100k", "r_bottom": "100k", "c_bias": "10u", "c_out": "10u", "r_load": "10k",
}  # fmt: skip


def test_shares_of_the_settling_time_add_up_to_one():
    run = startup(sr.stage("noninverting", **HIVE), low=0.0, high=1.5)
    rows = slow_capacitors(run, "amp_out", 0.01)
    assert sum(row.share for row in rows) == pytest.approx(1.0, abs=1e-4)
    assert [row.name for row in rows][:2] == ["c_bias", "c_g"]
    assert rows == tuple(sorted(rows, key=lambda row: -row.share))
    # Predicted from the shares, for a bias filter of 9 uF instead of 10 uF.
    faster = startup(sr.stage("noninverting", **HIVE | {"c_bias": "9.9u"}), low=0.0, high=1.5)
    expected = run.settling_time("amp_out") * 0.99 ** rows[0].share
    assert faster.settling_time("amp_out") == pytest.approx(expected, rel=1e-4)


def test_the_rules_stand_beside_the_truth():
    run = startup(sr.stage("noninverting", **HIVE), low=0.0, high=1.5)
    rows = {row.name: row for row in slow_capacitors(run, "amp_out")}
    assert rows["c_g"].resistance == pytest.approx(1e3)  # minus is held by the loop
    assert rows["c_bias"].resistance == pytest.approx(50e3)
    assert rows["c_in"].resistance == pytest.approx(2.2e3 + 100e3 + 50e3)
    assert rows["c_out"].resistance == pytest.approx(10e3)
    assert rows["c_g"].five_time_constants == pytest.approx(5 * rows["c_g"].time_constant)
    assert run.settling_time("amp_out") > 10 * rows["c_g"].five_time_constants


def test_a_capacitor_on_an_open_node_sees_no_resistance():
    values = {name: HIVE[name] for name in HIVE if name != "r_bias"}
    assert resistance_seen(sr.stage("input_without_bias_path", **values), "c_in") == math.inf
    with pytest.raises(UnknownNameError):
        resistance_seen(sr.stage("noninverting", **HIVE), "c_x")
