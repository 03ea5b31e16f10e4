"""Offset, bias current, drift and leakage against published figures.

Sources, each via a textbook companion: S. Franco, Design with Operational Amplifiers, 3rd ed., 5.1 and
5.3; R. Gayakwad, Op-Amps and Linear Integrated Circuits, 4.4, 4.7, 4.8; D. Roy Choudhury and S. Jain,
Linear Integrated Circuits, 3.2; R. Boylestad and L. Nashelsky, Electronic Devices, 10.16; R. Coughlin
and F. Driscoll, Operational Amplifiers, 9.6.  A capacitor maker's FAQ on leakage (chemi-con.co.jp).
"""

import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.dc_errors import electrolytic_leakage, opamp_errors
from singlerail_nb.circuit.opamp import OpAmp
from tests.networks import feedback_pair


def output_errors(r_1, r_2, r_plus=None, *, temperature=298.15, **figures):
    """Return millivolts at the output by cause, with a loop gain high enough not to matter."""
    network = feedback_pair(OpAmp("a", 1e6, dc_gain=1e12, **figures), r_1, r_2, r_plus)
    return {
        source.name: abs(sum(network.transfer(e, "amp_out")(0.0).real * x for e, x in source.terms)) * 1e3
        for source in opamp_errors(network, "typical", temperature)
    }


def test_bias_current_and_its_cure():
    # Franco 5.1: 22k, 2.2M, 80 nA, 20 nA: 176 mV without, 44 mV with the matching resistor (the book
    # prints 175); a tenth of the resistances: 4.4 mV; 3 nA: 0.66 mV.
    bare = output_errors(22e3, 2.2e6, bias_current=80e-9, offset_current=20e-9)
    assert bare["bias current"] == pytest.approx(176.0, rel=1e-6)
    matching = 22e3 * 2.2e6 / (22e3 + 2.2e6)
    matched = output_errors(22e3, 2.2e6, matching, bias_current=80e-9, offset_current=20e-9)
    assert matched["bias current"] == pytest.approx(0.0, abs=1e-6)
    assert matched["offset current"] == pytest.approx(44.0, rel=1e-6)
    tenth = output_errors(2.2e3, 220e3, matching / 10, offset_current=20e-9)
    assert tenth["offset current"] == pytest.approx(4.40, rel=1e-6)
    better = output_errors(2.2e3, 220e3, matching / 10, offset_current=3e-9)
    assert better["offset current"] == pytest.approx(0.66, rel=1e-6)


def test_bias_current_doubles_every_ten_degrees():
    # Franco 5.3: 1 pA at 25 degC, doubling per 10 degC, is 0.18 nA at 100 degC.
    amplifier = OpAmp("a", 1e6, bias_current=1e-12, bias_doubling=10.0)
    assert amplifier.bias_current_at(298.15 + 75.0) * 1e9 == pytest.approx(0.18, abs=0.005)
    assert amplifier.bias_current_at(298.15) == 1e-12


GAYAKWAD = {"offset_voltage": 7.5e-3, "bias_current": 250e-9}
ROY = {"offset_voltage": 10e-3, "bias_current": 300e-9}
MATCHED = 1e3 * 10e3 / 11e3


@pytest.mark.parametrize(
    ("resistors", "figures", "published"),
    [
        # Gayakwad 4.4: 606 mV and 23.5 mV.
        ((470.0, 47e3), {"offset_voltage": 6e-3}, 606.0),
        ((470.0, 47e3), {"bias_current": 500e-9}, 23.5),
        # Gayakwad 4.7: 85 mV; with the matching resistor 83 mV.
        ((1e3, 10e3), GAYAKWAD, 85.0),
        ((1e3, 10e3, MATCHED), GAYAKWAD | {"offset_current": 50e-9}, 83.0),
        # Roy Choudhury 3.2: 113 mV; with the matching resistor 110.5 mV.
        ((1e3, 10e3), ROY, 113.0),
        ((1e3, 10e3, MATCHED), ROY | {"offset_current": 50e-9}, 110.5),
        # Boylestad 10.16: 38.2 mV.
        ((12e3, 360e3, 12e3 * 360 / 372), {"offset_voltage": 1e-3, "offset_current": 20e-9}, 38.2),
    ],
)
def test_output_offset(resistors, figures, published):
    assert sum(output_errors(*resistors, **figures).values()) == pytest.approx(published, rel=2e-6)


def test_drift():
    # Coughlin 9.6: 20 uV per degC, 50 degC, gain 101: 101 mV.
    drifted = output_errors(1e3, 100e3, temperature=348.15, offset_drift=20e-6)
    assert drifted["offset drift"] == pytest.approx(101.0, rel=1e-6)


def test_leakage_rule():
    # A maker's FAQ: 2200 uF, 35 V: 770 uA.  The floor of 3 uA holds for 10 uF, 16 V.
    assert electrolytic_leakage(2200e-6, 35.0) == pytest.approx(770e-6)
    assert electrolytic_leakage(10e-6, 16.0) == 3e-6


PARTS = {"r_source": 600, "c_in": 330e-9, "r_bias": 100e3, "r_top": 100e3, "r_bottom": 100e3, "c_bias": 10e-6,
         "r_f": 100e3, "r_g": 1e3, "c_g": 47e-6, "c_out": 10e-6, "r_load": 10e3}  # fmt: skip


def test_leakage_in_a_stage():
    # Own figures (job step 22): 47 uF, 16 V: 7.5 uA through Rf = 100k moves the output by 0.75 V, not
    # times the gain; 3 uA through a 50k divider moves the bias by 150 mV.
    stage = sr.stage("noninverting", supply=9, **PARTS)
    found = sr.operating_point(stage, leakage="electrolytic", rated_voltage=16.0)
    assert found.errors("amp_out")["leakage of c_g"] == pytest.approx(0.752, rel=1e-6)
    assert found.errors("bias")["leakage of c_bias"] == pytest.approx(-0.150, rel=1e-6)


@pytest.mark.parametrize(
    ("current", "resistance", "expected"),
    [(45e-9, 150e3, 7e-3), (300e-9, 1.05e6, 0.3), (1e-12, 1.05e6, 1e-6)],
)
def test_bias_current_through_the_bias_resistor(current, resistance, expected):
    # Own figures (job step 8): 45 nA * 150k = 7 mV; 300 nA * 1 M = 0.3 V; 1 pA * 1 M = 1 uV.
    amplifier = OpAmp("a", 1e6, dc_gain=1e12, bias_current=current)
    stage = sr.stage("noninverting", supply=9, opamp=amplifier, **PARTS | {"r_bias": resistance - 50e3})
    moved = sr.operating_point(stage).errors("plus")["bias current"]
    assert moved == pytest.approx(-current * resistance, rel=1e-9)
    assert -moved == pytest.approx(expected, rel=0.06)
