"""Waking up: drawn voltages, shaded phases, blame, and the words; against a solution by steps."""

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.circuit.typeset import part_label
from singlerail_nb.plots.picture import new_axes
from singlerail_nb.plots.startup import draw_startup, startup_data, startup_picture
from singlerail_nb.plots.startup_blame import blame_data, blame_picture, draw_blame
from tests.references.startup_by_steps import GOLDEN, capacitor_voltages

NODES = ("bias", "amp_out", "output")


@pytest.fixture(scope="module")
def run():
    """Return the start-up of a stage whose gain leg is slow."""
    return sr.startup(sr.stage("noninverting", **{**GOLDEN, "c_bias": 1e-6}), low=0.0, high=1.5)


def test_voltages_and_phases_are_those_of_the_run(run):
    data = startup_data(run, NODES, until=1.2)
    assert data.time[0] == 0.0
    assert data.time[-1] == 1.2
    for node in NODES:
        assert data.voltages[node] == pytest.approx(run.voltage(node, data.time))
    _, by_steps = capacitor_voltages(
        {**GOLDEN, "c_bias": 1e-6}, data.time, ramp_time=0.0, low=0.0, high=1.5, rtol=1e-8
    )
    assert data.voltages["amp_out"][1:] == pytest.approx(by_steps[1:], abs=2e-3)
    ((start, end),) = data.saturated
    inside = (data.time > start) & (data.time < end)
    assert data.voltages["amp_out"][inside] == pytest.approx(7.5)


def test_the_usual_end_is_when_all_has_settled(run):
    data = startup_data(run, NODES)
    for node in NODES:
        assert abs(data.voltages[node][-1] - run.final_voltage(node)) <= 0.002 * 9 * 1.01


def test_lines_shading_and_names_are_drawn(run):
    data = startup_data(run, NODES)
    _, (ax,) = new_axes()
    draw_startup(ax, data, 9.0)
    curves = [line for line in ax.lines if len(line.get_xdata()) == len(data.time)]
    for line, voltage in zip(curves, data.voltages.values(), strict=True):
        assert np.array_equal(line.get_ydata(), voltage)
    assert {text.get_text() for text in ax.texts} == set(NODES)
    assert len(ax.patches) == len(data.saturated) == 1
    low, high = ax.get_ylim()
    assert low < min(v.min() for v in data.voltages.values())
    assert high > 9.0


def test_the_words_have_the_settling_times(run):
    text = startup_picture(run, NODES).text
    settled = run.settling_time("amp_out", volts=0.09)
    assert f"after {1e3 * settled:.4g} ms" in text
    assert "opamp sits at its high limit from 9.239 ms to 921.1 ms" in text
    assert "output: rests at 0 V" in text


def test_the_blame_goes_to_the_gain_leg(run):
    """10 ms of time constant, nearly a second of waiting."""
    data = blame_data(run, "amp_out")
    assert data.truth == run.settling_time("amp_out", 0.01)
    assert data.rows[0].name == "c_g"
    assert data.rows[0].five_time_constants == pytest.approx(0.05)
    assert data.truth > 15 * data.rows[0].five_time_constants
    _, (ax,) = new_axes()
    draw_blame(ax, data)
    widths = [patch.get_width() for patch in ax.patches]
    assert widths[: len(data.rows)] == pytest.approx([row.five_time_constants for row in data.rows])
    assert widths[len(data.rows) :] == pytest.approx([row.time_constant for row in data.rows])
    assert [line.get_xdata()[0] for line in ax.lines] == [data.truth]
    words = [label.get_text() for label in ax.get_yticklabels()]
    assert words[0].startswith(part_label("c_g") + ", share 99.")
    text = blame_picture(run, "amp_out").text
    assert text.startswith("amp_out has settled after 963.2 ms\nc_g: one time constant 10 ms, five 50 ms")
