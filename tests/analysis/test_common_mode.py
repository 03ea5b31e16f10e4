"""Common-mode rejection: against hand formulas, the referee's equations, and random boards."""

import math
from itertools import product

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.common_mode import BRIDGE, common_mode, mismatch_rejection_db
from singlerail_nb.errors import QuantityError, UnknownNameError
from tests.referee import solve_numpy

FIRM = {"r_top": 10.0, "r_bottom": 10.0, "c_bias": 10e-3}
BALANCED = {"r_source": 0, "r_source_2": 0, "r_in": 12e3, "r_in_2": 12e3, "r_f": 68e3, "r_ref": 68e3}
GAIN = 68 / 12


def bridge(**changes):
    """Return a difference stage on a firm bias, its inputs coupled directly."""
    return sr.stage("difference", supply=9, **{**FIRM, **BALANCED, **changes})


def leak_by_hand(r_in_2, r_f, r_in, r_ref):
    """Return common over differential gain of the four-resistor bridge on a firm reference."""
    high, low = r_ref / (r_in + r_ref) * (1 + r_f / r_in_2), r_f / r_in_2
    return 2 * (high - low) / (high + low)


def test_a_balanced_bridge_on_a_firm_bias_hears_the_difference_only():
    found = common_mode(bridge(r_top=0.1, r_bottom=0.1))
    assert found.differential(0.0).real == pytest.approx(GAIN, rel=2e-4)
    assert found.rejection_db(0.0) > 130


def test_one_resistor_off():
    found = common_mode(bridge(r_ref=68e3 * 1.02, r_top=0.1, r_bottom=0.1))
    assert found.leak(0.0).real == pytest.approx(leak_by_hand(12e3, 68e3, 12e3, 68e3 * 1.02), rel=2e-4)
    assert found.common(0.0) / found.differential(0.0) == pytest.approx(found.leak(0.0), rel=1e-12)


@pytest.mark.parametrize("f", [0.7, 33.0, 2.1e3])
def test_both_inputs_driven_in_the_independent_equations(f):
    stage = sr.stage(
        "difference", supply=12, opamp=sr.opamp("GPB"), r_source=470, r_source_2=1.5e3, c_in="2u2",
        c_in_2="1u8", r_in="11k", r_in_2="10k", r_f="47k", r_ref="51k", r_top="39k", r_bottom="33k",
        c_bias="4u7", c_out="10u", r_load="8k2",
    )  # fmt: skip
    one, other = (solve_numpy(stage, f, source=name)["output"][0] for name in ("signal", "signal_2"))
    found = common_mode(stage)
    assert found.common(f) == pytest.approx(one + other, rel=1e-9)
    assert found.differential(f) == pytest.approx((one - other) / 2, rel=1e-9)
    assert found.rejection_db(f) == pytest.approx(20 * math.log10(abs((one - other) / 2 / (one + other))))


def test_the_worst_corner_is_the_worst_of_all_sixteen_by_hand():
    stage = bridge(r_top=0.1, r_bottom=0.1)
    worst = common_mode(stage).worst(0.01)
    order = ("r_in_2", "r_f", "r_in", "r_ref")
    boards = product(*((BALANCED[name] * 0.99, BALANCED[name] * 1.01) for name in order))
    leak = max(abs(leak_by_hand(*board)) for board in boards)
    assert worst.decibels == pytest.approx(-20 * math.log10(leak), abs=1e-3)
    assert set(worst.values) == set(BRIDGE)
    # All four push the same way: the two ratios part by four tolerances.
    off = {name: round((worst.values[name] / BALANCED[name] - 1) / 0.01) for name in BRIDGE}
    assert off["r_f"] * off["r_in_2"] == off["r_in"] * off["r_ref"] == -1
    assert off["r_f"] == -off["r_ref"]


def test_no_board_inside_the_box_is_worse():
    stage, rng = bridge(r_top="10k", r_bottom="10k"), np.random.default_rng(11)
    worst = common_mode(stage).worst(0.02)
    for _ in range(60):
        values = {name: BALANCED[name] * (1 + 0.02 * rng.uniform(-1, 1)) for name in BRIDGE}
        assert common_mode(stage.with_parts(**values)).rejection_db(0.0) >= worst.decibels - 1e-9


@pytest.mark.parametrize("gain", [0.5, 1.0, 5.0, 30.0])
def test_the_formula_is_the_limit_of_small_tolerances(gain):
    large = {"r_in": 12e6, "r_in_2": 12e6, "r_f": 12e6 * gain, "r_ref": 12e6 * gain}
    stage = bridge(**large, r_top=0.1, r_bottom=0.1)
    for tolerance, within in ((1e-2, 0.4), (1e-3, 0.04), (1e-4, 0.01)):
        formula = mismatch_rejection_db(gain, 4 * tolerance)
        assert common_mode(stage).worst(tolerance).decibels == pytest.approx(formula, abs=within)


def test_a_soft_bias_node_spoils_a_perfect_bridge():
    """A divider of 10 k and 10 k adds 5 k to the reference resistor: 20 log10((1 + G) 68 k/5 k)."""
    soft = common_mode(bridge(r_top="10k", r_bottom="10k", c_bias="10u"))
    assert soft.rejection_db(0.0) == pytest.approx(mismatch_rejection_db(GAIN, 5 / 68), abs=0.6)
    stiffer = common_mode(bridge(r_top="200", r_bottom="200", c_bias="10u"))
    assert stiffer.rejection_db(0.0) == pytest.approx(mismatch_rejection_db(GAIN, 100 / 68e3), abs=0.02)
    # The bias filter helps where it filters: at 1 kHz the node is 16 ohm.
    assert soft.rejection_db(1e3) == pytest.approx(mismatch_rejection_db(GAIN, 15.915 / 68e3), abs=0.05)


def test_capacitors_that_do_not_match_spoil_the_low_end():
    stage = bridge(c_in="1u", c_in_2="1u", r_top=0.1, r_bottom=0.1)
    found = common_mode(stage)
    assert found.rejection_db(20.0) > 100
    worst = found.worst({"c_in": 0.1, "c_in_2": 0.1}, 20.0)
    assert worst.decibels < 40
    assert worst.values["c_in"] / worst.values["c_in_2"] == pytest.approx(1.1 / 0.9) or worst.values[
        "c_in_2"
    ] / worst.values["c_in"] == pytest.approx(1.1 / 0.9)


def test_bad_input_is_named():
    found = common_mode(bridge())
    with pytest.raises(UnknownNameError, match="r_reff"):
        found.worst({"r_reff": 0.01})
    with pytest.raises(QuantityError, match="tolerance of r_f"):
        found.worst({"r_f": 1.0})
    with pytest.raises(QuantityError, match="gain"):
        mismatch_rejection_db(0.0, 0.01)
    with pytest.raises(UnknownNameError, match="signal_2"):
        common_mode(sr.stage("follower", supply=9, r_source=0, c_in="1u", r_bias="1k", **FIRM))
