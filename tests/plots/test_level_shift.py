"""A level shift drawn as it is: the line, the window, the error of its parts."""

from dataclasses import replace

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.plots.level_shift import draw_error, draw_line, level_shift_data, level_shift_picture
from singlerail_nb.plots.picture import new_axes

CASES = {
    "rising": [(0.2, 0.3), (0.6, 4.0)],
    "falling": [(1.0, 4.0), (2.0, 1.0)],
    "from above": [(0.6, 4.0), (0.2, 0.3)],
}


@pytest.fixture(params=CASES.values(), ids=CASES)
def shift(request):
    return sr.level_shift(
        points=request.param, reference=2.5, supply=5, supply_min=4.4, opamp=sr.opamp("PRC")
    )


def test_the_line_goes_through_both_points(shift):
    data = level_shift_data(shift)
    for x, y in shift.wanted.points:
        assert np.interp(x, data.input, data.wanted) == pytest.approx(y, abs=1e-9)
    assert data.input[0] < min(shift.wanted.inputs)
    assert data.input[-1] > max(shift.wanted.inputs)


def test_the_dashed_line_is_what_the_parts_give(shift):
    data = level_shift_data(shift)
    for x in (data.input[0], data.input[-1]):
        ideal = replace(shift.stage, opamp=None)
        volts = sr.operating_point(ideal, signal=float(x)).voltage("output")
        assert np.interp(x, data.input, data.chosen) == pytest.approx(volts, rel=1e-9)


def test_drawn_as_they_are(shift):
    data = level_shift_data(shift)
    _, (upper, lower) = new_axes(2)
    draw_line(upper, data)
    draw_error(lower, data)
    assert any(np.array_equal(line.get_ydata(), data.wanted) for line in upper.lines)
    assert any(np.array_equal(line.get_ydata(), data.chosen - data.wanted) for line in lower.lines)
    words = " ".join(text.get_text() for text in upper.texts)
    assert "lowest rail: 100 mV" in words
    assert "lowest rail: 4.3 V" in words
    assert words.count(" gives ") == 2
    low, high = upper.get_ylim()
    assert low < data.window[0] < data.window[1] < high


def test_the_words_have_the_numbers(shift):
    text = level_shift_picture(shift).text
    for end in shift.ends:
        assert str(end) in text
    assert "100 mV to 4.3 V" in text.splitlines()[0]
