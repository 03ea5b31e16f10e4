"""Loop gain of stages against matrices, and the parts that change the margin."""

import math

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.bias_follower import bias_follower, follower_loop
from singlerail_nb.analysis.stability import loop_gain, margin_against_load
from singlerail_nb.circuit.opamp import OpAmp
from singlerail_nb.circuit.opamp_library import opamp, opamps
from singlerail_nb.errors import QuantityError, UnknownNameError
from tests.networks import solved

PARTS = {"r_source": 600, "c_in": 330e-9, "r_bias": 100e3, "r_top": 100e3, "r_bottom": 100e3, "c_bias": 10e-6,
         "r_f": 100e3, "r_g": 10e3, "c_g": 10e-6}  # fmt: skip
AMPLIFIER = OpAmp("a", 5e6, dc_gain=1e5, output_resistance=200.0, input_capacitance=6e-12, phase_margin=60.0)


def gain_stage(amplifier=AMPLIFIER, **changes):
    return sr.stage("noninverting", supply=9, opamp=amplifier, **PARTS | changes)


@pytest.mark.parametrize("f", [10.0, 1e3, 1e5, 3e6])
def test_loop_gain_agrees_with_matrices(f):
    stage = gain_stage(c_f=2e-12)
    branches = [
        ("drive", "amp_out", lambda _: 1 / 200.0), ("amp_out", "ground", lambda s: s * 1e-9),
        ("amp_out", "minus", lambda s: 1 / 100e3 + s * 2e-12), ("minus", "leg", lambda _: 1 / 10e3),
        ("leg", "ground", lambda s: s * 10e-6), ("minus", "ground", lambda s: s * 6e-12),
    ]  # fmt: skip
    idle = ("drive", "drive", "spare", lambda _: 1.0)
    volts = solved(["drive", "amp_out", "minus", "leg", "spare"], branches, idle, f, source={"drive": 1.0})
    s = 2j * math.pi * f
    gain = 1 / (1e-5 + s / (2 * math.pi * 5e6)) / (1 + s / (2 * math.pi * AMPLIFIER.second_pole_frequency))
    found = loop_gain(stage, load_capacitance=1e-9)(f)
    assert complex(found) == pytest.approx(gain * volts["minus"], rel=1e-9)


@pytest.mark.parametrize("name", opamps())
def test_follower_has_the_margin_of_the_data_sheet(name):
    rail = min(9.0, opamp(name).supply_max)
    parts = {part: value for part, value in PARTS.items() if part not in {"r_f", "r_g", "c_g"}}
    loop = loop_gain(sr.stage("follower", supply=rail, opamp=opamp(name), **parts))
    assert loop.phase_margin == pytest.approx(opamp(name).phase_margin, abs=1e-3)


def test_stray_capacitance_costs_margin_and_the_feedback_capacitor_pays_it_back():
    stray = OpAmp("a", 5e6, input_capacitance=20e-12)
    parts = {"r_f": 1e6, "r_g": 1e6}
    bare, cured = loop_gain(gain_stage(stray, **parts)), loop_gain(gain_stage(stray, c_f=20e-12, **parts))
    assert bare.phase_margin < 20.0
    assert cured.phase_margin > 85.0


def test_margin_and_closed_loop_poles_agree():
    # Heavier load: the margin falls through zero exactly where a closed-loop pole crosses over.
    slow = OpAmp("a", 1e6, output_resistance=300.0, second_pole=0.3e6)
    for capacitance in np.geomspace(1e-10, 1e-6, 25):
        loop = follower_loop(slow, capacitance)
        assert loop.is_stable == (loop.phase_margin > 0)
    assert not follower_loop(slow, 1e-8).is_stable
    assert follower_loop(slow, 1e-8, isolation=100.0).is_stable


def test_closed_loop_poles_are_those_of_the_stage():
    plain = OpAmp("a", 1e6, dc_gain=1e5)
    stage = gain_stage(plain)
    loop = loop_gain(stage)
    closed = loop.function
    noise_gain = stage.transfer("signal", "amp_out").poles()
    values = np.abs(closed(noise_gain.astype(complex)) + 1.0)
    # Poles that the loop does not see (bias filter, input coupling) stay away from T = -1.
    assert (values < 1e-6).sum() == 2


def test_sweep_and_load_node():
    sweep = margin_against_load(gain_stage(), [0.0, 1e-10, 1e-8])
    assert sweep.phase_margin.shape == (3,)
    assert (np.diff(sweep.phase_margin) < 0).all()
    assert sweep.phase_margin[0] == loop_gain(gain_stage()).phase_margin
    coupled = gain_stage(c_out=1e-5, r_load=1e4)
    behind = loop_gain(coupled, load_capacitance=1e-8, load_node="output").phase_margin
    assert behind == pytest.approx(loop_gain(coupled, load_capacitance=1e-8).phase_margin, rel=1e-3)


def test_loop_without_crossover_has_all_the_margin():
    loop = loop_gain(gain_stage(OpAmp("a", 1e3, dc_gain=0.9)))
    assert loop.crossovers.size == 0
    assert (loop.phase_margin, loop.crossover, loop.is_stable) == (math.inf, 0.0, True)


def test_bias_buffer_of_a_stage():
    buffered = sr.stage("noninverting", supply=9, opamp=AMPLIFIER, bias="buffered_divider",
                        r_isolation=47, c_buffer=1e-6, **PARTS)  # fmt: skip
    alone = follower_loop(AMPLIFIER, 1e-6, isolation=47.0).phase_margin
    assert loop_gain(buffered, "bias_opamp").phase_margin == pytest.approx(alone, abs=1.0)


def test_bad_input_is_named():
    with pytest.raises(QuantityError, match="ideal"):
        loop_gain(gain_stage(None))
    with pytest.raises(QuantityError, match="load_capacitance"):
        loop_gain(gain_stage(), load_capacitance=-1e-12)
    with pytest.raises(UnknownNameError, match="opamp"):
        loop_gain(gain_stage(), "opam")
    with pytest.raises(UnknownNameError, match="output"):
        loop_gain(gain_stage(), load_capacitance=1e-9, load_node="outptu")
    with pytest.raises(QuantityError, match="bias follower"):
        bias_follower(AMPLIFIER, 0.0)
