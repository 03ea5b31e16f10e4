"""Frequency response: the data are those of the network, the drawing shows the data."""

import math

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.errors import CircuitError, QuantityError
from singlerail_nb.plots.picture import new_axes
from singlerail_nb.plots.response import (
    DEPTH_DB,
    ResponseData,
    draw_gain,
    draw_phase,
    response_data,
    response_text,
    sensible_span,
)
from tests.referee import solve_numpy

PARTS = {"r_source": 0, "c_in": "1u", "r_bias": "10k", "r_top": "10k", "r_bottom": "10k", "c_bias": "100u"}
FIVE = (0.7, 11.0, 230.0, 6.6e3, 3e5)


@pytest.fixture(scope="module")
def stage():
    """Return the contact-pickup stage of a hive monitor with an invented op-amp."""
    return sr.stage(
        "noninverting", supply=5, r_source="2k2", c_in="150n", r_bias="120k", r_top="68k", r_bottom="68k",
        c_bias="10u", r_f="75k", r_g="2k4", c_g="15u", c_out="4u7", r_load="15k",
        opamp=sr.OpAmp("invented", 2e6, source="invented"),
    )  # fmt: skip


@pytest.fixture(scope="module")
def data(stage):
    pair = [("whole", stage.transfer("signal", "output")), ("plus", stage.transfer("signal", "plus"))]
    return response_data(pair, 0.5, 1e6)


def test_the_data_are_those_of_the_network(stage, data):
    assert data.frequency[[0, -1]] == pytest.approx([0.5, 1e6])
    steps = np.diff(np.log(data.frequency))
    assert steps == pytest.approx(np.full(len(steps), steps[0]))
    for curve, node in zip(data.curves, ("output", "plus"), strict=True):
        for f in FIVE:
            i = int(np.argmin(np.abs(data.frequency - f)))
            exact = stage.transfer("signal", node)(data.frequency[i])
            by_referee = solve_numpy(stage, data.frequency[i], source="signal")[node][0]
            assert exact == pytest.approx(by_referee, rel=1e-9)
            assert curve.gain_db[i] == pytest.approx(20 * math.log10(abs(exact)), rel=1e-12)
            turns = (curve.phase[i] - math.degrees(np.angle(exact))) / 360.0
            assert turns == pytest.approx(round(turns), abs=1e-9)
        assert np.abs(np.diff(curve.phase)).max() < 45.0  # no jump of a full turn


def test_cut_offs_are_marked_where_the_gain_has_lost_half_its_power(stage, data):
    whole = stage.transfer("signal", "output")
    assert [name for name, *_ in data.marks] == ["low-end cut-off", "top-end cut-off"]
    expected = 20 * math.log10(whole.midband_gain() / math.sqrt(2))
    for (_, f, gain), cutoff in zip(data.marks, (whole.low_cutoff(), whole.high_cutoff()), strict=True):
        assert f == cutoff
        assert gain == pytest.approx(expected, abs=1e-9)


def test_a_cut_off_out_of_sight_is_not_marked(stage):
    whole = [("whole", stage.transfer("signal", "output"))]
    assert [n for n, *_ in response_data(whole, 100, 1e6).marks] == ["top-end cut-off"]
    assert response_data(whole, 100, 1e3).marks == ()


@pytest.mark.parametrize(("low", "high"), [(100.0, 10.0), (0.0, 10.0), (-1.0, 10.0), (5.0, 5.0)])
def test_an_empty_range_is_refused(stage, low, high):
    with pytest.raises(QuantityError, match=r"frequency range: got .*0 < low < high"):
        response_data([("whole", stage.transfer("signal", "output"))], low, high)


def test_the_usual_range_shows_every_corner(stage):
    whole = stage.transfer("signal", "output")
    low, high = sensible_span(whole)
    corners = np.abs(np.concatenate([whole.poles(), whole.zeros()])) / (2 * math.pi)
    corners = corners[corners > 0]
    assert low < corners.min()
    assert corners.max() < high
    for end in (low, high):
        assert math.log10(end) == pytest.approx(round(math.log10(end)), abs=1e-9)
    flat = sr.stage("follower", supply=5, r_source=0, c_in="1u", r_bias="1M", r_top="1M", r_bottom="1M",
                    c_bias="1u").transfer("signal", "signal")  # fmt: skip
    assert sensible_span(flat) == (1.0, 1e5)


def test_the_gain_is_drawn_as_it_is(data):
    _, (ax,) = new_axes()
    draw_gain(ax, data, depth=50.0)
    curves = [line for line in ax.lines if len(line.get_xdata()) == len(data.frequency)]
    assert len(curves) == len(data.curves)
    for line, curve in zip(curves, data.curves, strict=True):
        assert np.array_equal(line.get_xdata(), data.frequency)
        assert np.array_equal(line.get_ydata(), curve.gain_db)
    marks = [(line.get_xdata()[0], line.get_ydata()[0]) for line in ax.lines if len(line.get_xdata()) == 1]
    assert marks == [(f, gain) for _, f, gain in data.marks]
    top = max(curve.gain_db.max() for curve in data.curves)
    assert ax.get_ylim() == pytest.approx((top - 50.0, top + 4.0))
    assert ax.get_xscale() == "log"
    assert ax.get_ylabel() == "gain, dB"
    words = [text.get_text() for text in ax.texts]
    assert "whole" in words
    assert "plus" in words
    assert any(text.startswith("low-end cut-off\n") and text.endswith("Hz") for text in words)


def test_one_line_needs_no_name(data):
    _, (ax,) = new_axes()
    draw_gain(ax, ResponseData(data.frequency, data.curves[:1], ()))
    assert [text.get_text() for text in ax.texts] == []


def test_the_phase_is_drawn_as_it_is(data):
    _, (ax,) = new_axes()
    draw_phase(ax, data)
    for line, curve in zip(ax.lines, data.curves, strict=True):
        assert np.array_equal(line.get_ydata(), curve.phase)
    assert ax.get_ylabel() == "phase, degrees"
    assert all(tick % 45 == 0 for tick in ax.get_yticks())
    styles = {
        (line.get_color(), str(line.get_linestyle()), line._unscaled_dash_pattern[1]) for line in ax.lines
    }
    assert len(styles) == len(data.curves)


def test_the_words_carry_the_numbers(stage):
    whole = stage.transfer("signal", "output")
    text = response_text("Hive pickup", whole)
    assert text.startswith("Hive pickup: mid-band gain ")
    assert f"{whole.low_cutoff():.4g} Hz" in text
    assert f"({20 * math.log10(whole.midband_gain()):.4g} dB)" in text
    assert "kHz" in text
    ideal = sr.stage("noninverting", supply=5, **dict(stage.values))
    assert "no top-end cut-off" in response_text("x", ideal.transfer("signal", "output"))
    assert "flat down to DC" in response_text("x", ideal.bias_filter())


def test_the_response_picture_has_gain_above_phase(stage):
    picture = sr.response_picture(stage, 1, 1e6)
    upper, lower = picture.figure.axes
    assert upper.get_ylabel() == "gain, dB"
    assert lower.get_ylabel() == "phase, degrees"
    assert lower.get_xlabel() == "frequency"
    assert stage.title in upper.get_title(loc="left")
    assert upper.get_xlim() == lower.get_xlim() == (1.0, 1e6)
    assert picture.text == response_text(stage.title, stage.transfer("signal", "output"))


def test_sections_multiply_to_the_whole(stage):
    picture = sr.sections_picture(stage, 1, 1e6)
    (ax,) = picture.figure.axes
    lines = [line for line in ax.lines if len(line.get_xdata()) > 1]
    whole, *sections = [np.asarray(line.get_ydata()) for line in lines]
    assert whole == pytest.approx(np.sum(sections, axis=0), abs=1e-9)
    names = [text.get_text() for text in ax.texts]
    assert {"whole stage", "signal to plus", "plus to amp_out", "amp_out to output"} <= set(names)
    assert len(picture.text.splitlines()) == 1 + len(sections)


def test_the_bias_filter_picture_states_the_ripple_passed_on(stage):
    picture = sr.bias_filter_picture(stage)
    (ax,) = picture.figure.axes
    assert len(ax.lines) == 2
    assert ax.get_ylabel() == "ripple passed on, dB"
    to_bias = stage.transfer("supply", "bias").magnitude_db(100.0)
    to_output = stage.transfer("supply", "output").magnitude_db(1e3)
    first, second = picture.text.splitlines()
    assert first.startswith(f"supply to bias: {to_bias:.4g} dB at 100 Hz")
    assert second.endswith(f"{to_output:.4g} dB at 1 kHz")


def test_a_bias_without_ripple_has_no_such_picture():
    parts = {"r_source": 0, "c_in": "1u", "r_bias": "100k", "reference": 4.1, "r_reference": "100"}
    follower = sr.stage("follower", supply=9, bias="reference", **parts)
    with pytest.raises(CircuitError, match="made from the rail"):
        sr.bias_filter_picture(follower)


# The range of frequencies.


@pytest.mark.parametrize("gain", [2, 1000])
def test_no_decade_below_the_drawn_depth(gain):
    stage = sr.stage("noninverting", supply=9, **PARTS, r_f=(gain - 1) * 1e3, r_g="1k", c_g="10u")
    whole = stage.transfer("signal", "output")
    left, right = sr.response_picture(stage).figure.axes[0].get_xlim()
    deepest = whole.magnitude_db(1e5) - DEPTH_DB
    assert whole.magnitude_db(left) <= deepest or left == pytest.approx(sensible_span(whole)[0])
    assert whole.magnitude_db(10 * left) >= deepest
    assert right > 10 * whole.low_cutoff()


def test_a_stage_that_is_flat_down_to_dc_is_drawn_about_its_top_end():
    stage = sr.stage("shift_down", supply=5, reference=2.5, opamp=sr.opamp("PRC"), r_source=0, r_f="68k",
                     r_g="6k2", r_ref_top="27k", r_ref_bottom="2k2")  # fmt: skip
    whole = stage.transfer("signal", "output")
    left, right = sr.response_picture(stage).figure.axes[0].get_xlim()
    assert left < whole.high_cutoff() < right


def test_a_range_that_is_given_is_kept():
    stage = sr.stage("follower", supply=9, **PARTS)
    assert sr.response_picture(stage, 2.0, 500.0).figure.axes[0].get_xlim() == (2.0, 500.0)
