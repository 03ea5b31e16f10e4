"""Noise pictures: densities and shares are those of the analysis, the drawing shows them."""

import math

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.circuit.typeset import part_label
from singlerail_nb.errors import QuantityError, UnknownNameError
from singlerail_nb.plots.noise import (
    LARGEST,
    draw_density,
    draw_shares,
    noise_data,
    noise_picture,
    noise_shares_picture,
    noise_text,
)
from singlerail_nb.plots.picture import new_axes

LOW, HIGH = 60.0, 10e3


@pytest.fixture(scope="module")
def hiss():
    stage = sr.stage("noninverting", supply=9, opamp=sr.opamp("GPB"), r_source="2k2", c_in="68n",
                     r_bias="47k", r_top="30k", r_bottom="30k", c_bias="2u2", r_f="82k",
                     r_g="2k", c_g="6u8")  # fmt: skip
    return sr.noise(stage)


@pytest.fixture(scope="module")
def data(hiss):
    return noise_data(hiss, LOW, HIGH)


def test_data_are_those_of_the_analysis(hiss, data):
    assert data.frequency[[0, -1]] == pytest.approx([LOW / 10, HIGH * 10])
    assert data.total == pytest.approx(hiss.density(data.frequency), rel=1e-12)
    by_source = hiss.density_by_source(data.frequency)
    assert len(data.largest) == LARGEST
    for name, density in data.largest.items():
        assert np.array_equal(density, by_source[name])
    assert data.rms == hiss.rms(LOW, HIGH)


def test_the_parts_make_the_whole(hiss, data):
    assert sum(data.shares.values()) == pytest.approx(1.0, rel=1e-9)
    in_band = hiss.rms_by_source(LOW, HIGH)
    for name, share in data.shares.items():
        assert share == pytest.approx((in_band[name] / data.rms) ** 2)
    assert list(data.shares.values()) == sorted(data.shares.values(), reverse=True)
    assert list(data.largest) == list(data.shares)[:LARGEST]
    # The band figure again, from the drawn curve by the trapezoid rule.
    f = np.geomspace(LOW, HIGH, 4001)
    assert math.sqrt(np.trapezoid(hiss.density(f) ** 2, f)) == pytest.approx(data.rms, rel=1e-5)


def test_densities_are_drawn_as_they_are(data):
    figure, (ax,) = new_axes()
    draw_density(ax, data)
    curves = [data.total, *data.largest.values()]
    assert len(ax.lines) == len(curves)
    for line, density in zip(ax.lines, curves, strict=True):
        assert np.array_equal(line.get_xdata(), data.frequency)
        assert np.array_equal(line.get_ydata(), density)
    assert ax.get_xscale() == ax.get_yscale() == "log"
    low, high = ax.get_ylim()
    assert low < data.total.min()
    assert data.total.max() < high
    words = {text.get_text() for axes in figure.axes for text in axes.texts}
    assert words == {"everything", *map(part_label, data.largest)}
    assert ax.yaxis.get_major_formatter()(1e-6) == "1 µV/√Hz"


def test_shares_are_drawn_as_they_are(data):
    _, (ax,) = new_axes()
    draw_shares(ax, data)
    shown = {name: share for name, share in data.shares.items() if share >= 0.001}
    assert [label.get_text() for label in ax.get_yticklabels()] == [part_label(name) for name in shown]
    assert [bar.get_width() for bar in ax.patches] == pytest.approx([100 * share for share in shown.values()])
    heights = [bar.get_y() for bar in ax.patches]
    assert heights == sorted(heights, reverse=True)  # the largest on top
    assert [text.get_text() for text in ax.texts] == [f"{100 * share:.3g} %" for share in shown.values()]
    assert "%" in ax.get_xlabel()


@pytest.mark.parametrize("draw", [noise_picture, noise_shares_picture])
def test_pictures_say_their_numbers(hiss, draw):
    picture = draw(hiss, LOW, HIGH, "plus")
    data = noise_data(hiss, LOW, HIGH, "plus")
    assert picture.text == noise_text(data, LOW, HIGH, "plus")
    assert picture.text.startswith(f"noise at plus, 60 Hz to 10 kHz: {1e9 * data.rms:.4g} nVrms")
    name, share = next(iter(data.shares.items()))
    assert f"{name} {100 * share:.3g} %" in picture.text


@pytest.mark.parametrize("draw", [noise_picture, noise_shares_picture])
def test_what_cannot_be_drawn_is_named(hiss, draw):
    with pytest.raises(QuantityError):
        draw(hiss, HIGH, LOW)
    with pytest.raises(UnknownNameError, match="nowhere"):
        draw(hiss, LOW, HIGH, "nowhere")


def test_the_band_is_read_with_its_units_and_refused_if_empty(hiss):
    assert sr.noise_picture(hiss, "60 Hz", "10 kHz").text == noise_picture(hiss, LOW, HIGH).text
    for picture in (noise_picture, noise_shares_picture):
        with pytest.raises(QuantityError, match="low: got loud"):
            picture(hiss, "loud", HIGH)
        with pytest.raises(QuantityError, match="0 Hz < f_low < f_high"):
            picture(hiss, 0.0, HIGH)
