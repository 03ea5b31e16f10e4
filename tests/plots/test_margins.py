"""Phase margin over the capacitor: the figures of the loop, drawn as they are, with the shaded region."""

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.bias_follower import follower_loop
from singlerail_nb.errors import QuantityError
from singlerail_nb.plots.margins import Drive, draw_margins, margin_data, margin_picture, margin_text
from singlerail_nb.plots.picture import new_axes

PLAIN = sr.OpAmp("one-pole", 1e6, output_resistance=300.0)
DRIVES = (Drive("bare", 0.01), Drive("lossy", 0.5), Drive("isolated", 0.01, 100.0))


@pytest.fixture(scope="module")
def data():
    return margin_data(PLAIN, DRIVES, 0.1e-9, 10e-6)


def test_data_are_those_of_the_loop(data):
    assert list(data) == ["bare", "lossy", "isolated"]
    for drive in DRIVES:
        found = data[drive.name]
        for i in (0, 17, 40, -1):
            loop = follower_loop(
                PLAIN,
                found.capacitance[i],
                series_resistance=drive.series_resistance,
                isolation=drive.isolation,
            )
            assert found.phase_margin[i] == pytest.approx(loop.phase_margin)


def test_every_decade_is_among_the_points(data):
    for decade in (0.1e-9, 1e-9, 10e-9, 100e-9, 1e-6, 10e-6):
        assert np.isclose(data["bare"].capacitance, decade).any()


def test_margins_are_drawn_as_they_are(data):
    _, (ax,) = new_axes()
    draw_margins(ax, data)
    *curves, limit = ax.lines
    for line, found in zip(curves, data.values(), strict=True):
        assert np.array_equal(line.get_xdata(), found.capacitance)
        assert np.array_equal(line.get_ydata(), found.phase_margin)
    assert set(limit.get_ydata()) == {45.0}
    (shaded,) = ax.patches
    assert (shaded.get_y(), shaded.get_y() + shaded.get_height()) == (0.0, 45.0)
    assert ax.get_xlim() == pytest.approx((0.1e-9, 10e-6))
    assert {text.get_text() for text in ax.texts} == set(data)
    assert ax.yaxis.get_major_formatter()(45.0) == "45°"


def test_words_say_how_little_and_where(data):
    bare, lossy, isolated = margin_text(data).splitlines()
    worst = data["bare"].phase_margin.min()
    assert f"bare: least phase margin {worst:.3g}°" in bare
    assert bare.endswith("to 10 µF")
    least = data["lossy"].capacitance[np.argmin(data["lossy"].phase_margin)]
    assert f"at {1e9 * least:.3g} nF" in lossy
    assert isolated.endswith("45° or more everywhere")


def test_the_picture_names_its_op_amp(data):
    picture = margin_picture(PLAIN, DRIVES, 0.1e-9, 10e-6)
    assert picture.text == margin_text(data)
    (ax,) = picture.figure.axes
    assert "one-pole" in ax.get_title(loc="left")
    assert ax.get_xlabel() == "capacitor at the follower"


@pytest.mark.parametrize(("low", "high"), [(0.0, 1e-6), (1e-6, 1e-9), (1e-9, 1e-9)])
def test_an_empty_range_is_refused(low, high):
    with pytest.raises(QuantityError, match="capacitance range"):
        margin_picture(PLAIN, DRIVES, low, high)
