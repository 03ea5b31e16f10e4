"""Noise of whole stages against an independent matrix calculation and plain trapezoid integration."""

import math

import numpy as np
import pytest
from scipy.constants import Boltzmann

import singlerail_nb as sr
from singlerail_nb.analysis.integration import integral_over_band, noise_bandwidth
from singlerail_nb.analysis.noise import noise
from singlerail_nb.analysis.noise_sources import NoiseSource
from singlerail_nb.circuit.opamp import OpAmp
from singlerail_nb.circuit.opamp_library import opamp
from singlerail_nb.errors import QuantityError, UnknownNameError
from tests.networks import solved

PARTS = {"r_source": 600, "c_in": 330e-9, "r_bias": 100e3, "r_top": 100e3, "r_bottom": 100e3, "c_bias": 10e-6,
         "r_f": 100e3, "r_g": 1e3, "c_g": 100e-6, "c_out": 10e-6, "r_load": 10e3}  # fmt: skip
ENDS = {"r_source": ("signal", "source"), "c_in": ("plus", "source"), "r_bias": ("bias", "plus"),
        "r_top": ("supply", "bias"), "r_bottom": ("bias", "ground"), "c_bias": ("bias", "ground"),
        "r_f": ("amp_out", "minus"), "r_g": ("minus", "leg"), "c_g": ("leg", "ground"),
        "c_out": ("amp_out", "output"), "r_load": ("output", "ground")}  # fmt: skip
NODES = ["source", "plus", "bias", "minus", "leg", "amp_out", "output"]


def gain_stage(amplifier, **changes):
    return sr.stage("noninverting", supply=9, opamp=amplifier, **PARTS | changes)


def inverting_parts():
    return {name: PARTS[name] for name in ("r_source", "c_in", "r_top", "r_bottom", "c_bias", "r_f")}


def independent_densities(amplifier, f, node, temperature=300.0):
    """Return {contributor: V/sqrt(Hz)} from numpy matrices, sharing no code with the package."""

    def admittance(name):
        value = PARTS[name]
        return (lambda s: s * value) if name.startswith("c_") else (lambda _: 1 / value)

    branches = [(*ends, admittance(name)) for name, ends in ENDS.items()]
    loop = ("plus", "minus", "amp_out", lambda s: 1 / amplifier.dc_gain + s / (2 * math.pi * amplifier.gbw))

    def reach(**drive):
        return abs(solved(NODES, branches, loop, f, **drive)[node])

    found = {
        name: math.sqrt(4 * Boltzmann * temperature / PARTS[name]) * reach(inject={one: 1.0, other: -1.0})
        for name, (one, other) in ENDS.items()
        if name.startswith("r_")
    }
    en = amplifier.noise_voltage * math.sqrt(1 + amplifier.noise_voltage_corner / f)
    current = amplifier.noise_current * math.sqrt(1 + amplifier.noise_current_corner / f)
    found["opamp voltage"] = en * reach(error=1.0)
    found["opamp current at +"] = current * reach(inject={"plus": 1.0})
    found["opamp current at -"] = current * reach(inject={"minus": 1.0})
    return found


@pytest.mark.parametrize("f", [0.3, 20.0, 1e3, 50e3, 3e6])
@pytest.mark.parametrize("node", ["plus", "bias", "output"])
def test_every_contributor_agrees_with_matrices(f, node):
    amplifier = opamp("LNB")
    found = noise(gain_stage(amplifier)).density_by_source(f, node)
    expected = independent_densities(amplifier, f, node)
    assert set(found) == set(expected)
    largest = max(expected.values())
    for name, volts in expected.items():
        assert float(found[name]) == pytest.approx(volts, rel=1e-8, abs=1e-9 * largest)


def test_band_agrees_with_a_fine_trapezoid():
    amplifier = opamp("GPB")
    f = np.geomspace(20, 20e3, 1001)
    powers = [sum(v**2 for v in independent_densities(amplifier, x, "output").values()) for x in f]
    by_hand = math.sqrt(np.trapezoid(np.array(powers) * f, np.log(f)))
    found = noise(gain_stage(amplifier))
    assert found.rms(20, 20e3) == pytest.approx(by_hand, rel=2e-6)
    parts = found.rms_by_source(20, 20e3)
    assert math.sqrt(sum(v**2 for v in parts.values())) == pytest.approx(found.rms(20, 20e3), rel=1e-12)
    assert list(parts.values()) == sorted(parts.values(), reverse=True)
    whole = found.rms(20, 1e3) ** 2 + found.rms(1e3, 20e3) ** 2
    assert math.sqrt(whole) == pytest.approx(found.rms(20, 20e3), rel=1e-13)


# Own figures (part G, g7): the invented classes, 20 Hz to 20 kHz at the + input, uVrms.
@pytest.mark.parametrize(
    ("name", "low_source", "high_source"),
    [("GPB", 6.02, 7.40), ("LNB", 1.04, 6.60), ("JFT", 2.56, 4.79), ("MPC", 15.7, 16.2), ("PRC", 1.38, 4.27)],
)
def test_input_noise_of_the_demonstration_classes(name, low_source, high_source):
    for resistance, expected in ((600, low_source), (100e3, high_source)):
        stage = gain_stage(opamp(name), r_source=resistance)
        gain = stage.section("plus", "amp_out")
        found = noise(stage).rms(20, 20e3, "amp_out", referred_by=gain) * 1e6
        assert found == pytest.approx(expected, abs=0.006 if expected < 10 else 0.06)


def test_larger_bias_resistor_is_quieter_with_a_low_source():
    # Own figures (job step 16): 1 kHz, Rs 600, Cin 1u: 0.75, 0.25, 0.08 nV from the bias resistor.
    for resistance, expected in ((10e3, 0.75), (100e3, 0.25), (1e6, 0.08)):
        stage = gain_stage(None, c_in=1e-6, r_bias=resistance)
        part = noise(stage).density_by_source(1e3, "plus")["r_bias"]
        assert float(part) * 1e9 == pytest.approx(expected, abs=0.02)


def test_input_capacitor_sized_for_the_corner_alone_is_noisy():
    # Own figures (job step 16): 0.7 pA with a 200 Hz corner, at 20 Hz: 144, 54, 18, 2.3 nV.
    amplifier = OpAmp("a", 1e9, dc_gain=1e9, noise_current=0.7e-12, noise_current_corner=200.0)
    for capacitance, expected in ((0.1e-6, 144), (0.33e-6, 54), (1e-6, 18), (10e-6, 2.3)):
        stage = gain_stage(amplifier, c_in=capacitance, r_bias=100e3)
        part = noise(stage).density_by_source(20.0, "plus")["opamp current at +"]
        assert float(part) * 1e9 == pytest.approx(expected, rel=0.02)


def test_ideal_opamp_leaves_the_resistors():
    names = set(noise(gain_stage(None)).density_by_source(1e3))
    assert names == {name for name in PARTS if name.startswith("r_")}


def test_signal_to_noise_and_dynamic_range():
    found = noise(gain_stage(opamp("GPB")))
    volts = found.rms(20, 20e3)
    assert found.signal_to_noise(1.0, 20, 20e3) == pytest.approx(-20 * math.log10(volts))
    assert found.dynamic_range(math.sqrt(8), 20, 20e3) == pytest.approx(-20 * math.log10(volts))


def test_noise_bandwidth_of_a_stage_is_close_to_its_corners():
    transfer = gain_stage(opamp("GPB")).transfer("signal", "output")
    single = math.pi / 2 * transfer.high_cutoff()
    assert noise_bandwidth(transfer) == pytest.approx(single, rel=5e-3)
    assert noise_bandwidth(gain_stage(None).transfer("signal", "output")) == math.inf
    with pytest.raises(QuantityError, match="noise bandwidth"):
        noise_bandwidth(
            sr.stage("inverting", supply=9, r_in=1e3, **inverting_parts()).transfer("signal", "bias")
        )


def test_integration_resolves_a_sharp_resonance():
    # |H|^2 of 1/(1 + s/(Q w0) + (s/w0)^2) over all f is (pi/2) Q f0: a textbook integral.
    for quality in (1.0, 50.0, 2e4):
        poles = np.roots([1.0, 1.0 / quality, 1.0]).astype(complex)

        def power(f, quality=quality):
            u = 2 * math.pi * f
            return 1 / ((1 - u**2) ** 2 + (u / quality) ** 2)

        found = integral_over_band(power, poles, 1e-16, 1e6)
        assert float(found) == pytest.approx(math.pi / 2 * quality / (2 * math.pi), rel=1e-10)


@pytest.mark.parametrize("band", [(0, 20e3), (20, 20), (20e3, 20), (20, math.inf), (-1, 5), (math.nan, 5)])
def test_band_without_sense_is_refused(band):
    with pytest.raises(QuantityError, match="band"):
        noise(gain_stage(None)).rms(*band)


def test_other_bad_input_is_named():
    stage = gain_stage(None)
    with pytest.raises(QuantityError, match="temperature"):
        noise(stage, 0.0)
    with pytest.raises(QuantityError, match="0 Hz"):
        noise(stage).density([0.0, 1.0])
    with pytest.raises(UnknownNameError, match="amp_out"):
        noise(stage).density(1.0, "ampout")
    with pytest.raises(QuantityError, match="r_f"):
        noise(stage, extra=[NoiseSource("r_f", "supply", 1e-6)])
    with pytest.raises(QuantityError, match="signal_rms"):
        noise(stage).signal_to_noise(0.0, 20, 20e3)


def test_model_resistances_are_silent_until_their_noise_is_given():
    parts = {name: value for name, value in PARTS.items() if name not in {"r_top", "r_bottom"}}
    stage = sr.stage("noninverting", supply=9, bias="zener", zener=4.5, r_zener=1e3, r_dynamic=50, **parts)
    quiet = noise(stage)
    assert "r_dynamic" not in quiet.density_by_source(1e3, "bias")
    louder = noise(stage, extra=[NoiseSource("zener", "zener", 100e-9)]).density_by_source(1.0, "bias")
    expected = 100e-9 * abs(stage.transfer("zener", "bias")(1.0))
    assert float(louder["zener"]) == pytest.approx(expected, rel=1e-12)
