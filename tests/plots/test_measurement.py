"""The comparison picture draws what the comparison says."""

import numpy as np
import pytest
from matplotlib.figure import Figure

from singlerail_nb.measurement.comparison import compare
from singlerail_nb.measurement.reading import read_measurement
from singlerail_nb.plots.measurement import (
    comparison_data,
    comparison_picture,
    draw_comparison,
    draw_difference,
)
from tests.measurement.bench import TOLERANCE, channel, sweep


@pytest.fixture(scope="module")
def found():
    stage = channel()
    lines = sweep(stage.with_parts(c_in="190n"), noise=0.02).splitlines()
    lines[30] = lines[30].split(";")[0] + ";30"
    return compare(stage, read_measurement("\n".join(lines)), tolerance=TOLERANCE)


def test_data_are_those_of_the_comparison(found):
    data = comparison_data(found)
    np.testing.assert_array_equal(data.measured, found.measured)
    np.testing.assert_array_equal(data.difference, found.difference)
    np.testing.assert_allclose(np.interp(np.log(found.at), np.log(data.curve_at), data.high), found.band[1],
                               atol=0.02)  # fmt: skip
    assert data.fitted is None
    assert (data.low < data.predicted).all()
    assert (data.predicted < data.high).all()


def test_points_outside_have_a_mark_of_their_own(found):
    ax = Figure().subplots()
    draw_comparison(ax, comparison_data(found))
    lines = {line.get_label(): line for line in ax.get_lines()}
    assert lines["measured"].get_marker() == "o"
    assert lines["measured, outside"].get_xydata().tolist() == [[found.at[29], 30.0]]


def test_a_fit_is_drawn_and_lowers_the_difference(found):
    fit = found.fit(("c_in",))
    data = comparison_data(found, fit)
    ax = Figure().subplots()
    draw_difference(ax, data)
    curve = next(line for line in ax.get_lines() if line.get_label() == "fitted")
    np.testing.assert_allclose(curve.get_ydata(), data.fitted - data.predicted)
    at_lowest = abs(data.fitted[0] - data.measured[0]), abs(data.predicted[0] - data.measured[0])
    assert at_lowest[0] < 0.3 * at_lowest[1]


def test_picture_says_its_numbers(found):
    fit = found.fit(("c_in",))
    picture = comparison_picture(found, fit)
    assert found.text in picture.text
    assert fit.text in picture.text
    assert picture.png().startswith(b"\x89PNG")


def test_long_records_are_thinned():
    stage = channel()
    data = comparison_data(compare(stage, read_measurement(sweep(stage, points=5000)), tolerance=0.05))
    assert data.at.size <= 2000
    assert data.at[0] == pytest.approx(3.0)
