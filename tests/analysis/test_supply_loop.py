"""The loop through the rail: the independent equations, Nyquist by counting, and closed forms."""

import math

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.rational import Rational
from singlerail_nb.analysis.supply_loop import Rail, SupplyLoop, supply_loop
from singlerail_nb.errors import QuantityError
from tests.circuits_for_tests import FULL_CASES, random_stage
from tests.referee import solve_numpy

PARTS = {
    "r_source": 1e3, "c_in": "150n", "r_bias": "100k", "r_top": "100k", "r_bottom": "100k", "r_f": "100k",
    "r_g": "1k", "c_g": "100u", "c_in_2": "10u", "r_in_2": "10k", "r_f_2": "10k", "c_out": "220u",
    "r_load": 32,
}  # fmt: skip


def speaker(c_bias=None, **changes):
    """Return a monitor of one hive with headphones: two stages, one inversion, on a soft battery."""
    bias = {"bias": "divider"} if c_bias is None else {"c_bias": c_bias}
    return sr.stage("two_stages_inverting", supply=9, **{**PARTS, **bias, **changes})


@pytest.mark.parametrize("share", [1.0, 0.5])
@pytest.mark.parametrize("opamp", [None, "GPB"])
def test_the_loop_gain_in_the_independent_equations(share, opamp):
    stage = speaker("1u", opamp=opamp and sr.opamp(opamp))
    f = np.geomspace(0.5, 5e3, 9)
    found = solve_numpy(stage, f, source="supply")
    drawn = found["current of supply"] + share * (found["current of opamp"] + found["current of opamp_2"])
    s = 2j * np.pi * f
    impedance = 1 / (1 / 5.0 + 1 / (0.2 + 1 / (s * 100e-6)))
    loop = supply_loop(stage, 5, "100u", 0.2, share=share)
    assert loop(f) == pytest.approx(-impedance * drawn, rel=1e-7)
    assert Rail(5.0, 100e-6, 0.2).impedance(s) == pytest.approx(impedance, rel=1e-12)


@pytest.mark.parametrize("c_bias", [None, "220n", "1u", "10u"])
def test_in_phase_is_where_the_curve_crosses_the_positive_axis(c_bias):
    loop = supply_loop(speaker(c_bias), 5, "100u")
    f = np.geomspace(0.01, 1e5, 40001)
    curve = loop(f)
    places = np.flatnonzero((curve.imag[1:] * curve.imag[:-1] < 0) & (curve.real[1:] > 0))
    assert loop.in_phase == pytest.approx(f[places], rel=1e-3)
    assert loop.gain == pytest.approx(max(curve.real[places]), rel=1e-3)
    assert abs(loop(loop.frequency).imag) < 1e-9 * loop.gain


@pytest.mark.parametrize("resistance", [0.5, 2.0, 2.7, 2.8, 5.0, 20.0])
def test_stable_as_nyquist_counts(resistance):
    """Turns of 1 - L about the origin on the way up the axis, with the stiff stage itself stable."""
    loop = supply_loop(speaker(), resistance, "100u")
    angle = np.unwrap(np.angle(1 - loop(np.geomspace(1e-4, 1e7, 200_001))))
    turned = (angle[-1] - angle[0]) / np.pi
    assert loop.is_stable == (abs(turned) < 0.5)
    assert loop.is_stable == (loop.gain < 1)
    assert ("Oscillates" in loop.text) != loop.is_stable


def test_on_the_edge_it_grows_at_the_frequency_in_phase():
    low, high = 0.5, 20.0
    for _ in range(50):
        middle = (low * high) ** 0.5
        low, high = (middle, high) if supply_loop(speaker(), middle, "100u").is_stable else (low, middle)
    edge = supply_loop(speaker(), high, "100u")
    assert edge.gain == pytest.approx(1.0, rel=1e-6)
    assert edge.grows_at == pytest.approx(edge.frequency, rel=1e-6)


def test_a_bias_filter_a_stiff_rail_or_a_light_load_end_it():
    assert not supply_loop(speaker(), 5, "100u").is_stable
    for cured in (
        supply_loop(speaker("1u"), 5, "100u"),
        supply_loop(speaker(), 0.5, "100u"),
        supply_loop(speaker(r_load=600), 5, "100u"),
    ):
        assert cured.is_stable
        assert cured.text.startswith("Stable")


def test_without_an_inversion_the_rail_works_against_itself_in_mid_band():
    """A follower on a plain divider: half the rail into 32 ohm behind 5 ohm is -5/64, in antiphase."""
    stage = sr.stage(
        "follower", supply=9, bias="divider", r_source=0, c_in="1n", r_bias="1k", r_top="1k", r_bottom="1k",
        c_out=10e-3, r_load=32,
    )  # fmt: skip
    loop = supply_loop(stage, 5)
    passive = 5 / 2e3
    assert loop(1e3).real == pytest.approx(-5 * 0.5 / 32 - passive, rel=0.01)
    assert loop.is_stable


def test_no_load_leaves_the_divider():
    stage = speaker(c_out=None, r_load=None)
    loop = supply_loop(stage, 5)
    quiet = supply_loop(stage, 0.0)
    assert quiet.gain == 0.0
    assert quiet.text.startswith("Nothing comes back")
    assert abs(loop(1e4)) < 0.05


@pytest.mark.parametrize("case", FULL_CASES, ids=str)
def test_the_current_from_the_rail_of_every_stage(case):
    stage, f = random_stage(case), np.geomspace(1.0, 1e5, 5)
    found = solve_numpy(stage, f, source="supply")
    outputs = [f"current of {opamp.name}" for opamp in stage.circuit.opamps]
    drawn = found["current of supply"] + sum(found[name] for name in outputs)
    largest = np.max(np.abs([found[name] for name in ("current of supply", *outputs)]), axis=0)
    assert np.all(np.abs(supply_loop(stage, 1.0)(f) + drawn) <= 1e-7 * largest + 1e-15)


def test_bad_input_is_named():
    with pytest.raises(QuantityError, match="share"):
        supply_loop(speaker(), 5, share=0.0)
    with pytest.raises(QuantityError, match="resistance"):
        supply_loop(speaker(), -5)
    with pytest.raises(QuantityError, match="capacitance"):
        supply_loop(speaker(), 5, "100 ohm")


@pytest.mark.parametrize(("k", "words"), [(2.0, "Stable: loop gain 4"), (0.25, "Oscillates: loop gain 0.5")])
def test_the_verdict_is_that_of_the_roots_and_not_of_the_size(k, words):
    """-L = k (s + 1)^2/s^3 is in phase at 1 rad/s with a gain of 2 k, and stable from k = 0.5 on (Routh)."""
    loop = SupplyLoop(Rational([1.0], [1.0]), Rational([k, 2 * k, k], [0.0, 0.0, 0.0, 1.0]))
    assert loop.frequency == pytest.approx(1 / (2 * math.pi), rel=1e-9)
    assert loop.gain == pytest.approx(2 * k, rel=1e-9)
    assert loop.is_stable is (k > 0.5)
    assert loop.text.startswith(words)
    assert ("below 1" in loop.text) is False
