"""Noise against published figures.

Sources: R. Mancini (ed.), Op Amps for Everyone, TI SLOD006, chapter 10; Analog Devices AN-581,
Biasing and Decoupling Op Amps in Single Supply Applications; S. Franco, Design with Operational
Amplifiers and Analog Integrated Circuits, 3rd ed., chapter 7 (via a textbook companion);
S. Winder, Analog and Digital Filter Design, Table A.3; CODATA value of the Boltzmann constant (exact
since the 2019 SI).
"""

import math

import numpy as np
import pytest
from scipy.constants import Boltzmann

from singlerail_nb.analysis.integration import noise_bandwidth
from singlerail_nb.analysis.network import Network
from singlerail_nb.analysis.noise import noise
from singlerail_nb.analysis.noise_sources import BOLTZMANN, NoiseSource
from singlerail_nb.circuit.builder import CircuitBuilder
from singlerail_nb.circuit.elements import GROUND
from singlerail_nb.circuit.opamp import OpAmp
from tests.networks import feedback_pair


def resistor_at_a_node(resistance):
    circuit = CircuitBuilder("one resistor", ("signal", "node"))
    circuit.resistor("r_1", "node", GROUND, "Resistor")
    return Network(circuit.build(), {"r_1": resistance})


def bare_input(white, corner):
    """Return the noise of an input noise voltage alone: a unity-gain buffer without resistors."""
    circuit = CircuitBuilder("buffer", ("signal", "amp_out"))
    circuit.opamp("signal", "amp_out", "amp_out")
    amplifier = OpAmp("buffer", gbw=1e15, dc_gain=1e15, noise_voltage=white, noise_voltage_corner=corner)
    return noise(Network(circuit.build(), {}, amplifier))


def test_boltzmann_constant_is_the_exact_codata_value():
    assert Boltzmann == BOLTZMANN


@pytest.mark.parametrize(("resistance", "published"), [(1e3, 4.058), (20e3, 18.15), (100e3, 40.58)])
def test_resistor_noise(resistance, published):
    # AN-581 prints 4, 18 and 40 nV from the rule 4 sqrt(k), 1.4 % low at 25 degC; exact figures here.
    found = float(noise(resistor_at_a_node(resistance), 298.15).density(1e3, "node"))
    assert found * 1e9 == pytest.approx(published, rel=2e-4)
    assert round(4 * math.sqrt(resistance / 1e3)) == pytest.approx(found * 1e9, rel=0.02)


def test_resistor_noise_over_the_audio_band():
    # Op Amps for Everyone, eq. 10-13: 100 kohm, 298 K, 20 Hz to 20 kHz: 5.73 uV, -104.8 dBV.
    found = noise(resistor_at_a_node(100e3), 298.0).rms(20, 20e3, "node")
    assert round(found * 1e6, 2) == 5.73
    assert round(20 * math.log10(found), 1) == -104.8


def test_noise_voltage_with_its_corner():
    # Op Amps for Everyone, eq. 10-15 to 10-18: 130 nV at 10 Hz over white 12 nV gives a corner of
    # 1164 Hz, and 1.611 uV from 10 Hz to 10 kHz.
    buffer = bare_input(12e-9, 1163.6)
    assert float(buffer.density(10.0, "amp_out")) * 1e9 == pytest.approx(130.0, rel=1e-3)
    assert buffer.rms(10, 10e3, "amp_out") * 1e6 == pytest.approx(1.611, abs=5e-4)


def test_signal_to_noise():
    # Op Amps for Everyone, section 10.6: 8 nV, 20 Hz to 20 kHz, gain 100, 1 V out: 113.1 uV, 78.9 dB.
    buffer = bare_input(800e-9, 0.0)
    assert buffer.rms(20, 20e3, "amp_out") * 1e6 == pytest.approx(113.1, abs=0.05)
    assert buffer.signal_to_noise(1.0, 20, 20e3, "amp_out") == pytest.approx(78.9, abs=0.05)


@pytest.mark.parametrize(
    ("f_low", "f_high", "microvolts"), [(0.1, 100, 0.770), (20, 20e3, 2.923), (0.1, 1e6, 20.03)]
)
def test_integrated_noise_voltage(f_low, f_high, microvolts):
    # Franco, example 7.1: white 20 nV, corner 200 Hz: 0.77, 2.92 and 20.0 uV.
    found = bare_input(20e-9, 200.0).rms(f_low, f_high, "amp_out")
    assert found * 1e6 == pytest.approx(microvolts, rel=3e-4)


def test_full_noise_budget():
    # Franco, example 7.7: R1 100k, R2 200k, R3 68k, en 20 nV (200 Hz), in 0.5 pA (2 kHz), 1 MHz,
    # from 0.1 Hz: 154 uV at the output, 1.01 mVpp (6.6 times).
    amplifier = OpAmp("a", 1e6, dc_gain=1e9, noise_voltage=20e-9, noise_voltage_corner=200.0,
                      noise_current=0.5e-12, noise_current_corner=2e3)  # fmt: skip
    network = feedback_pair(amplifier, 100e3, 200e3, 68e3)
    found = noise(network, 298.15).rms(0.1, 1e12, "amp_out")
    assert round(found * 1e6) == 154
    assert found * 1e6 == pytest.approx(153.72, rel=1e-3)
    assert 6.6 * found * 1e3 == pytest.approx(1.0146, rel=1e-3)


def lagging_sections(count):
    """Return equal, separate RC sections in a row, each behind a buffer, and their cut-off."""
    circuit = CircuitBuilder("sections", ("signal", "output"))
    values, last = {}, "signal"
    for k in range(1, count + 1):
        circuit.resistor(f"r_{k}", last, f"n{k}", "Section resistor")
        circuit.capacitor(f"c_{k}", f"n{k}", GROUND, "Section capacitor")
        circuit.opamp(f"n{k}", f"b{k}", f"b{k}", f"buffer{k}")
        values |= {f"r_{k}": 10e3, f"c_{k}": 1e-9}
        last = f"b{k}"
    return Network(circuit.build(), values).transfer("signal", last)


@pytest.mark.parametrize(
    ("count", "factor", "table"),
    # A common table of op-amp notes (from memory) prints 1.57, 1.22, 1.16, 1.13; exact figures beside.
    [(1, 1.5708, 1.57), (2, 1.2203, 1.22), (3, 1.1554, 1.16), (4, 1.1285, 1.13), (5, 1.1138, None)],
)
def test_noise_bandwidth_of_equal_poles(count, factor, table):
    transfer = lagging_sections(count)
    found = noise_bandwidth(transfer) / transfer.high_cutoff()
    assert found == pytest.approx(factor, abs=6e-5)
    assert table is None or round(found, 2) == table


def test_noise_bandwidth_of_two_butterworth_poles():
    # Winder, Table A.3: 1.110721 for two poles: pi/(2 n sin(pi/2n)).
    circuit = CircuitBuilder("two poles", ("signal", "output"))
    circuit.resistor("r_1", "signal", "a", "First resistor")
    circuit.resistor("r_2", "a", "plus", "Second resistor")
    circuit.capacitor("c_1", "a", "output", "Feedback capacitor")
    circuit.capacitor("c_2", "plus", GROUND, "Capacitor to ground")
    circuit.opamp("plus", "output", "output")
    values = {"r_1": 10e3, "r_2": 10e3, "c_1": 2e-9, "c_2": 1e-9}
    transfer = Network(circuit.build(), values).transfer("signal", "output")
    assert noise_bandwidth(transfer) / transfer.high_cutoff() == pytest.approx(1.110721, abs=5e-7)


def test_filtered_divider():
    # Own figures (part G, g6): a 50 kohm Thevenin divider: 28.8 nV alone, 0.46 nV at 20 Hz with 10 uF.
    circuit = CircuitBuilder("divider", ("supply", "bias"))
    circuit.resistor("r_top", "supply", "bias", "Upper")
    circuit.resistor("r_bottom", "bias", GROUND, "Lower")
    plain = Network(circuit.build(), {"r_top": 100e3, "r_bottom": 100e3})
    assert float(noise(plain).density(20.0, "bias")) * 1e9 == pytest.approx(28.8, abs=0.05)
    circuit.capacitor("c_bias", "bias", GROUND, "Filter")
    filtered = Network(circuit.build(), {"r_top": 100e3, "r_bottom": 100e3, "c_bias": 10e-6})
    assert float(noise(filtered).density(20.0, "bias")) * 1e9 == pytest.approx(0.46, abs=5e-3)
    # k T/C: the whole noise of an RC depends on C alone (Nyquist; textbook result).
    total = noise(filtered).rms(1e-9, 1e12, "bias")
    assert total == pytest.approx(math.sqrt(Boltzmann * 300 / 10e-6), rel=1e-6)


def test_extra_source_adds_its_power():
    network = resistor_at_a_node(1e3)
    louder = noise(network, extra=[NoiseSource("hum", "signal", 1e-6)])
    assert np.allclose(louder.density(1e3, "node"), noise(network).density(1e3, "node"), rtol=1e-15)
