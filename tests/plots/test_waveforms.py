"""A signal riding on its bias: free, cut at the rails, and behind a coupling capacitor."""

import math

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.errors import QuantityError
from singlerail_nb.plots.picture import new_axes
from singlerail_nb.plots.waveforms import PERIODS, draw_waveforms, riding_picture, waveforms
from tests.referee import solve_numpy

FREQUENCY = 330.0
PARTS = {"r_source": 0, "c_in": "1u", "r_bias": "100k", "c_bias": "100u"}
COUPLED = {"c_out": "100u", "r_load": "100k"}
HIVE = 300.0


@pytest.fixture(scope="module")
def stage():
    """Return a stage of gain 21 on 5 V with an output coupling."""
    return sr.stage(
        "noninverting", supply=5, r_source="1k", c_in="470n", r_bias="100k", r_top="47k", r_bottom="47k",
        c_bias="22u", r_f="20k", r_g="1k", c_g="22u", c_out="470n", r_load="4k7",
    )  # fmt: skip


@pytest.mark.parametrize("node", ["signal", "plus", "bias", "minus", "amp_out", "output"])
def test_a_free_wave_is_the_network_s(stage, node):
    time, (wave,) = waveforms(stage, 10e-3, FREQUENCY, [node])
    phasor = 10e-3 * solve_numpy(stage, FREQUENCY, source="signal")[node][0]
    assert not wave.limited
    assert wave.amplitude == pytest.approx(abs(phasor), rel=1e-9)
    at_rest = {"signal": 0.0, "output": 0.0}.get(node, 2.5)
    assert wave.rest == pytest.approx(at_rest, abs=1e-9)
    for i in np.linspace(0, len(time) - 1, 5).astype(int):
        angle = 2 * math.pi * FREQUENCY * time[i]
        expected = at_rest + abs(phasor) * math.sin(angle + np.angle(phasor))
        assert wave.voltage[i] == pytest.approx(expected, abs=1e-9)


def test_time_covers_the_periods_asked_for(stage):
    time, _ = waveforms(stage, 10e-3, FREQUENCY, ["plus"], periods=3.0)
    assert time[0] == 0.0
    assert time[-1] == pytest.approx(3.0 / FREQUENCY)
    assert np.all(np.diff(time) > 0)


def test_the_output_of_the_opamp_is_cut_at_the_rails(stage):
    _, (plus, output) = waveforms(stage, 0.4, FREQUENCY, ["plus", "amp_out"])
    assert output.limited
    assert (output.voltage.min(), output.voltage.max()) == (0.0, 5.0)
    assert output.amplitude == pytest.approx(0.4 * 21, rel=0.02)
    assert not plus.limited
    # The + input still carries the whole signal.
    assert np.ptp(plus.voltage) == pytest.approx(2 * plus.amplitude, rel=1e-3)


def _clipped_by_hand(stage, amplitude, samples=20_000):
    """Return one period at amp_out: time and voltage of the clipped sine, by definition."""
    phasor = amplitude * solve_numpy(stage, FREQUENCY, source="signal")["amp_out"][0]
    time = (np.arange(samples) + 0.5) / samples / FREQUENCY
    free = 2.5 + abs(phasor) * np.sin(2 * math.pi * FREQUENCY * time + np.angle(phasor))
    return time, np.minimum(np.maximum(free, 0.0), stage.supply)


@pytest.mark.parametrize("amplitude", [0.15, 0.3, 2.0])
def test_behind_the_coupling_the_cut_wave_has_no_mean_and_the_right_harmonics(stage, amplitude):
    time, (wave,) = waveforms(stage, amplitude, FREQUENCY, ["output"], periods=1.0)
    assert wave.limited
    whole = slice(0, len(time) - 1)  # one period without its repeated end
    assert np.mean(wave.voltage[whole]) == pytest.approx(0.0, abs=2e-3)

    # Independent: Fourier integrals of the clipped sine, each harmonic through the high-pass of
    # C_out and R_L by its own impedances.
    moments, clipped = _clipped_by_hand(stage, amplitude)
    for k in range(1, 8):
        turn = np.exp(-2j * math.pi * k * FREQUENCY * moments)
        harmonic = 2 * np.mean(clipped * turn)
        s = 2j * math.pi * k * FREQUENCY
        expected = harmonic * 4.7e3 / (4.7e3 + 1 / (s * 470e-9))
        got = 2 * np.mean(wave.voltage[whole] * np.exp(-2j * math.pi * k * FREQUENCY * time[whole]))
        assert got == pytest.approx(expected, abs=3e-3 * stage.supply)


def test_the_tilt_of_a_hard_cut_wave_is_that_of_the_coupling(stage):
    # 20 Vp would be wanted: nearly a square of 5 Vpp, which sags towards zero with R_L C_out.
    _, (wave,) = waveforms(stage, 20.0, FREQUENCY, ["output"], periods=1.0)
    droop = math.exp(-0.5 / FREQUENCY / (4.7e3 * 470e-9))
    # Settled square wave through a high-pass: jumps to Vpp/(1 + droop), sags to that times droop.
    assert wave.voltage.max() == pytest.approx(5.0 / (1 + droop), rel=0.02)


def test_the_summing_node_leaves_its_place_when_the_output_is_cut():
    # Inverting, gain 10, cut at both rails: the loop no longer holds the - input at the bias.
    parts = {"r_source": 0, "c_in": "100u", "r_in": "10k", "r_f": "100k"}
    bias = {"r_top": "47k", "r_bottom": "47k", "c_bias": "100u"}
    stage = sr.stage("inverting", supply=5, **parts, **bias)
    time, (free,) = waveforms(stage, 0.1, 1e3, ["minus"])
    assert free.voltage == pytest.approx(np.full(len(time), 2.5), abs=1e-6)
    time, (cut, output) = waveforms(stage, 1.0, 1e3, ["minus", "amp_out"])
    assert cut.limited
    # R_in and R_f divide between the source, 2.5 V higher behind its charged capacitor, and the output.
    by_hand = (100e3 * (2.5 + np.sin(2 * math.pi * 1e3 * time)) + 10e3 * output.voltage) / 110e3
    assert cut.voltage == pytest.approx(by_hand, abs=5e-3)


def test_the_gain_leg_sees_the_cut_output(stage):
    _, (minus, output) = waveforms(stage, 2.0, FREQUENCY, ["minus", "amp_out"])
    assert minus.limited
    # Around its rest the - input has the 1/21 of the output that R_g and R_f leave of it.
    swing = (output.voltage - np.mean(output.voltage)) / 21
    assert minus.voltage == pytest.approx(2.5 + swing, abs=0.03)


def test_the_words_say_what_is_cut(stage):
    _, (free,) = waveforms(stage, 10e-3, FREQUENCY, ["amp_out"])
    _, (cut,) = waveforms(stage, 0.4, FREQUENCY, ["amp_out"])
    assert free.text.startswith("amp_out: rests at 2.5 V, carries ")
    assert free.text.endswith("Vp")
    assert "cut at the rails" in cut.text
    assert "between 0 V and 5 V" in cut.text
    assert cut.span == (0.0, 5.0)


@pytest.mark.parametrize(
    ("amplitude", "frequency", "quantity"),
    [(0.0, 100.0, "amplitude"), (-1.0, 100.0, "amplitude"), (math.nan, 100.0, "amplitude"),
     (1.0, 0.0, "frequency"), (1.0, math.inf, "frequency")],
)  # fmt: skip
def test_nonsense_is_refused(stage, amplitude, frequency, quantity):
    with pytest.raises(QuantityError, match=f"{quantity}: got .*> 0"):
        waveforms(stage, amplitude, frequency, ["plus"])


def test_the_drawing_shows_the_waves_between_the_rails(stage):
    time, waves = waveforms(stage, 0.4, FREQUENCY, ["plus", "amp_out", "output"])
    _, (ax,) = new_axes()
    draw_waveforms(ax, stage, time, waves)
    drawn = [line for line in ax.lines if len(line.get_xdata()) == len(time)]
    for line, wave in zip(drawn, waves, strict=True):
        assert np.array_equal(line.get_ydata(), wave.voltage)
    words = [text.get_text() for text in ax.texts]
    assert {"ground", "rail 5 V", "plus", "amp_out", "output"} == set(words)
    rails = sorted(line.get_ydata()[0] for line in ax.lines if len(line.get_xdata()) == 2)
    assert rails == [0.0, 5.0]
    low, high = ax.get_ylim()
    assert low < min(wave.voltage.min() for wave in waves)
    assert high > 5.0
    assert ax.get_ylabel() == "volts to ground"


def test_the_picture_states_every_node(stage):
    picture = sr.riding_picture(stage, 0.4, FREQUENCY, ("signal", "amp_out"))
    _, waves = waveforms(stage, 0.4, FREQUENCY, ("signal", "amp_out"))
    assert picture.text.splitlines() == [wave.text for wave in waves]
    (ax,) = picture.figure.axes
    assert "400 mVp at 330 Hz" in ax.get_title(loc="left")
    assert ax.get_xlabel() == "time"


# With and without a bias.


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


def test_amplitude_and_frequency_may_be_texts(stage):
    _, (as_text,) = waveforms(stage, "50 mVp", "1 kHz", ["plus"])
    _, (as_number,) = waveforms(stage, 0.05, 1e3, ["plus"])
    np.testing.assert_array_equal(as_text.voltage, as_number.voltage)
    assert "50 mVp at 1 kHz" in riding_picture(stage, "50 mVp", "1 kHz").figure.axes[0].get_title(loc="left")
    with pytest.raises(QuantityError, match="peak voltage"):
        waveforms(stage, "1 V", "1 kHz", ["plus"])
