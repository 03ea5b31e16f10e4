"""What the numbers of every stage must satisfy, whatever its circuit.

Cut-offs by three routes, scaling laws, sections, delay.  Nothing here names a stage.
"""

import math

import numpy as np
import pytest
from scipy import signal
from scipy.optimize import brentq

from singlerail_nb.analysis.rational import HALF_POWER_DB
from singlerail_nb.circuit.nodal_analysis import InputError
from tests.circuits_for_tests import CASES, FULL_CASES, random_stage
from tests.referee import solve_numpy

GRID = np.geomspace(1e-4, 1e11, 1201)
FREQUENCIES = np.geomspace(0.1, 100e6, 61)

EVERY_CASE = pytest.mark.parametrize("case", CASES, ids=str)
EVERY_FULL_CASE = pytest.mark.parametrize("case", FULL_CASES, ids=str)


def crossings_of(magnitude, level):
    """Return where a sampled magnitude crosses a level, refined by bracketing: no polynomial."""
    above = np.log(np.maximum(magnitude(GRID), 1e-300) / level)
    steps = np.flatnonzero(np.sign(above[:-1]) != np.sign(above[1:]))
    return [
        math.exp(
            brentq(
                lambda x: math.log(magnitude(np.exp([x]))[0] / level),
                math.log(GRID[i]),
                math.log(GRID[i + 1]),
                xtol=1e-13,
            )
        )
        for i in steps
    ]


def nodes_of(stage):
    return [node for node in ("bias", "output") if stage.circuit.has_node(node)]


def nearest(values, wanted):
    return min(values, key=lambda value: abs(math.log(value / wanted)))


@EVERY_CASE
def test_cut_offs_by_three_routes(case):
    """Roots of a polynomial, the sampled independent solution, and scipy.signal agree."""
    stage = random_stage(case, seed=10)
    transfer = stage.transfer("signal", "output")
    level = transfer.midband_gain() * 10 ** (-HALF_POWER_DB / 20)
    if level == 0:
        assert not solve_numpy(stage, GRID, source="signal")["output"].any()
        return
    solved = crossings_of(lambda f: np.abs(solve_numpy(stage, f, source="signal")["output"]), level)
    by_scipy = crossings_of(lambda f: np.abs(scipy_response(transfer, f)), level)
    exact = [f for f in transfer.crossings(level) if GRID[0] < f < GRID[-1]]
    assert len(solved) == len(by_scipy) == len(exact)
    assert np.allclose(solved, exact, rtol=1e-8)
    assert np.allclose(by_scipy, exact, rtol=1e-8)
    low, high = transfer.low_cutoff(), transfer.high_cutoff()
    for cutoff in (low, high):
        if GRID[0] < cutoff < GRID[-1]:
            assert nearest(solved, cutoff) == pytest.approx(cutoff, rel=1e-8)
    inside = GRID[(low * 1.001 < GRID) & (high / 1.001 > GRID)]
    assert np.all(np.abs(solve_numpy(stage, inside, source="signal")["output"]) > level)


def scipy_response(transfer, f):
    """Return the response from scipy.signal, in units of the first pole so that it finds no fault."""
    rational = transfer.rational
    unit = 2 * math.pi * transfer.midband.frequency if 0 < transfer.midband.frequency < math.inf else 1e3
    top = rational.numerator * unit ** np.arange(len(rational.numerator))
    bottom = rational.denominator * unit ** np.arange(len(rational.denominator))
    scale = np.max(np.abs(bottom))
    return signal.freqs((top / scale)[::-1], (bottom / scale)[::-1], 2 * math.pi * f / unit)[1]


@EVERY_CASE
def test_midband_gain_is_what_the_independent_solution_has_there(case):
    stage = random_stage(case, seed=11)
    midband = stage.transfer("signal", "output").midband
    f = min(max(midband.frequency, 1e-9), 1e15)
    solved = abs(solve_numpy(stage, f, source="signal")["output"][0])
    assert solved == pytest.approx(midband.gain, rel=1e-6, abs=1e-12)


@EVERY_CASE
def test_poles_and_zeros_rebuild_the_response(case):
    stage = random_stage(case, seed=12)
    transfer = stage.transfer("supply", "output")
    s = 2j * np.pi * FREQUENCIES
    shape = np.ones_like(s)
    for zero in transfer.zeros():
        shape = shape * (s - zero)
    for pole in transfer.poles():
        shape = shape / (s - pole)
    ratio = transfer(FREQUENCIES) / shape
    assert np.allclose(ratio, ratio[0], rtol=1e-7)


@EVERY_CASE
def test_impedance_level_changes_impedances_only(case):
    """All R times k and all C over k: voltage ratios stay, impedances are k times as high."""
    k = 7.0
    stage = random_stage(case, seed=13)
    scaled = stage.with_parts(
        **{p.name: stage.values[p.name] * (k if p.kind == "resistor" else 1 / k) for p in case.parts}
    )
    for source in ("signal", "supply", InputError("opamp")):
        for node in nodes_of(stage):
            one, other = (x.transfer(source, node)(FREQUENCIES) for x in (stage, scaled))
            assert np.allclose(one, other, rtol=1e-9, atol=0)
    for node in nodes_of(stage):
        one, other = (x.node_impedance(node)(FREQUENCIES) for x in (stage, scaled))
        assert np.allclose(k * one, other, rtol=1e-9, atol=0)


@EVERY_CASE
def test_time_scale_changes_frequencies_only(case):
    """All C times k and a k times slower op-amp: every frequency is divided by k."""
    k = 3.0
    numbers = random_stage(case, seed=14).values
    figures = {"gbw": 1e6, "dc_gain": 1e5}
    slower = {p.name: numbers[p.name] * (k if p.kind == "capacitor" else 1) for p in case.parts}
    fast, slow = case.stage({**numbers, **figures}), case.stage({**slower, **figures, "gbw": 1e6 / k})
    one, other = (stage.transfer("signal", "output") for stage in (fast, slow))
    assert np.allclose(one(FREQUENCIES), other(FREQUENCIES / k), rtol=1e-9, atol=0)
    assert np.allclose(one.poles() / k, other.poles(), rtol=1e-7)
    assert one.midband_gain() == pytest.approx(other.midband_gain(), rel=1e-9)
    assert one.low_cutoff() / k == pytest.approx(other.low_cutoff(), rel=1e-9)


@EVERY_CASE
def test_sections_multiply_to_the_whole(case):
    stage = random_stage(case, seed=15)
    product = np.ones(FREQUENCIES.shape, dtype=complex)
    for section in stage.sections():
        product = product * section.transfer(FREQUENCIES)
    whole = stage.transfer("signal", "output")
    assert np.allclose(product, whole(FREQUENCIES), rtol=1e-11, atol=0)
    assert stage.sections()[0].start == "signal"
    assert stage.sections()[-1].end == stage.circuit.node("output")


@EVERY_CASE
def test_group_delay_is_the_slope_of_the_phase(case):
    """Central differences of the independent solution's phase; the delay is a derivative of numbers."""
    stage = random_stage(case, seed=16)
    f = np.geomspace(1.0, 1e5, 21)
    step = 1e-3
    far, before, after, beyond = (
        solve_numpy(stage, f * (1 + d * step), source="signal")["output"] for d in (-2, -1, 1, 2)
    )
    turned = 8 * np.angle(after / before) - np.angle(beyond / far)  # the error falls with step**4
    numeric = -turned / (2 * math.pi * f * 12 * step)
    exact = stage.transfer("signal", "output").group_delay(f)
    known = np.abs(before) > 1e-4 * np.max(np.abs(before))  # the solver has few digits of what hardly passes
    assert np.allclose((exact * f)[known], (numeric * f)[known], rtol=1e-5, atol=1e-7)


@pytest.mark.parametrize("case", [c for c in FULL_CASES if "c_out" in c.circuit.part_names], ids=str)
def test_an_open_output_has_no_output_corner(case):
    """R_L to infinity moves the corner of the output capacitor to 0 Hz: the load then sees the amplifier."""
    stage = random_stage(case, seed=17).with_parts(r_load=1e9, c_out=1e-3)
    last = stage.circuit.path[-2]
    output, amp_out = (stage.transfer("signal", node)(FREQUENCIES) for node in ("output", last))
    assert np.allclose(output, amp_out, rtol=1e-5)


@EVERY_FULL_CASE
def test_the_supply_reaches_the_output_by_the_bias_alone(case):
    """With the source shorted to the rail's ground, supply ripple at the output is a transfer of the bias."""
    stage = random_stage(case, seed=18)
    ripple = stage.transfer("supply", "output")(FREQUENCIES)
    if not case.has_bias:
        assert not ripple.any()
        return
    at_bias = stage.transfer("supply", "bias")(FREQUENCIES)
    per_bias = solve_numpy(stage, FREQUENCIES, into="bias")
    expected = at_bias * per_bias["output"] / per_bias["bias"]
    assert np.allclose(ripple, expected, rtol=1e-6, atol=1e-12 * np.max(np.abs(at_bias)))
