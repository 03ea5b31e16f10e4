"""Spread pictures: the figures of the boards, drawn as they are, with the three ways beside each other."""

import math

import numpy as np
import pytest
from matplotlib.colors import to_hex

import singlerail_nb as sr
from singlerail_nb.analysis.tolerance import root_sum_square
from singlerail_nb.circuit.level_shifts import shift_up
from singlerail_nb.errors import QuantityError, UnknownNameError
from singlerail_nb.plots.picture import COLOURS, new_axes
from singlerail_nb.plots.tolerance import (
    draw_gain_band,
    draw_histogram,
    gain_band,
    gain_band_picture,
    histogram,
    histogram_picture,
)

TOLERANCE = {"resistors": 0.01, "capacitors": 0.2}
BOARDS = 3000


@pytest.fixture(scope="module")
def stage():
    return sr.stage(
        "noninverting", supply=9, r_source="2k2", c_in="68n", r_bias="91k", r_top="56k", r_bottom="56k",
        c_bias="1u2", r_f="82k", r_g="2k", c_g="3u9", c_out="560n", r_load="10k",
    )  # fmt: skip


@pytest.fixture(scope="module")
def spread(stage):
    return sr.monte_carlo(stage, BOARDS, TOLERANCE, seed=7)


def test_band_holds_98_percent_of_boards_solved_one_by_one(stage, spread):
    f, boards = np.array([10.0, 50.0, 1000.0]), 60
    band = gain_band(spread, f, boards)
    drawn = {name: spread.part_values(name) for name in spread.tolerances.parts}
    gains = np.array(
        [
            stage.with_parts(**{name: float(v[k]) for name, v in drawn.items()})
            .transfer("signal", "output")
            .magnitude_db(f)
            for k in range(boards)
        ]
    )
    assert band.low == pytest.approx(np.percentile(gains, 1, axis=0), abs=1e-9)
    assert band.high == pytest.approx(np.percentile(gains, 99, axis=0), abs=1e-9)
    assert band.nominal == pytest.approx(stage.transfer("signal", "output").magnitude_db(f))
    assert band.boards == boards
    assert (band.low < band.nominal).all()
    assert (band.nominal < band.high).all()


def test_a_band_has_no_more_boards_than_the_run(stage):
    few = sr.monte_carlo(stage, 30, TOLERANCE)
    assert gain_band(few, [50.0]).boards == 30


def test_band_is_drawn_as_it_is(spread):
    data = gain_band(spread, np.geomspace(5, 500, 40))
    _, (ax,) = new_axes()
    draw_gain_band(ax, data)
    (line,) = ax.lines
    assert np.array_equal(line.get_ydata(), data.nominal)
    (area,) = ax.collections
    heights = area.get_paths()[0].vertices[:, 1]
    assert (heights.min(), heights.max()) == pytest.approx((data.low.min(), data.high.max()))
    assert ax.get_xlim() == pytest.approx((5, 500))


def test_band_picture_says_its_numbers(stage, spread):
    picture = gain_band_picture(spread)
    cutoff = stage.transfer("signal", "output").low_cutoff()
    assert picture.text.startswith(f"lowest frequency, {cutoff / 5:.3g} Hz: ")
    assert picture.text.count("nominal") == 3
    assert "98 % of 400 boards" in picture.figure.axes[0].get_title(loc="left")


def test_a_stage_without_a_low_end_has_no_band_picture():
    parts = {"r_source": 0, "r_in": "10k", "r_ref": "180k", "r_g": "10k", "r_f": "27k"}
    shift = sr.stage(shift_up.__name__, supply=5, reference=5, **parts)
    spread = sr.monte_carlo(shift, 10, TOLERANCE, figures=("midband_gain",))
    with pytest.raises(QuantityError, match="low-end cut-off"):
        gain_band_picture(spread)


def test_histogram_holds_all_boards_and_the_three_ways(stage, spread):
    data = histogram(spread)
    assert data.share.sum() == pytest.approx(1.0)
    counts, _ = np.histogram(spread.low_cutoff, data.edges)
    assert data.share == pytest.approx(counts / BOARDS)
    assert data.ranges == {
        "extreme value": sr.worst_case(stage, TOLERANCE).low_cutoff,
        "root sum square": root_sum_square(stage, TOLERANCE).low_cutoff,
        "98 % of the boards": spread.percentiles("low_cutoff"),
    }
    assert data.nominal == pytest.approx(stage.transfer("signal", "output").low_cutoff())


def test_histogram_of_a_figure_that_was_not_asked_for(spread):
    with pytest.raises(UnknownNameError, match="swing"):
        histogram(spread, "swing")


def test_histogram_is_drawn_as_it_is(spread):
    data = histogram(spread, bins=12)
    _, (ax,) = new_axes()
    draw_histogram(ax, data, {"at most": 60.0})
    (bars,) = ax.patches
    assert np.array_equal(bars.get_data().values, data.share)
    *ways, nominal, limit = ax.lines
    for line, ends, colour in zip(ways, data.ranges.values(), COLOURS, strict=False):
        assert tuple(line.get_xdata()) == ends
        assert to_hex(line.get_color()) == colour
    assert set(nominal.get_xdata()) == {data.nominal}
    assert set(limit.get_xdata()) == {60.0}
    low, high = ax.get_xlim()
    assert low < data.ranges["extreme value"][0]
    assert high > data.ranges["extreme value"][1]
    assert [text.get_text() for text in ax.texts] == [*data.ranges, "at most 60 Hz"]
    assert ax.yaxis.get_major_formatter()(0.05) == "5 %"


def test_histogram_picture_counts_the_boards_beyond_a_limit(spread):
    limit = float(np.quantile(spread.low_cutoff, 0.75))
    picture = histogram_picture(spread, limits={"at most": limit})
    assert "75.0% of the boards lie below, 25.0% above" in picture.text
    assert picture.figure.axes[0].get_title(loc="left") == "3 000 boards, dashed: nominal"
    low, high = spread.percentiles("low_cutoff")
    assert f"{low:.4g} Hz to {high:.4g} Hz" in picture.text
    assert math.isclose(spread.share_within("low_cutoff", high=limit), 0.75)
