"""Isolated corners beside the whole network."""

import math

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.textbook import textbook
from singlerail_nb.errors import CircuitError

PARTS = {
    "r_source": 600.0, "c_in": 330e-9, "r_bias": 100e3, "r_top": 100e3, "r_bottom": 100e3, "c_bias": 10e-6,
    "r_g": 1e3, "c_g": 100e-6, "r_f": 100e3, "c_out": 10e-6, "r_load": 10e3,
}  # fmt: skip


@pytest.fixture(scope="module")
def worked():
    """Return the worked stage whose figures were computed apart from this package."""
    return sr.stage("noninverting", supply=9, **PARTS)


def test_the_worked_example(worked):
    # Corners 4.8, 1.6 and 1.6 Hz; 5.79 Hz as one network; gain 100.4, -0.313 dB and +22.5 degrees at 20 Hz.
    # The product rule gives 5.68 Hz if the source resistance is forgotten, 5.66 Hz with it.
    compared = textbook(worked)
    assert [round(corner.frequency, 1) for corner in compared.corners] == [4.8, 1.6, 1.6]
    assert compared.highest == max(corner.frequency for corner in compared.corners)
    assert compared.product == pytest.approx(5.66, abs=5e-3)
    assert textbook(worked.with_parts(r_source=0)).product == pytest.approx(5.68, abs=5e-3)
    assert compared.whole == pytest.approx(5.79, abs=5e-3)
    whole = worked.transfer("signal", "output")
    assert whole.midband_gain() == pytest.approx(100.4, abs=0.05)
    drop = whole.magnitude_db(20.0) - 20 * math.log10(whole.midband_gain())
    assert drop == pytest.approx(-0.313, abs=5e-4)
    assert whole.phase_degrees(20.0) == pytest.approx(22.5, abs=0.05)


def test_the_corners_by_hand(worked):
    by_place = {corner.place: corner for corner in textbook(worked).corners}
    hand = {
        "the input coupling": (600.0 + 100e3) * 330e-9,
        "the amplifier": 1e3 * 100e-6,
        "the output coupling": 10e3 * 10e-6,
    }
    assert set(by_place) == set(hand)
    for place, tau in hand.items():
        assert by_place[place].frequency == pytest.approx(1 / (2 * math.pi * tau), rel=1e-12)


def test_the_product_rule_by_hand(worked):
    # Three first-order high-passes and the leg's zero, multiplied: half power by plain bisection.
    compared = textbook(worked)
    f_in, f_g, f_out = (corner.frequency for corner in compared.corners)
    gain = 1 + 100e3 / 1e3

    def power(f):
        high_pass = [f * f / (f * f + c * c) for c in (f_in, f_out)]
        leg = (f * f + (f_g / gain) ** 2) / (f * f + f_g * f_g)
        return math.prod(high_pass) * leg

    low, high = 1.0, 50.0
    for _ in range(100):
        middle = math.sqrt(low * high)
        low, high = (middle, high) if power(middle) < 0.5 else (low, middle)
    assert compared.product == pytest.approx(low, rel=1e-12)


def test_errors_are_relative_to_the_whole_network(worked):
    compared = textbook(worked)
    highest, product = compared.errors
    assert compared.highest == pytest.approx(compared.whole * (1 + highest), rel=1e-12)
    assert compared.product == pytest.approx(compared.whole * (1 + product), rel=1e-12)
    assert highest < product < 0
    assert f"({highest:+.2%})" in compared.text
    assert f"{compared.whole:.4g} Hz" in compared.text.splitlines()[-1]
    assert repr(compared) == compared.text
    assert len(compared.text.splitlines()) == len(compared.corners) + 3


def test_a_firm_bias_and_an_ideal_source_bring_the_textbook_back():
    # Limits that must hold: R_s to 0 and C_bias without bound leave 1/(2 pi R_bias C_in).
    alone = {n: PARTS[n] for n in ("c_in", "r_bias", "r_top", "r_bottom")}
    errors = []
    for c_bias in (1e-6, 10e-6, 100e-6, 900e-6):
        compared = textbook(sr.stage("follower", supply=9, r_source=0, c_bias=c_bias, **alone))
        assert compared.product == pytest.approx(1 / (2 * math.pi * 100e3 * 330e-9), rel=1e-9)
        errors.append(abs(compared.errors[1]))
    assert np.all(np.diff(errors) < 0)
    assert errors[-1] < 1e-3


def test_a_light_load_takes_its_corner_away(worked):
    heavy, light = (textbook(worked.with_parts(r_load=r)) for r in (1e3, 10e6))
    assert heavy.corners[-1].frequency == pytest.approx(1e4 * light.corners[-1].frequency, rel=1e-9)
    assert light.whole < heavy.whole


def test_the_inverting_stage_has_one_corner_and_a_firm_answer():
    parts = {"r_source": 150, "c_in": 680e-9, "r_in": 12e3, "r_f": 180e3}
    bias = {n: PARTS[n] for n in ("r_top", "r_bottom", "c_bias")}
    compared = textbook(sr.stage("inverting", supply=5, **parts, **bias))
    (corner,) = compared.corners
    assert corner.frequency == pytest.approx(1 / (2 * math.pi * 12150 * 680e-9), rel=1e-12)
    # No signal current flows into the bias node: rule of thumb, product and network agree.
    assert compared.product == pytest.approx(corner.frequency, rel=1e-9)
    assert compared.whole == pytest.approx(corner.frequency, rel=1e-9)


def test_the_formula_of_a_corner_gives_its_number(worked):
    for corner in textbook(worked).corners:
        names = {str(symbol) for symbol in corner.formula.free_symbols}
        assert names <= {"R_s", "C_in", "R_bias", "R_g", "C_g", "C_out", "R_L"}
        known = {"R_s": 600.0, "C_in": 330e-9, "R_bias": 100e3, "R_g": 1e3, "C_g": 100e-6}
        known |= {"C_out": 10e-6, "R_L": 10e3}
        number = float(corner.formula.subs({x: known[str(x)] for x in corner.formula.free_symbols}))
        assert corner.frequency == pytest.approx(number, rel=1e-12)


def test_a_stage_that_passes_dc_has_no_low_end_to_compare():
    shift = sr.stage(
        "shift_up", supply=9, reference=5, r_source=0, r_in="10k", r_ref="180k", r_g="10k", r_f="27k"
    )
    with pytest.raises(CircuitError, match="down to DC"):
        sr.textbook(shift)
