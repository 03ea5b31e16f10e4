"""The loop through the rail drawn: curves, the point that decides, and its numbers in words."""

import math

import numpy as np
import pytest
from matplotlib.figure import Figure

import singlerail_nb as sr
from singlerail_nb.errors import QuantityError
from singlerail_nb.plots.picture import INK
from singlerail_nb.plots.supply_loop import (
    draw_loop_gain,
    draw_loop_phase,
    supply_loop_data,
    supply_loop_picture,
)

LISTENER = sr.stage(
    "two_stages_inverting", supply=9, bias="divider", r_source="2k2", c_in="150n", r_bias="47k", r_f="82k",
    r_g="2k", c_g="100u", c_in_2="1u", r_in_2="10k", r_f_2="20k", c_out="220u", r_load=32, r_top="30k",
    r_bottom="30k",
)  # fmt: skip
LOOPS = {"bench": sr.supply_loop(LISTENER, 0.05, "100u"), "field": sr.supply_loop(LISTENER, 5, "100u")}


@pytest.fixture(scope="module")
def data():
    return supply_loop_data(LOOPS, 1.0, 1e3)


def test_the_data_are_those_of_the_loop(data):
    for name, loop in LOOPS.items():
        turned = data.magnitude[name] * np.exp(1j * np.radians(data.phase[name]))
        assert turned == pytest.approx(loop(data.frequency), rel=1e-9)
        assert data.in_phase[name] == (loop.frequency, loop.gain)


def test_the_mark_is_full_where_it_oscillates(data):
    ax = Figure().subplots()
    draw_loop_gain(ax, data)
    marks = [line for line in ax.lines if line.get_marker() == "o"]
    assert [tuple(mark.get_xydata()[0]) for mark in marks] == [data.in_phase[name] for name in LOOPS]
    hollow = [mark.get_markerfacecolor() == "white" for mark in marks]
    assert hollow == [loop.is_stable for loop in LOOPS.values()] == [True, False]


def test_the_marks_stand_on_the_line_of_phase_zero(data):
    ax = Figure().subplots()
    draw_loop_phase(ax, data)
    (level,) = (line for line in ax.lines if line.get_color() == INK)
    marks = [line for line in ax.lines if line.get_marker() == "o"]
    assert {float(mark.get_ydata()[0]) for mark in marks} == set(level.get_ydata()) == {0.0}
    for name, mark in zip(LOOPS, marks, strict=True):
        at = LOOPS[name](float(mark.get_xdata()[0]))
        assert math.degrees(np.angle(at)) == pytest.approx(0.0, abs=1e-6)


def test_the_words_state_the_numbers():
    picture = supply_loop_picture(LOOPS)
    assert str(picture) == "\n".join(f"{name}: {loop.text}" for name, loop in LOOPS.items())
    with pytest.raises(QuantityError, match="low"):
        supply_loop_picture(LOOPS, 100.0, 10.0)
