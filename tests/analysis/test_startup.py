"""Waking up, sagging and going to sleep: what the pieces of an exact solution add up to."""

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis import startup_solver
from singlerail_nb.analysis.startup import brown_out, power_down, startup
from singlerail_nb.circuit.opamp_library import opamp
from singlerail_nb.errors import CircuitError, QuantityError, UnknownNameError
from tests.circuits_for_tests import FULL_CASES, random_stage

HIVE = {
    "supply": 9, "r_source": "2k2", "c_in": "330n", "r_bias": "100k", "r_f": "100k", "r_g": "1k",
    "c_g": "10u",
    "c_out": "10u", "r_load": "10k",
}  # fmt: skip
DIVIDER = {"r_top": "100k", "r_bottom": "100k", "c_bias": "10u"}
LIMITS = {"low": 0.02, "high": 1.5}


@pytest.fixture(scope="module")
def stage():
    return sr.stage("noninverting", **HIVE, **DIVIDER)


@pytest.fixture(scope="module")
def run(stage):
    return startup(stage, ramp_time="1 ms", **LIMITS)


def test_output_stays_between_its_limits(run):
    t = np.linspace(0.0, 3.0, 4001)
    rail = np.minimum(9.0 * t / 1e-3, 9.0)
    out = run.voltage("amp_out", t)
    assert np.all(out <= np.maximum(rail - 1.5, 0.02) + 1e-9)
    assert np.all(out >= np.minimum(rail, 0.02) - 1e-9)


def test_capacitor_voltages_never_jump(run):
    t = np.unique(np.concatenate([run.times, run.times + 1e-9]))
    for voltage in run.capacitor_voltages(t).values():
        steps = np.abs(np.diff(voltage))[np.diff(t) < 2e-9]
        assert steps.max() < 1e-3


def test_every_time_is_a_time_of_the_loop_or_of_saturation(run):
    assert [(s.side, s.opamp) for s in run.saturated] == [("low", "opamp"), ("high", "opamp")]
    low, high = run.saturated
    middle = 0.5 * (high.start + high.end)
    assert run.voltage("amp_out", middle) == pytest.approx(7.5, abs=1e-12)
    after = high.end + np.array([0.0, 0.1, 1.0])
    assert run.voltage("plus", after) == pytest.approx(run.voltage("minus", after), abs=1e-9)
    assert low.end < 2e-3


def test_it_settles_where_the_operating_point_says(stage, run):
    point = sr.operating_point(stage)
    for node in ("bias", "plus", "minus", "amp_out", "output", "leg"):
        assert run.final_voltage(node) == pytest.approx(point.voltage(node), abs=1e-9)


def test_settling_time_is_the_last_time_outside(run):
    settled = run.settling_time("amp_out", within=0.01)
    t = settled + np.array([-1e-6, 1e-6])
    error = np.abs(run.voltage("amp_out", t) - 4.5) - 0.045
    assert error[0] > 0 > error[1]
    later = np.linspace(settled + 1e-6, 10.0, 3000)
    assert np.abs(run.voltage("amp_out", later) - 4.5).max() <= 0.045
    assert run.settling_time("output", volts="10 mV") > 0
    assert run.settling_time("supply", volts=8.9) == pytest.approx(1e-3 * 0.1 / 9, rel=1e-9)


def test_bits_are_half_a_step(run):
    half_a_step = run.settling_time("amp_out", volts=5 / 2**11)
    assert run.settling_to_bits("amp_out", 10, "5 V") == half_a_step
    assert run.settling_to_bits("amp_out", "10", 5) == half_a_step
    assert run.settling_to_bits("amp_out", np.int64(10), 5) == half_a_step


@pytest.mark.parametrize("text", ["1 %", "1%", "0.01"])
def test_a_share_may_be_a_text(run, text):
    assert run.settling_time("amp_out", within=text) == run.settling_time("amp_out", within=0.01)


@pytest.mark.parametrize("factor", [3.0])
def test_all_capacitors_larger_makes_all_times_longer(stage, factor):
    larger = {part.name: factor * stage.values[part.name] for part in stage.circuit.capacitors}
    fast = startup(stage, **LIMITS)
    slow = startup(stage.with_parts(**larger), **LIMITS)
    assert slow.settling_time("amp_out") == pytest.approx(factor * fast.settling_time("amp_out"), rel=1e-9)
    t = np.geomspace(1e-4, 3.0, 50)
    assert slow.voltage("amp_out", factor * t) == pytest.approx(fast.voltage("amp_out", t), abs=1e-8)


def test_a_fast_op_amp_is_nearly_ideal(stage):
    ideal = startup(stage, ramp_time=1e-3, **LIMITS).settling_time("amp_out")
    errors = []
    for gbw in (1e4, 1e5, 1e6):
        real = sr.stage("noninverting", opamp=sr.OpAmp("invented", gbw, 1e9), **HIVE, **DIVIDER)
        errors.append(abs(startup(real, ramp_time=1e-3, **LIMITS).settling_time("amp_out") - ideal))
    assert errors[0] > errors[1] > errors[2]
    assert errors[2] < 1e-4


def test_a_follower_without_isolation_is_the_limit_of_a_small_one():
    parts = {"r_top": "100k", "r_bottom": "100k", "c_bias": "10u", "c_buffer": "1u"}
    tied = sr.stage("noninverting", bias="buffered_divider", **HIVE, **parts)
    t = np.geomspace(1e-3, 3.0, 60)
    exact = startup(tied, ramp_time=1e-3, **LIMITS).voltage("amp_out", t)
    nearly = startup(tied.with_parts(r_isolation=0.1), ramp_time=1e-3, **LIMITS).voltage("amp_out", t)
    assert nearly == pytest.approx(exact, abs=2e-4)


def test_a_zener_waits_for_its_knee():
    parts = {"zener": 4.45, "r_zener": "1k", "r_dynamic": "50"}
    run = startup(sr.stage("follower", supply=9, bias="zener", r_source=600, c_in="1n", r_bias="1M", **parts),
                  ramp_time=0.1)  # fmt: skip
    rail = np.array([2.0, 4.0, 6.0, 9.0])
    bias = run.voltage("bias", rail * 0.1 / 9)
    conducting = 4.45 + (rail - 4.45) * 50 / 1050
    # c_in draws some nanoamperes through r_bias, no more.
    assert bias == pytest.approx(np.where(rail < 4.45, rail, conducting), abs=1e-3)


def test_a_reference_follows_a_rail_that_is_too_low():
    parts = {"reference": 2.5, "r_reference": 1}
    stage = sr.stage("follower", supply=5, bias="reference", r_source=600, c_in="1n", r_bias="1M", **parts)
    run = startup(stage, ramp_time=1.0, dropout="0.3 V")
    bias = run.voltage("bias", np.array([0.2, 1.0, 2.0, 2.8, 5.0]) / 5)
    assert bias == pytest.approx([0.0, 0.7, 1.7, 2.5, 2.5], abs=1e-5)


def test_a_source_only_reference_leaves_the_charge_where_it_is():
    parts = {"r_reference": 1, "c_bias": "10u", "reference": 2.5}
    runs = {
        bias: power_down(sr.stage("noninverting", bias=bias, **(HIVE | {"c_in": "10n"}), **parts))
        for bias in ("reference", "source_only_reference")
    }
    assert runs["reference"].voltage("bias", 0.1) == pytest.approx(0.0, abs=1e-3)
    assert runs["source_only_reference"].voltage("bias", 0.1) == pytest.approx(2.5, abs=0.01)


def test_half_charged_capacitors_start_faster(stage):
    cold, half, warm = (
        startup(stage, initial=fraction, **LIMITS).settling_time("amp_out") for fraction in (0.0, 0.5, 1.0)
    )
    assert cold > half > warm == 0.0
    charged = startup(stage, initial={"c_bias": 4.5, "c_g": "4.5 V", "c_in": 4.5, "c_out": 4.5}, **LIMITS)
    assert charged.settling_time("amp_out") == 0.0


def test_power_down_empties_the_capacitors(stage):
    run = power_down(stage, fall_time=0.01, **LIMITS)
    assert run.voltage("amp_out", 0.0) == pytest.approx(4.5, abs=1e-9)
    assert run.final_voltage("bias") == pytest.approx(0.0, abs=1e-9)
    assert run.voltage("output", 0.02) < -1  # c_out pulls the load below ground
    # The charged bias node keeps the input above the fallen rail.
    assert run.voltage("plus", 0.01) > run.voltage("supply", 0.01)


def test_a_brown_out_is_a_profile(stage):
    run = brown_out(stage, sag="3 V", duration=0.2, edge_time=1e-3, **LIMITS)
    same = startup(stage, profile=[(0, 9), (1e-3, 3), (0.201, 3), (0.202, 9)], initial=1.0, **LIMITS)
    t = np.linspace(0, 3, 200)
    assert run.voltage("amp_out", t) == pytest.approx(same.voltage("amp_out", t), abs=1e-12)
    assert run.voltage("supply", 0.1) == pytest.approx(3.0)
    assert run.final_voltage("amp_out") == pytest.approx(4.5, abs=1e-9)


def test_a_step_in_a_profile_takes_no_time(stage):
    run = startup(stage, profile=[(0, 9), (1.0, 9), (1.0, 6), (2.0, 6)])
    assert run.voltage("supply", [0.999999, 1.0, 5.0]) == pytest.approx([9, 6, 6])
    assert run.final_voltage("bias") == pytest.approx(3.0, abs=1e-9)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"ramp_time": -1e-3}, "ramp_time"),
        ({"ramp_time": "1 V"}, "ramp_time"),
        ({"low": -0.1}, "low"),
        ({"profile": [(0, 9), (-1, 3)]}, "ascend"),
        ({"profile": [(1, 9)]}, "ascend"),
        ({"profile": []}, "ascend"),
        ({"profile": [(0, 9), (1, -3)]}, "reversed rail"),
        ({"initial": 1.5}, "initial"),
        ({"initial": {"r_f": 1.0}}, "Only capacitors"),
    ],
)
def test_senseless_conditions_are_refused(stage, arguments, message):
    with pytest.raises(QuantityError, match=message):
        startup(stage, **arguments)


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (lambda run: run.settling_time("output", within=0.01), "settles at ground"),
        (lambda run: run.settling_time("amp_out", within=2), "within"),
        (lambda run: run.settling_time("amp_out", within="200 %"), "between 0 and 1"),
        (lambda run: run.settling_time("amp_out", within="soon"), "within: got soon"),
        (lambda run: run.settling_time("amp_out", volts=-1), "volts"),
        (lambda run: run.settling_to_bits("amp_out", 0, 5), "bits"),
        (lambda run: run.settling_to_bits("amp_out", 10.5, 5), "a whole number from 1 to 24"),
        (lambda run: run.settling_to_bits("amp_out", "ten", 5), "bits: got ten"),
        (lambda run: run.voltage("amp_out", -1.0), "starts at 0 s"),
        (lambda run: run.voltage("amp_out", np.nan), "starts at 0 s"),
        (lambda run: run.capacitor_voltage("r_f", 1.0), "node voltage"),
    ],
)
def test_senseless_questions_are_refused(run, ask, message):
    with pytest.raises(QuantityError, match=message):
        ask(run)


def test_unknown_names_are_answered(run, stage):
    with pytest.raises(UnknownNameError, match="amp_out"):
        run.voltage("amp_ouz", 1.0)
    with pytest.raises(UnknownNameError, match="c_bias"):
        startup(stage, initial={"c_bia": 1.0})


def test_a_stage_that_never_rests_is_an_error(stage, monkeypatch):
    monkeypatch.setattr(startup_solver, "MOST_SEGMENTS", 3)
    with pytest.raises(CircuitError, match="still switching"):
        startup(stage, ramp_time=1e-3, **LIMITS)


def test_limits_come_from_the_op_amp_record_unless_given():
    """GPB into 10k: 0.65 V above ground and 1.4 V below the rail."""
    real = sr.stage("noninverting", opamp=opamp("GPB"), **HIVE, **DIVIDER)
    run = startup(real, ramp_time=1e-3)
    assert (run.limits.low, run.limits.high) == pytest.approx((0.65, 1.4))
    assert startup(real, low=0.0, high=0.0).limits.high == 0.0
    assert startup(sr.stage("noninverting", **HIVE, **DIVIDER)).limits.high == 0.0


def test_a_load_that_leaves_no_swing_is_refused_unless_the_limits_are_given():
    heavy = sr.stage(
        "follower", supply=9, opamp=opamp("GPB"), r_source=0, c_in="1u", r_bias="100k", c_bias="1u",
        r_top="100k", r_bottom="100k", c_out="470u", r_load=32,
    )  # fmt: skip
    with pytest.raises(QuantityError, match="none left of GPB on 9 V into 32 Ω"):
        sr.startup(heavy)
    assert sr.startup(heavy, low=0.1, high=1.0).limits.high == 1.0


FEEDBACK_THROUGH_THE_BIAS = [
    case for case in FULL_CASES if case.name == "two_stages" and case.bias in {"divider", "filtered_divider"}
]


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("case", FEEDBACK_THROUGH_THE_BIAS, ids=str)
def test_a_start_ends_where_every_pole_lies_to_the_left(case, seed):
    """Two stages in a row feed back through the bias node; with careless values they never come to rest."""
    stage = random_stage(case, seed)
    stable = max(stage.transfer("signal", "output").poles().real) < 0
    if stable:
        assert sr.startup(stage).settling_time("output", volts=0.01) >= 0
    else:
        with pytest.raises(CircuitError, match=r"oscillates between its limits|is unstable"):
            sr.startup(stage)
