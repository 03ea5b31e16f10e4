"""Noise over one part: against closed forms, and drawn as it is."""

import math

import numpy as np
import pytest
from scipy.constants import Boltzmann

import singlerail_nb as sr
from singlerail_nb.circuit.typeset import part_label
from singlerail_nb.errors import QuantityError, UnknownNameError
from singlerail_nb.plots.noise_sweep import noise_sweep, noise_sweep_picture, noise_sweep_text

VALUES = np.geomspace(10e3, 1e6, 9)


@pytest.fixture(scope="module")
def stage():
    """Return a stage whose bias node and coupling are stiff at 1 kHz."""
    return sr.stage("follower", supply=9, opamp=sr.opamp("GPB"), r_source=600, c_in="100u", r_bias="100k",
                    r_top="10k", r_bottom="10k", c_bias="1000u")  # fmt: skip


@pytest.fixture(scope="module")
def data(stage):
    stages = {"600 ohm": stage, "100 kilohm": stage.with_parts(r_source="100k")}
    return noise_sweep(stages, "r_bias", VALUES, 1e3, "plus", ["r_bias"])


def test_noise_of_the_bias_resistor_in_closed_form(data):
    # A resistor across the source: sqrt(4 k T / R) into the two in parallel.
    for name, source in (("600 ohm", 600.0), ("100 kilohm", 100e3)):
        both = VALUES * source / (VALUES + source)
        assert data.density[name] == pytest.approx(np.sqrt(4 * Boltzmann * 300 / VALUES) * both, rel=1e-3)
    assert (np.diff(data.density["600 ohm"]) < 0).all()
    assert np.argmax(data.density["100 kilohm"]) == 4  # loudest where it equals the source


def test_all_contributors_unless_some_are_named(stage):
    some = [0.5e-6, 1e-6]
    found = noise_sweep({"x": stage}, "c_in", some, 100.0, "output")
    assert found.unit == "F"
    for value, density in zip(some, found.density["x"], strict=True):
        assert density == pytest.approx(sr.noise(stage.with_parts(c_in=value)).density(100.0), rel=1e-12)


def test_curves_are_drawn_as_they_are(data):
    picture = noise_sweep_picture(data, "noise of the bias resistor")
    ax = picture.figure.axes[0]
    for line, density in zip(ax.lines, data.density.values(), strict=True):
        assert np.array_equal(line.get_xdata(), data.values)
        assert np.array_equal(line.get_ydata(), density)
    low, high = ax.get_ylim()
    assert low < min(d.min() for d in data.density.values())
    assert high > max(d.max() for d in data.density.values())
    assert ax.get_xlabel() == part_label("r_bias")
    assert ax.xaxis.get_major_formatter()(1e5) == "100 kΩ"
    assert {t.get_text() for axes in picture.figure.axes for t in axes.texts} == set(data.density)


def test_words_name_the_ends_and_the_peak(data):
    falling, peaked = noise_sweep_text(data).splitlines()
    assert falling.count(" at ") == 2
    assert peaked.count(" at ") == 3
    top = data.density["100 kilohm"].max()
    assert f"{1e9 * top:.3g} nV/√Hz at 100 kΩ" in peaked
    assert math.isclose(top, math.sqrt(4 * Boltzmann * 300 / 1e5) * 50e3, rel_tol=1e-3)


def test_bad_input_is_named(stage):
    with pytest.raises(QuantityError, match="values of r_bias"):
        noise_sweep({"x": stage}, "r_bias", [2e3, 1e3], 1e3)
    with pytest.raises(QuantityError, match="values of r_bias"):
        noise_sweep({"x": stage}, "r_bias", [1e3], 1e3)
    with pytest.raises(UnknownNameError, match="r_nothing"):
        noise_sweep({"x": stage}, "r_nothing", [1e3, 2e3], 1e3)
    with pytest.raises(UnknownNameError, match="r_loud"):
        noise_sweep({"x": stage}, "r_bias", [1e3, 2e3], 1e3, sources=["r_loud"])
