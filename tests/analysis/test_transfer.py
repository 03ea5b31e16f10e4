"""A network function with values in it: the calls a reader of the notebooks makes."""

import math

import numpy as np
import pytest
import sympy

import singlerail_nb as sr
from singlerail_nb.circuit.nodal_analysis import InputError
from singlerail_nb.circuit.symbols import S, part_symbol
from singlerail_nb.errors import QuantityError, UnknownNameError

VALUES = {
    "r_source": 220,
    "c_in": 220e-9,
    "r_bias": 47e3,
    "r_top": 33e3,
    "r_bottom": 33e3,
    "c_bias": 10e-6,
    "r_f": 39e3,
    "r_g": 1e3,
    "c_g": 4.7e-6,
    "c_out": 4.7e-6,
    "r_load": 10e3,
}


@pytest.fixture
def stage():
    return sr.stage("noninverting", supply=9, **VALUES)


@pytest.fixture
def transfer(stage):
    return stage.transfer("signal", "output")


def test_it_says_what_it_is(transfer, stage):
    assert repr(transfer) == "<Transfer signal to output, V/V>"
    assert repr(stage.node_impedance("bias")).endswith("ohm>")


def test_the_response_keeps_the_shape_of_the_frequencies(transfer):
    assert isinstance(transfer(1000.0), complex)
    assert transfer([10.0, 100.0]).shape == (2,)
    assert transfer(np.ones((2, 3))).shape == (2, 3)
    assert transfer([]).shape == (0,)


def test_formula_and_numbers_agree(transfer):
    numbers = {symbol: VALUES[name] for name, symbol in _symbols(transfer).items()}
    formula = transfer.expr.subs(numbers)
    for f in (3.0, 1e3):
        exact = complex(formula.subs(S, 2j * math.pi * f))
        assert transfer(f) == pytest.approx(exact, rel=1e-12)


def _symbols(transfer):
    return {name: part_symbol(name) for name in transfer.function.system.parameters}


def test_latex_is_a_fraction_in_part_symbols(transfer):
    text = transfer.latex()
    assert text.startswith(r"\frac{")
    assert all(symbol in text for symbol in ("R_{f}", "C_{g}", "R_{L}"))


def test_decibels_and_degrees(transfer):
    f = np.geomspace(1, 1e4, 50)
    assert transfer.magnitude_db(f) == pytest.approx(20 * np.log10(np.abs(transfer(f))), rel=1e-12)
    assert transfer.phase_degrees(1e3) == pytest.approx(math.degrees(np.angle(transfer(1e3))), rel=1e-12)
    assert np.all(np.abs(np.diff(transfer.phase_degrees(f))) < 90)


def test_a_silent_path_is_minus_infinity_decibels(stage):
    silent = stage.transfer("supply", "signal")
    assert silent(50.0) == 0
    assert silent.magnitude_db([50.0, 60.0]).tolist() == [-math.inf] * 2
    assert silent.midband_gain() == silent.low_cutoff() == 0.0
    assert silent.crossings(0.1).size == 0


def test_dc_is_the_limit_at_zero(stage):
    assert stage.transfer("supply", "bias")(0.0) == pytest.approx(0.5, rel=1e-14)
    assert stage.transfer("signal", "output")(0.0) == 0


def test_a_cut_off_is_relative_to_the_mid_band_gain(transfer):
    gain = transfer.midband_gain()
    for drop in (0.5, 1.0, 3.0, 6.0):
        cutoff = transfer.low_cutoff(drop)
        assert 20 * math.log10(abs(transfer(cutoff)) / gain) == pytest.approx(-drop, abs=1e-9)
    assert transfer.low_cutoff(0.5) > transfer.low_cutoff(1.0) > transfer.low_cutoff()
    assert abs(transfer(transfer.low_cutoff())) ** 2 == pytest.approx(gain**2 / 2, rel=1e-12)


def test_of_several_crossings_the_one_next_to_mid_band_counts():
    """Parts in a strange order of size give a response with a dip beside the pass band."""
    parts = {"r_source": "680k", "c_in": "68n", "r_bias": 390, "r_top": "1k2", "r_bottom": "8k2"}
    parts |= {"c_bias": "39u", "r_f": "4k7", "r_g": "3k3", "c_g": "18n"}
    dipped = sr.stage("noninverting", supply=9, **parts).transfer("signal", "output")
    crossings = dipped.crossings(dipped.midband_gain() / math.sqrt(2))
    assert crossings.size == 3
    assert dipped.midband.frequency == math.inf
    assert dipped.low_cutoff() == pytest.approx(crossings[-1], rel=1e-9)

    parts = {"r_source": "100k", "c_in": "1u", "r_bias": "1M", "r_top": "10k", "r_bottom": "10k"}
    parts |= {"c_bias": "1n", "r_f": "10k", "r_g": "1k", "c_g": "100n"}
    ripple = sr.stage("noninverting", supply=9, **parts).transfer("supply", "output")
    crossings = ripple.crossings(ripple.midband_gain() / math.sqrt(2))
    assert crossings.size == 3
    assert ripple.midband.frequency == 0.0
    assert ripple.high_cutoff() == pytest.approx(crossings[0], rel=1e-9)


def test_an_ideal_op_amp_never_drops_at_the_top(transfer):
    assert transfer.high_cutoff() == math.inf


def test_one_pole_at_the_top_lies_at_the_gain_bandwidth_over_the_noise_gain():
    opamp = sr.OpAmp("invented", gbw=1e6, dc_gain=1e6, source="invented")
    real = sr.stage("noninverting", supply=9, opamp=opamp, **VALUES)
    high = real.transfer("signal", "output").high_cutoff()
    assert high == pytest.approx(1e6 / 40, rel=5e-3)


def test_a_path_down_to_dc_has_no_low_end(stage):
    assert stage.transfer("supply", "bias").low_cutoff() == 0.0
    assert stage.transfer(InputError("opamp"), "minus").low_cutoff() == 0.0


def test_changed_values_make_a_new_transfer(transfer):
    before = transfer(10.0)
    changed = transfer.with_values(c_in=470e-9)
    assert changed.low_cutoff() < transfer.low_cutoff()
    assert transfer(10.0) == before


@pytest.mark.parametrize("drop", [0.0, -3.0, math.nan, math.inf])
def test_a_drop_is_positive(transfer, drop):
    for call in (transfer.low_cutoff, transfer.high_cutoff):
        with pytest.raises(QuantityError, match=r"drop_db: got .*allowed: > 0 dB"):
            call(drop)


@pytest.mark.parametrize("level", [0.0, -1.0, math.nan])
def test_a_level_is_positive(transfer, level):
    with pytest.raises(QuantityError, match=r"level: got .*allowed: > 0\. Give a magnitude"):
        transfer.crossings(level)


def test_changed_values_are_checked(transfer):
    with pytest.raises(UnknownNameError, match=r"c_im.*Did you mean 'c_in'"):
        transfer.with_values(c_im=1e-6)
    with pytest.raises(QuantityError, match=r"c_in: got -1e-06"):
        transfer.with_values(c_in=-1e-6)


def test_a_node_that_dc_leaves_open_has_no_value_there(stage):
    """The impedance into a coupling capacitor is infinite at 0 Hz: the error says so."""
    with pytest.raises(QuantityError, match=r"at 0 Hz.*no DC path"):
        stage.input_impedance()(0.0)


def test_poles_are_left_of_the_axis_and_sorted(transfer):
    poles = transfer.poles()
    assert np.all(poles.real < 0)
    assert np.all(np.diff(np.abs(poles)) >= 0)
    assert sympy.degree(sympy.denom(transfer.expr), S) == len(poles)
    assert sympy.degree(sympy.numer(transfer.expr), S) == len(transfer.zeros())


def test_equal_poles_stay_exact():
    """Two corners at the same place stay real: roots are taken factor by factor."""
    twins = sr.stage("inverting", supply=9, r_source=0, c_in=1e-6, r_in=1e4, r_top=1e4, r_bottom=1e4,
                     c_bias=1e-5, r_f=1e5, c_out=1e-6, r_load=1e4)  # fmt: skip
    assert twins.transfer("signal", "output").poles() == pytest.approx([-100.0, -100.0], rel=1e-14)
