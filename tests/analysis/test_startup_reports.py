"""The thump at the load, inputs out of range, reversed capacitors and the capacitor to blame."""

import math

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.startup import power_down, startup
from singlerail_nb.analysis.startup_reports import (
    extremes,
    input_violations,
    reverse_voltages,
    thump,
)
from singlerail_nb.errors import QuantityError, UnknownNameError

HIVE = {
    "supply": 9, "r_source": "2k2", "c_in": "330n", "r_bias": "100k", "r_f": "100k", "r_g": "1k",
    "c_g": "10u",
    "r_top": "100k", "r_bottom": "100k", "c_bias": "10u", "c_out": "10u", "r_load": "10k",
}  # fmt: skip


@pytest.fixture(scope="module")
def run():
    return startup(sr.stage("noninverting", **HIVE), ramp_time=1e-3, low=0.02, high=1.5)


def test_thump_is_what_a_fine_record_shows(run):
    t = np.unique(np.concatenate([np.geomspace(1e-7, 30.0, 200_001), np.linspace(0, 1, 100_001)]))
    v = run.voltage("output", t)
    felt = thump(run)
    assert felt.peak.volts == pytest.approx(v[np.abs(v).argmax()], rel=1e-7)
    assert run.voltage("output", felt.peak.time) == pytest.approx(felt.peak.volts, rel=1e-12)
    assert felt.energy == pytest.approx(np.trapezoid(v**2, t) / 10e3, rel=1e-6)
    lowest, highest = extremes(run.segments, run.node_outputs("output"))
    assert (lowest.volts, highest.volts) == pytest.approx((v.min(), v.max()), abs=1e-7)


def test_energy_without_and_with_endless_load_current():
    values = {name: value for name, value in HIVE.items() if name not in ("c_out", "r_load")}
    stage = sr.stage("noninverting", **values)
    assert thump(startup(stage)).energy == 0.0
    assert thump(startup(stage.with_parts(r_load="10k"))).energy == math.inf


def test_a_wrongly_charged_capacitor_is_reversed():
    stage = sr.stage("noninverting", **HIVE)
    assert reverse_voltages(startup(stage)) == {}
    run = startup(stage, initial={"c_g": -1.5})
    worst = reverse_voltages(run)
    assert list(worst) == ["c_g"]
    assert (worst["c_g"].volts, worst["c_g"].time) == pytest.approx((-1.5, 0.0))


def test_inputs_outside_their_range(run):
    """An input range that ends 1.5 V below the rail: wrong until the rail has passed 1.5 V."""
    found = input_violations(run, low=-0.1, high=1.5)
    assert {(v.node, v.side) for v in found} == {("plus", "high"), ("minus", "high")}
    assert all(v.start == 0.0 and v.end == pytest.approx(1e-3 * 1.5 / 9, rel=2e-3) for v in found)
    # With 1 V needed above ground the bias filter decides: from 0 V to 1 V.
    slow = [v for v in input_violations(run, low=1.0, high=0.0) if v.node == "plus" and v.side == "low"]
    (violation,) = slow
    assert run.voltage("plus", violation.end) == pytest.approx(1.0, abs=1e-9)
    assert violation.end > 0.05


def test_a_collapsed_rail_leaves_the_input_above_it():
    down = power_down(sr.stage("noninverting", **HIVE), fall_time=0.01, low=0.02, high=1.5)
    above = [v for v in input_violations(down, low=0.0, high=0.0) if v.node == "plus"]
    assert above[0].side == "high"
    assert down.voltage("plus", above[0].start) == pytest.approx(down.voltage("supply", above[0].start))


def test_the_range_comes_from_the_op_amp_record():
    amplifier = sr.OpAmp("invented", gbw=1e6, common_mode_low=-0.1, common_mode_high=1.5, source="invented")
    run = startup(sr.stage("noninverting", opamp=amplifier, **HIVE), ramp_time=1e-3)
    assert input_violations(run) == input_violations(run, low=-0.1, high=1.5)
    with pytest.raises(QuantityError, match="op-amp record"):
        input_violations(startup(sr.stage("noninverting", **HIVE)))
    with pytest.raises(UnknownNameError):
        input_violations(run, opamp="other")
