"""The gain leg on the bias node: closed forms, and the way back to the old cut-off."""

import math

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.leg_return import leg_return
from singlerail_nb.errors import CircuitError
from tests.referee import solve_numpy

PARTS = {
    "r_source": 1e3, "c_in": "330n", "r_bias": "100k", "r_top": "68k", "r_bottom": "68k", "c_bias": "10u",
    "r_f": "15k", "r_g": "1k5", "c_g": "6u8",
}  # fmt: skip


def stage(**changes):
    """Return a non-inverting stage."""
    return sr.stage("noninverting", supply=9, **{**PARTS, **changes})


def test_the_corner_of_a_firmly_driven_input():
    """H = 1 + R_f/(R_g + Z_b) with Z_b = R_th/(1 + s R_th C_b): its pole, and -3 dB below it."""
    found = leg_return(stage())
    alone = found.returned.section("plus", "amp_out")
    pole = (1 / 34e3 + 1 / 1.5e3) / (2 * math.pi * 10e-6)
    assert found.isolated_pole == pytest.approx(pole, rel=1e-9)
    firm = sr.stage(
        "leg_on_bias", supply=9, **{**PARTS, "c_g": None, "c_in": 10e-3, "r_bias": 1e9, "r_source": 0}
    )
    f = np.geomspace(0.1, 1e3, 9)
    z_b = 34e3 / (1 + 2j * math.pi * f * 34e3 * 10e-6)
    assert firm.section("plus", "amp_out")(f) == pytest.approx(1 + 15e3 / (1.5e3 + z_b), rel=1e-4)
    assert alone.midband_gain() == pytest.approx(11.0, rel=1e-9)


def test_it_saves_a_capacitor_and_costs_low_end():
    found = leg_return(stage())
    assert "c_g" not in found.returned.values
    assert found.cutoffs[0] == pytest.approx(stage().transfer("signal", "output").low_cutoff(), rel=1e-12)
    few = leg_return(stage(c_bias="1u"))
    assert few.cutoffs[1] > 5 * few.cutoffs[0]
    assert "on the bias node" in repr(found)


def test_the_signal_moves_the_bias():
    found = leg_return(stage())
    for f in (20.0, 1e3):
        volts = solve_numpy(found.returned, f, source="signal")
        assert found.bias_moves(f) == pytest.approx(abs(volts["bias"][0]), rel=1e-9)
    # Well above the corner the leg current Vin/R_g flows into C_bias.
    assert found.bias_moves(5e3) == pytest.approx(1 / (1.5e3 * 2 * math.pi * 5e3 * 10e-6), rel=0.02)
    assert found.bias_moves() == found.bias_moves(found.cutoffs[1])


def test_the_capacitor_that_brings_the_cutoff_back():
    found = leg_return(stage(c_bias="2u2"))
    farad = found.capacitor_for_the_same_cutoff
    again = found.returned.with_parts(c_bias=farad)
    assert again.transfer("signal", "output").low_cutoff() == pytest.approx(found.cutoffs[0], rel=1e-9)
    assert farad > 2.2e-6


def test_only_where_it_makes_sense():
    with pytest.raises(CircuitError, match="noninverting"):
        leg_return(sr.stage("leg_on_bias", supply=9, **{**PARTS, "c_g": None}))
    with pytest.raises(CircuitError, match="not at the bias node"):
        leg_return(stage(bias="buffered_divider"))
    with pytest.raises(CircuitError, match="not at the bias node"):
        leg_return(stage(bias="divider", c_bias=None))
