"""Phase margins against own figures (part G, g9; job step 17) and closed forms of textbook loops."""

import math

import numpy as np
import pytest

from singlerail_nb.analysis.bias_follower import follower_loop, follower_margins
from singlerail_nb.circuit.opamp import OpAmp

AMPLIFIER = OpAmp("a", 1e6, output_resistance=300.0)
CAPACITORS = [0.1e-9, 1e-9, 10e-9, 100e-9, 1e-6, 10e-6]


def test_follower_with_a_capacitor():
    # 80, 40, 13, 4, 1.4, 0.8 degrees; the "ESR of about 0" of that table is 10 milliohm.
    found = follower_margins(AMPLIFIER, CAPACITORS, series_resistance=0.01).phase_margin
    assert found == pytest.approx([80, 40, 13, 4, 1.4, 0.8], abs=0.5)
    assert found[4:] == pytest.approx([1.4, 0.8], abs=0.05)


def test_series_resistance_helps_large_capacitors():
    found = follower_margins(AMPLIFIER, [10e-6, 100e-6], series_resistance=0.5).phase_margin
    assert found == pytest.approx([13, 40], abs=0.6)


def test_isolation_resistor_keeps_45_degrees():
    found = follower_margins(AMPLIFIER, np.geomspace(0.1e-9, 10e-6, 41), isolation=47.0)
    listed = follower_margins(AMPLIFIER, CAPACITORS, isolation=47.0)
    assert listed.enough.all()
    assert found.phase_margin.min() > 40.0


@pytest.mark.parametrize("capacitance", [1e-9, 1e-7, 1e-5])
def test_two_pole_loop_in_closed_form(capacitance):
    # T = 1/(s/wt)(1 + s/wp): |T| = 1 where u = w^2 solves u (1 + u/wp^2) = wt^2.
    ideal = OpAmp("a", 1e6, dc_gain=1e12, output_resistance=300.0)
    wt, wp = 2 * math.pi * 1e6, 1 / (300.0 * capacitance)
    u = wp**2 * (math.sqrt(1 + 4 * (wt / wp) ** 2) - 1) / 2
    loop = follower_loop(ideal, capacitance)
    assert loop.crossover == pytest.approx(math.sqrt(u) / (2 * math.pi), rel=1e-9)
    assert loop.phase_margin == pytest.approx(90 - math.degrees(math.atan(math.sqrt(u) / wp)), rel=1e-4)
    assert loop.is_stable
