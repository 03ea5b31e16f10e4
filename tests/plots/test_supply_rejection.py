"""Ripple at a node by its two paths: data against the analysis, drawn lines, words."""

import math

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.errors import QuantityError
from singlerail_nb.plots.picture import new_axes
from singlerail_nb.plots.supply_rejection import draw_passed_on, rejection_data, rejection_picture
from singlerail_nb.quantities import write_quantity
from tests.referee import solve_numpy

LINES = (100.0, 2e3)


@pytest.fixture(scope="module")
def stage():
    """Return the line stage of a hive monitor with an invented op-amp."""
    return sr.stage(
        "inverting", supply=12, r_source="1k", c_in="1u", r_in="12k", r_f="47k", r_top="62k", r_bottom="56k",
        c_bias="3u3", c_out="4u7", r_load="10k", opamp=sr.opamp("GPB"),
    )  # fmt: skip


@pytest.fixture(scope="module")
def rejection(stage):
    return sr.supply_rejection(stage)


def test_the_bias_path_is_that_of_the_network(stage, rejection):
    data = rejection_data(rejection, LINES, 1.0, 1e5)
    for i in (0, 150, 399):
        volts = solve_numpy(stage, data.frequency[i], source="supply")["output"][0]
        assert data.paths["through the bias"][i] == pytest.approx(20 * math.log10(abs(volts)), abs=1e-6)


def test_the_op_amp_path_is_the_noise_gain_over_the_rejection(rejection):
    """In mid-band the record's 95 dB with its corner at 10 Hz, times 1 + 47k/13k."""
    data = rejection_data(rejection, (), 999.0, 1001.0)
    volts = 10 ** (-95 / 20) * math.hypot(1, 100) * (1 + 47 / 13)
    assert data.paths["through the op-amp"].mean() == pytest.approx(20 * math.log10(volts), abs=0.05)


def test_both_is_a_sum_of_phasors_not_of_decibels(rejection):
    data = rejection_data(rejection, LINES, 10.0, 1e5)
    bias, opamp = (rejection.bias_path(data.frequency), rejection.opamp_path(data.frequency))
    assert data.paths["both"] == pytest.approx(20 * np.log10(np.abs(bias + opamp)), abs=1e-9)
    below = data.paths["both"] < np.maximum(data.paths["through the bias"], data.paths["through the op-amp"])
    assert below.any()  # where they partly cancel


def test_lines_and_marks_are_drawn_as_they_are(rejection):
    data = rejection_data(rejection, LINES, 1.0, 1e6)
    _, (ax,) = new_axes()
    draw_passed_on(ax, data)
    curves = [line for line in ax.lines if len(line.get_xdata()) == len(data.frequency)]
    for line, height in zip(curves, data.paths.values(), strict=True):
        assert np.array_equal(line.get_ydata(), height)
    marks = [(line.get_xdata()[0], line.get_ydata()[0]) for line in ax.lines if len(line.get_xdata()) == 1]
    assert marks == list(data.marks)
    assert {text.get_text() for text in ax.texts} == set(data.paths)
    assert len({line.get_color() for line in curves}) == 3
    _, (unnamed,) = new_axes()
    draw_passed_on(unnamed, data, named=False)
    assert list(unnamed.texts) == []


def test_a_path_that_lets_nothing_through_is_said_and_not_drawn(stage):
    quiet = sr.supply_rejection(sr.stage("inverting", supply=12, **stage.values))
    assert set(rejection_data(quiet).paths) == {"both", "through the bias"}
    assert "through the op-amp nothing" in rejection_picture(quiet, LINES).text


def test_the_words_have_the_numbers(rejection):
    text = rejection_picture(rejection, LINES).text
    assert text.startswith("rail to output, source connected\n")
    for f in LINES:
        (line,) = [line for line in text.splitlines() if line.startswith(f"at {write_quantity(f, 'Hz')}:")]
        assert f"both {rejection.total.magnitude_db(f):.4g} dB" in line


def test_an_empty_range_is_refused(rejection):
    with pytest.raises(QuantityError, match="frequency range"):
        rejection_data(rejection, (), 100.0, 1.0)
