"""Charging and settling against published figures."""

import math

import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.startup import startup

# In an inverting stage nothing loads the bias node: it charges as one RC.
TAU = 50e3 * 3e-6


@pytest.fixture(scope="module")
def run():
    parts = {"r_source": 600, "c_in": "1u", "r_in": "10k", "r_f": "10k"}
    return startup(sr.stage("inverting", supply=9, r_top="100k", r_bottom="100k", c_bias="3u", **parts))


@pytest.mark.parametrize(("taus", "percent"), [(1, 63.2), (2, 86.5), (3, 95.0), (4, 98.2), (5, 99.3)])
def test_charge_of_an_rc(run, taus, percent):
    """Charge after 1 to 5 time constants, as in any textbook table."""
    assert 100 * run.voltage("bias", taus * TAU) / 4.5 == pytest.approx(percent, abs=0.05)


@pytest.mark.parametrize(("within", "taus"), [(0.01, 4.6), (0.001, 6.9), (0.0001, 9.2)])
def test_settling_of_an_rc(run, within, taus):
    """Settling to 1, 0.1 and 0.01 %: 4.6 and 6.9 time constants (secondary source), 9.2 (from memory)."""
    assert run.settling_time("bias", within=within) / TAU == pytest.approx(taus, abs=0.05)


# Analog Engineer's Pocket Reference, Texas Instruments SLYW038D, settling-time tables.
PRINTED_TAUS = {
    8: 5.5, 9: 6.24, 10: 6.93, 11: 7.62, 12: 8.32, 13: 9.01, 14: 9.70, 15: 10.40, 16: 11.04, 17: 11.78,
    18: 12.48, 19: 13.17, 20: 13.86, 21: 14.56, 22: 15.25, 23: 15.94, 24: 16.64, 25: 17.33,
}  # fmt: skip
MISPRINTED = {8: 5.545, 16: 11.090}


@pytest.mark.parametrize(("bits", "taus"), PRINTED_TAUS.items())
def test_time_constants_for_a_number_of_bits(run, bits, taus):
    """SLYW038D; two entries are printed wrong or cut short, and the right values are tested there."""
    settled = run.settling_time("bias", within=2.0**-bits) / TAU
    if bits in MISPRINTED:
        assert settled == pytest.approx(MISPRINTED[bits], abs=5e-4)
        assert abs(settled - taus) > 0.02
    else:
        assert settled == pytest.approx(taus, abs=0.006)


def test_one_time_constant_is_not_settled(run):
    """AN-581 (Analog Devices, C. Kitchin) gives 50k x 3 uF = 0.15 s "to settle": that is 63 %."""
    assert run.voltage("bias", 0.15) / 4.5 == pytest.approx(1 - math.exp(-1), rel=1e-9)
    assert run.settling_time("bias", within=0.01) == pytest.approx(0.691, abs=5e-4)
    assert run.settling_time("bias", within=0.001) == pytest.approx(1.036, abs=5e-4)


def test_rise_of_a_slow_bias():
    """AN-937 (Analog Devices): 50k x 100 uF is 5 s, "10 to 15 s" to rise: 86.5 and 95 %."""
    parts = {"r_source": 600, "c_in": "1u", "r_in": "10k", "r_f": "10k"}
    slow = startup(sr.stage("inverting", supply=9, r_top="100k", r_bottom="100k", c_bias="100u", **parts))
    assert slow.voltage("bias", [10.0, 15.0]) / 4.5 == pytest.approx([0.865, 0.950], abs=5e-4)
    assert slow.settling_time("bias", within=0.01) == pytest.approx(23.0, abs=0.05)


def test_half_a_step_of_a_converter():
    """2.5 V to half a step of 12 bits over 5 V: 8.3 time constants; 5 leave 17 mV (by hand)."""
    parts = {"r_source": 600, "c_in": "1u", "r_in": "10k", "r_f": "10k"}
    five = startup(sr.stage("inverting", supply=5, r_top="100k", r_bottom="100k", c_bias="3u", **parts))
    assert five.settling_to_bits("bias", 12, 5.0) / TAU == pytest.approx(8.3, abs=0.05)
    assert 2.5 - five.voltage("bias", 5 * TAU) == pytest.approx(0.017, abs=5e-4)
