"""Gain-bandwidth product, slew rate and cascades against published figures.

Sources, each via a textbook companion: J. Fiore, Operational Amplifiers and Linear Integrated Circuits,
chapter 5; R. Coughlin and F. Driscoll, Operational Amplifiers, 10.6; S. Franco, Design with Operational
Amplifiers, 3rd ed., chapter 6; A. Malvino and D. Bates, Electronic Principles, chapters 16 and 18;
R. Boylestad and L. Nashelsky, Electronic Devices, chapter 10; D. Bell, Electronic Devices and Circuits,
15.6; A. Bakshi and U. Godse, 5.3; R. Gayakwad, Op-Amps and Linear Integrated Circuits, chapters 4 and 6.
"""

import math

import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.bandwidth import bandwidth, full_power_bandwidth, gain_error, slew_rate_needed
from singlerail_nb.analysis.cascade import cascade_bandwidth, gain_sharing
from singlerail_nb.circuit.nodal_analysis import InputError
from singlerail_nb.circuit.opamp import OpAmp
from tests.networks import feedback_pair

INPUT = {"r_source": 0, "c_in": 10e-6, "r_bias": 1e6, "r_top": 1e3, "r_bottom": 1e3, "c_bias": 100e-6}
ONE_MEGAHERTZ = OpAmp("a", 1e6, dc_gain=1e7)


def inverting(gain, opamp=ONE_MEGAHERTZ):
    parts = {name: value for name, value in INPUT.items() if name != "r_bias"}
    return sr.stage("inverting", supply=9, opamp=opamp, r_in=10e3, r_f=gain * 10e3, **parts)


def noninverting(gain, opamp=ONE_MEGAHERTZ):
    parts = INPUT | {"r_g": 1e3, "r_f": (gain - 1) * 1e3, "c_g": 1e-3}
    return sr.stage("noninverting", supply=9, opamp=opamp, **parts)


def test_bandwidth_follows_the_noise_gain():
    # Fiore 5.1: 1 MHz at 20 dB: 100 kHz.  Coughlin 10.6: 1 MHz, inverting gain of 1: 500 kHz, not
    # 1 MHz; the follower 1 MHz.
    assert bandwidth(noninverting(10)).rule == pytest.approx(100e3, rel=1e-6)
    assert bandwidth(noninverting(10)).exact == pytest.approx(100e3, rel=2e-5)
    unity = bandwidth(inverting(1))
    assert unity.signal_gain == pytest.approx(1.0, rel=1e-4)
    assert unity.noise_gain == pytest.approx(2.0, rel=1e-4)
    assert unity.exact == pytest.approx(500e3, rel=1e-4)
    assert bandwidth(sr.stage("follower", supply=9, opamp=ONE_MEGAHERTZ, **INPUT)).exact == pytest.approx(
        1e6, rel=1e-4
    )


def test_op_amp_for_a_bandwidth():
    # Fiore 5.3: Rf 20k, Ri 500, 50 kHz: 2.05 MHz.
    stage = sr.stage("inverting", supply=9, opamp=OpAmp("a", 2.05e6, dc_gain=1e7), r_in=500, r_f=20e3,
                     **{n: v for n, v in INPUT.items() if n != "r_bias"})  # fmt: skip
    assert bandwidth(stage).rule == pytest.approx(50e3, rel=1e-4)


def test_open_loop_corner():
    # Boylestad 10.12: 1 MHz over 2e5: 5 Hz.
    amplifier = OpAmp("a", 1e6, dc_gain=2e5)
    assert amplifier.gbw * amplifier.inverse_gain == pytest.approx(5.0)


@pytest.mark.parametrize(
    ("slew_rate", "peak", "published", "within"),
    [
        (0.5e6, 12.0, 6631, 1e-4),  # Fiore 5.7
        (0.5e6, 5.0, 15.92e3, 1e-3),  # Franco 6.8
        (15e6, 10.0, 239e3, 2e-3),  # Malvino 18-5
        (0.5e6, 8.0, 9.947e3, 1e-4),  # Malvino 18-6, prints 10, 100 and 1000 kHz, rounded up
        (5e6, 8.0, 99.47e3, 1e-4),
        (50e6, 8.0, 994.7e3, 1e-4),
        (0.5e6, 0.75, 106.1e3, 1e-3),  # Boylestad 10.19
        (250e6, 43.7 / 4.7, 4.28e6, 1e-3),  # Bell 15.6
    ],
)
def test_full_power_bandwidth(slew_rate, peak, published, within):
    assert full_power_bandwidth(slew_rate, peak) == pytest.approx(published, rel=within)
    assert slew_rate_needed(full_power_bandwidth(slew_rate, peak), peak) == pytest.approx(slew_rate)


def test_slew_rate_needed():
    # Fiore 5.8: 20 kHz, 10 Vp: 1.257 V/us.  Own figure (job step 15): 10 kHz, 3 Vp: 0.19 V/us.
    assert slew_rate_needed(20e3, 10.0) / 1e6 == pytest.approx(1.257, rel=4e-4)
    assert slew_rate_needed(10e3, 3.0) / 1e6 == pytest.approx(0.19, abs=0.002)


def test_gain_error_of_one_per_cent():
    # Own figure (job step 15): 1 % at 0.14 of the cut-off of one pole.
    stage = noninverting(10)
    assert gain_error(stage, 0.1425 * bandwidth(stage).exact) == pytest.approx(-0.01, abs=3e-5)
    assert gain_error(stage, bandwidth(stage).exact) == pytest.approx(math.sqrt(0.5) - 1, rel=1e-4)


def test_gain_shared_over_two_stages():
    # Franco 6.2: 60 dB in two equal stages of 1 MHz: 20.35 kHz, against 1 kHz in one.
    shared = gain_sharing(1000.0, 1e6, 2)
    assert shared.cutoff / 1e3 == pytest.approx(20.35, abs=0.005)
    assert shared.gain_each == pytest.approx(31.62, abs=0.005)
    assert gain_sharing(1000.0, 1e6, 1).cutoff == pytest.approx(1e3)


@pytest.mark.parametrize(
    ("cutoffs", "published", "within"),
    [
        ([400e3] * 3, 203.93e3, 1e-4),  # Fiore 5.5 (204 kHz)
        ([20e3] * 3, 10.196e3, 1e-4),  # Bakshi 5.3 (10.20 kHz)
        ([20e3] * 4, 8.700e3, 1e-4),  # Bakshi 5.3
        ([125e3, 1e6 / 3, 250e3], 97.02e3, 1e-4),  # Fiore 5.4; its 125 kHz is the dominant pole alone
    ],
)
def test_cascades(cutoffs, published, within):
    assert cascade_bandwidth(cutoffs) == pytest.approx(published, rel=within)


def test_rejection_times_noise_gain():
    # Gayakwad 4.11, 4.12: 96 dB, gain 101: 15.85 uV/V, 10 mV ripple give 16 uV.  Franco 5.5: 0.1 Vpp,
    # 30 and 150 uV/V, gain 1001: 3 and 15 mVpp.
    assert OpAmp("a", 1e6, supply_rejection_db=96.0).supply_error(0.0).real == pytest.approx(
        15.85e-6, rel=1e-3
    )
    for decibels, ripple, gain, published in (
        (96.0, 10e-3, 101, 16.0e-6), (90.4576, 0.1, 1001, 3.0e-3), (76.4782, 0.1, 1001, 15.0e-3)
    ):  # fmt: skip
        amplifier = OpAmp("a", 1e9, dc_gain=1e9, supply_rejection_db=decibels)
        network = feedback_pair(amplifier, 1e3, (gain - 1) * 1e3)
        to_output = network.transfer(InputError("opamp"), "amp_out")(0.0) * amplifier.supply_error(0.0)
        assert abs(to_output) * ripple == pytest.approx(published, rel=2e-3)
