"""Top end: errors that are named, output current against hand figures."""

import math

import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.bandwidth import (
    bandwidth,
    full_power_bandwidth,
    gain_error,
    mid_band_noise_gain,
    peak_output_current,
)
from singlerail_nb.analysis.cascade import cascade_bandwidth, gain_sharing
from singlerail_nb.circuit.opamp_library import opamp
from singlerail_nb.errors import QuantityError

PARTS = {"r_source": 600, "c_in": 330e-9, "r_bias": 100e3, "r_top": 100e3, "r_bottom": 100e3, "c_bias": 10e-6,
         "r_f": 99e3, "r_g": 1e3, "c_g": 100e-6, "c_out": 100e-6, "r_load": 10e3}  # fmt: skip


def gain_stage(amplifier):
    return sr.stage("noninverting", supply=9, opamp=amplifier, **PARTS)


def test_rule_and_exact_figure_differ_by_what_the_network_does():
    found = bandwidth(gain_stage(opamp("GPB")))
    assert found.noise_gain == pytest.approx(100.0, rel=1e-3)
    assert found.signal_gain == pytest.approx(100.0 * 100e3 / 100.6e3, rel=2e-3)
    assert found.rule == pytest.approx(9e3, rel=1e-3)
    assert found.exact == pytest.approx(found.rule, rel=5e-3)
    assert mid_band_noise_gain(gain_stage(None)) == pytest.approx(100.0, rel=1e-3)


def test_output_current():
    # Vp/RL + Vp/Rf in phase, 2 pi f C Vp in quadrature.
    found = peak_output_current(gain_stage(None), 3.0, 10e3, load_capacitance=1e-9)
    assert found == pytest.approx(3.0 * math.hypot(1 / 10e3 + 1 / 100e3, 2 * math.pi * 10e3 * 1e-9), rel=1e-4)
    parts = {name: PARTS[name] for name in ("r_source", "c_in", "r_bias", "r_top", "r_bottom", "c_bias")}
    assert peak_output_current(sr.stage("follower", supply=9, **parts), 3.0, 10e3) == 0.0


def test_bad_input_is_named():
    with pytest.raises(QuantityError, match="ideal"):
        bandwidth(gain_stage(None))
    with pytest.raises(QuantityError, match="DC"):
        gain_error(gain_stage(opamp("GPB")), 0.0)
    with pytest.raises(QuantityError, match="peak"):
        full_power_bandwidth(1e6, 0.0)
    with pytest.raises(QuantityError, match="cutoffs"):
        cascade_bandwidth([])
    with pytest.raises(QuantityError, match=r"cutoffs\[1\]"):
        cascade_bandwidth([1e3, -1.0])
    with pytest.raises(QuantityError, match="total_gain"):
        gain_sharing(0.5, 1e6)
    with pytest.raises(QuantityError, match="stages"):
        gain_sharing(10.0, 1e6, 0)
