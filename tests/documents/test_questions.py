"""The key against an independent calculation, mistakes against hand formulas, bands against boards."""

import math

import numpy as np
import pytest
import sympy
from scipy.optimize import brentq

import singlerail_nb as sr
from singlerail_nb.analysis.tolerance import worst_case
from singlerail_nb.documents.bands import spread
from singlerail_nb.documents.expressions import dual, number, without
from singlerail_nb.documents.goals import GOALS, Goal, learning_goal, questions_of
from singlerail_nb.documents.lab import Lab
from singlerail_nb.documents.task import Task
from singlerail_nb.errors import UnknownNameError

from .lab_sheets import VALUES, question, task

V = VALUES
THEVENIN = 33e3 * 43e3 / 76e3


def solved(f, rail=0.0, signal=1.0, meter=None):
    """Return bias, + input and output at a frequency: two node equations and an ideal op-amp."""
    s = 2j * np.pi * f
    source = 1.0 / (V["r_source"] + 1.0 / (s * V["c_in"]))
    bias = 1.0 / V["r_bias"]
    divider = 1.0 / V["r_top"] + 1.0 / V["r_bottom"] + s * V["c_bias"]
    matrix = np.array([[divider + bias, -bias], [-bias, source + bias]])
    b, p = np.linalg.solve(matrix, np.array([rail / V["r_top"], signal * source]))
    amplified = p * (1.0 + V["r_f"] / (V["r_g"] + 1.0 / (s * V["c_g"])))
    load = V["r_load"] if meter is None else 1.0 / (1.0 / V["r_load"] + 1.0 / meter)
    return b, p, amplified * load / (load + 1.0 / (s * V["c_out"]))


HALF_POWER = math.sqrt(0.5)


def cutoff(level=HALF_POWER, meter=None):
    top = abs(solved(1e6, meter=meter)[2])
    return brentq(lambda f: abs(solved(f, meter=meter)[2]) - level * top, 1.0, 1e3)


BY_HAND = {
    "bias": 9.0 * 43.0 / 76.0,
    "thevenin": THEVENIN,
    "bias_corner": 1.0 / (2.0 * math.pi * THEVENIN * 10e-6),
    "input_corner": 1.0 / (2.0 * math.pi * 51.7e3 * 220e-9),
    "leg_gain": 1.0 + 39.0 / 2.2,
    "gain": (1.0 + 39.0 / 2.2) * 47.0 / 51.7,
    "leg_corner": 1.0 / (2.0 * math.pi * 2.2e3 * 4.7e-6),
    "output_corner": 1.0 / (2.0 * math.pi * 10e3 * 4.7e-6),
    "low_cutoff": cutoff(),
    "ripple": 0.5 * abs(solved(100.0, rail=1.0, signal=0.0)[2]),
    "m_cutoff": cutoff(meter=10e6),
}


@pytest.mark.parametrize("key", BY_HAND)
def test_the_key_agrees_with_an_independent_calculation(key):
    assert question(key, ideal=True).value == pytest.approx(BY_HAND[key], rel=2e-4)


def test_swing_is_the_smaller_room_twice():
    low, high = task().output_range()
    rest = 9.0 * 43.0 / 76.0
    assert question("swing").value == pytest.approx(2.0 * min(rest - low, high - rest), rel=1e-4)
    load = 1.0 / (1.0 / 10e3 + 1.0 / 41.2e3)
    assert (low, high) == pytest.approx(task().lab.opamp.output_range(9.0, load, linear=False), rel=1e-3)


def test_a_meter_pulls_the_bias_node_down_by_its_share():
    sagged = BY_HAND["bias"] * 10e6 / (10e6 + THEVENIN)
    assert question("m_bias", ideal=True).value == pytest.approx(sagged, rel=1e-6)


MISTAKES = {
    ("thevenin", "R_A alone"): 33e3,
    ("thevenin", "R_B alone"): 43e3,
    ("thevenin", "series for parallel"): 76e3,
    ("bias", "divider swapped"): 9.0 * 33.0 / 76.0,
    ("bias", "half the rail"): 4.5,
    ("bias_corner", "R_A alone"): 1.0 / (2.0 * math.pi * 33e3 * 10e-6),
    ("bias_corner", "series for parallel"): 1.0 / (2.0 * math.pi * 76e3 * 10e-6),
    ("bias_corner", "radians"): 1.0 / (THEVENIN * 10e-6),
    ("input_corner", "source forgotten"): 1.0 / (2.0 * math.pi * 47e3 * 220e-9),
    ("input_corner", "parallel for series"): 51.7 / (2.0 * math.pi * 47e3 * 4.7 * 220e-9),
    ("leg_gain", "the 1 forgotten"): 39.0 / 2.2,
    ("gain", "source forgotten"): 1.0 + 39.0 / 2.2,
    ("leg_corner", "R_f in the leg"): 1.0 / (2.0 * math.pi * 39e3 * 4.7e-6),
    ("low_cutoff", "highest corner alone"): BY_HAND["leg_corner"],
    ("low_cutoff", "corners added"): sum(BY_HAND[f"{name}_corner"] for name in ("input", "leg", "output")),
    ("ripple", "peak"): 0.5 * BY_HAND["ripple"],
}


@pytest.mark.parametrize(("key", "slip"), MISTAKES)
def test_a_mistake_has_the_number_that_a_hand_makes(key, slip):
    found = [s.value for s in question(key, ideal=True).signatures if s.slip.key == slip]
    assert found[0] == pytest.approx(MISTAKES[key, slip], rel=2e-4)


def test_mistakes_about_the_swing_come_from_the_two_rooms():
    low, high = task().output_range()
    rest = task().rest("amp_out")
    found = {s.slip.key: s.value for s in question("swing").signatures}
    assert found["the larger side"] == pytest.approx(2.0 * (rest - low))
    assert found["both rooms added"] == pytest.approx(high - low)
    assert found["rail to rail"] == pytest.approx(2.0 * (9.0 - rest))


def test_half_the_voltage_is_not_half_the_power():
    # "half the voltage" may coincide with another mistake and is then reported as that one.
    level = next(slip for slip in question("low_cutoff").ask.slips if slip.key == "half the voltage")
    assert level.value(task(ideal=True)) == pytest.approx(cutoff(0.5), rel=1e-4)


def test_no_mistake_can_be_taken_for_the_right_answer():
    for asked in questions_of(GOALS["whole stage"], task()):
        for found in () if asked.ask.is_formula else asked.signatures:
            assert not asked.is_right(found.value)


@pytest.mark.parametrize(("key", "figure"), [("m_output", "midband_gain"), ("m_cutoff", "low_cutoff")])
def test_bands_are_the_extremes_over_all_corners(key, figure):
    stage = task(ideal=True).stage
    low, high = worst_case(stage, {"resistors": 0.05, "capacitors": 0.2}).of(figure)
    unloaded = question(key, ideal=True)
    scale = task(ideal=True).amplitude if key == "m_output" else 1.0
    found = spread(unloaded.task, unloaded.ask.value)
    assert found == pytest.approx((low * scale, high * scale), rel=1e-4)


def test_a_band_grows_by_loading_and_accuracy_of_the_instrument():
    asked = question("m_output")
    low, high = spread(asked.seen, asked.ask.value)
    assert asked.band == pytest.approx((low * 0.97, high * 1.03), rel=1e-9)


def test_dc_errors_of_the_op_amp_widen_the_band_of_a_resting_voltage():
    low, high = question("m_rest").band
    ideal_low, ideal_high = question("m_rest", ideal=True).band
    assert low < ideal_low - 1e-3 or high > ideal_high + 1e-3


@pytest.mark.parametrize("topology", ["noninverting", "inverting", "follower"])
@pytest.mark.parametrize("goal", GOALS.values(), ids=GOALS)
def test_every_goal_asks_every_stage_only_what_it_has(topology, goal):
    values = {name: v for name, v in V.items() if topology == "noninverting" or name not in ("r_g", "c_g")}
    if topology == "inverting":
        values = {"r_in": 10e3} | {name: v for name, v in values.items() if name != "r_bias"}
    if topology == "follower":
        values.pop("r_f")
    lab = Lab(topology=topology)
    asked = questions_of(goal, Task.of(lab, sr.stage(topology, supply=9.0, opamp=lab.opamp, **values)))
    assert len({q.id for q in asked}) == len(asked) >= 5
    for q in asked:
        if not q.ask.is_formula:
            assert q.is_right(q.value)
            assert math.isfinite(q.value)
            assert q.value != 0


def test_an_inverting_gain_keeps_its_sign_and_says_when_it_is_lost():
    values = {k: v for k, v in V.items() if k not in ("r_g", "c_g", "r_bias")} | {"r_in": 10e3}
    inverting = Task.of(Lab(topology="inverting"), sr.stage("inverting", supply=9.0, **values))
    gain = next(q for q in questions_of(GOALS["low end"], inverting) if q.ask.key == "gain")
    assert gain.value == pytest.approx(-39.0 / 14.7, rel=1e-6)
    assert {s.slip.key: s.value for s in gain.signatures}["sign"] == pytest.approx(39.0 / 14.7, rel=1e-6)


def test_formulas_are_changed_as_a_mistaken_reader_would():
    a, b = sympy.symbols("R_A R_B", positive=True)
    parallel = a * b / (a + b)
    assert dual(parallel) == a + b
    assert without(parallel, "r_bottom") == a
    assert number(sympy.sqrt(parallel) / sympy.pi, {a: 3.0, b: 6.0}) == pytest.approx(
        math.sqrt(2.0) / math.pi
    )


def test_unknown_goals_and_questions_are_refused():
    with pytest.raises(UnknownNameError, match="low end"):
        learning_goal("low ent")
    with pytest.raises(UnknownNameError, match="Did you mean"):
        learning_goal(Goal("own", "Own", (), ("gian",), (), 10))
