"""A signal riding on its bias: what is cut, what remains, and what the picture says about it."""

import math

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.errors import QuantityError
from singlerail_nb.plots.waveforms import PERIODS, waveforms

PARTS = {"r_source": 0, "c_in": "1u", "r_bias": "100k", "c_bias": "100u"}
COUPLED = {"c_out": "100u", "r_load": "100k"}
HIVE = 300.0


def follower(*, lifted=True, **parts):
    divider = {"r_top": "100k", "r_bottom": "100k"} if lifted else {"r_top": "10M", "r_bottom": "1"}
    return sr.stage("follower", supply=9, **divider, **PARTS, **parts)


def test_without_a_bias_the_output_keeps_the_upper_half_alone():
    _, (plus, output) = waveforms(follower(lifted=False), 1.0, HIVE, ["plus", "amp_out"])
    assert plus.span == pytest.approx((-1.0, 1.0), abs=1e-4)
    assert output.span == pytest.approx((0.0, 1.0), abs=1e-4)
    assert (plus.limited, output.limited) == (False, True)


def test_with_a_bias_the_sine_rides_on_half_the_rail():
    time, (output,) = waveforms(follower(), 1.0, HIVE, ["amp_out"])
    assert time[-1] == pytest.approx(PERIODS / HIVE)
    assert not output.limited
    assert output.span == pytest.approx((3.5, 5.5), abs=1e-3)
    expected = 4.5 + np.sin(2 * math.pi * HIVE * time)
    assert output.voltage == pytest.approx(expected, abs=0.01)  # a small lead: the coupling is a high-pass


def test_a_cut_wave_keeps_its_shape_behind_the_output_capacitor():
    _, (amplifier, output) = waveforms(follower(**COUPLED), 6.0, HIVE, ["amp_out", "output"])
    assert amplifier.span == (0.0, 9.0)
    assert output.span == pytest.approx((-4.5, 4.5), abs=0.02)
    assert output.voltage == pytest.approx(amplifier.voltage - 4.5, abs=0.02)


def test_the_text_states_what_the_picture_shows():
    text = sr.riding_picture(follower(lifted=False), 1.0, HIVE).text.splitlines()
    assert text == [
        "signal: rests at 0 V, carries 1 Vp",
        "plus: rests at 0 V, carries 1 Vp",
        "amp_out: would rest at 0 V and carry 1 Vp; cut at the rails, it moves between 0 V and 1 V",
    ]


def test_an_output_beyond_the_rail_stays_at_it():
    parts = {**PARTS, "r_top": "100k", "r_bottom": "100k", "r_f": "39k", "r_g": "1k"}
    stage = sr.stage("leg_without_capacitor", supply=9, **parts)
    text = sr.riding_picture(stage, 0.01, HIVE, ["amp_out"]).text
    assert text.endswith("would rest at 180 V and carry 400 mVp; cut at the rails, it stays at 9 V")


def test_the_whole_wave_is_in_the_picture():
    (axes,) = sr.riding_picture(follower(), 6.0, HIVE).figure.axes
    low, high = axes.get_ylim()
    assert low < -6.0
    assert high > 10.5


@pytest.mark.parametrize(("amplitude", "frequency"), [(0.0, HIVE), (-1.0, HIVE), (1.0, 0.0), (1.0, math.inf)])
def test_no_wave_without_amplitude_and_frequency(amplitude, frequency):
    with pytest.raises(QuantityError, match="positive"):
        waveforms(follower(), amplitude, frequency, ["plus"])
