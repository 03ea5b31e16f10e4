"""The volts axis: its columns are the limits of the analysis, and all of them are drawn in their place."""

import math

import pytest
from matplotlib.colors import to_rgb

import singlerail_nb as sr
from singlerail_nb.plots.picture import COLOURS, new_axes
from singlerail_nb.plots.window import draw_window, window_bars, window_picture, window_text

PARTS = {"r_source": "2k2", "c_in": "68n", "r_bias": "47k", "r_top": "30k", "r_bottom": "30k",
         "c_bias": "2u2", "r_f": "82k", "r_g": "2k", "c_g": "6u8", "c_out": "1u5",
         "r_load": "10k"}  # fmt: skip


@pytest.fixture(scope="module")
def stage():
    return sr.stage("noninverting", supply=9, opamp=sr.opamp("GPB"), **PARTS)


@pytest.fixture(scope="module")
def found(stage):
    return sr.window(stage, supply_min=6, supply_max=9.6)


def bar(rail, name):
    return next(bar for bar in window_bars(rail) if bar.name == name)


def test_columns_are_the_limits_of_the_data_sheet_and_the_resting_voltages(stage, found):
    point = sr.operating_point(stage)
    nominal = found.rails[1]
    # Swing point at 10 kilohm: 0.65 V and 1.4 V from the rails, 0.2 V more to stay linear; the load
    # is a little heavier.
    low, high = bar(nominal, "output range").low, bar(nominal, "output range").high
    assert 0.85 < low < 0.88
    assert 9 - 1.65 < high < 9 - 1.6
    assert (bar(nominal, "input range").low, bar(nominal, "input range").high) == pytest.approx((-0.1, 7.5))
    rest = bar(nominal, "output at rest")
    assert (rest.low, rest.high) == pytest.approx(point.voltage_range("amp_out"))
    at_input = bar(nominal, "input at rest")
    assert (at_input.low, at_input.high) == pytest.approx(point.voltage_range("plus"))


def test_the_swing_touches_the_limit_that_is_met_first(found):
    for rail in found.rails:
        swing, span = bar(rail, "output swing"), bar(rail, "output range")
        assert swing.high - swing.low == pytest.approx(rail.swing)
        # The swing hangs on the middle of the resting range, its limit on the upper end of that range.
        half_of_rest = (rail.output_rest[1] - rail.output_rest[0]) / 2
        assert rail.limited_by == "output high"
        assert swing.high == pytest.approx(span.high - half_of_rest)
        moved = bar(rail, "input swing")
        assert (moved.high - moved.low) * rail.gain == pytest.approx(rail.swing)


def test_a_resting_input_has_no_swing():
    inverting = sr.stage("inverting", supply=9, r_source="1k", c_in="1u", r_in="10k", r_f="47k",
                         r_top="62k", r_bottom="62k", c_bias="3u3", opamp=sr.opamp("GPB"))  # fmt: skip
    (rail,) = sr.window(inverting).rails
    assert math.isinf(rail.gain)
    swing = bar(rail, "input swing")
    assert swing.low == swing.high


def test_everything_is_drawn_in_its_place(found):
    _, (ax,) = new_axes()
    draw_window(ax, found.rails)
    drawn = {
        (
            round(patch.get_x() + patch.get_width() / 2, 3),
            round(patch.get_y(), 6),
            round(patch.get_height(), 6),
        )
        for patch in ax.patches
    }
    for i, rail in enumerate(found.rails):
        for one in window_bars(rail):
            at = i + (-0.22 if one.name.startswith("output") else 0.22)
            if one.kind == "rest":
                middle = (one.low + one.high) / 2
                lines = [line for line in ax.lines if line.get_color() == COLOURS[1]]
                assert any(
                    line.get_ydata() == pytest.approx([middle, middle])
                    and abs(sum(line.get_xdata()) / 2 - at) < 0.2
                    for line in lines
                )
            else:
                assert (round(at, 3), round(one.low, 6), round(one.high - one.low, 6)) in drawn
    assert len(ax.patches) == 4 * len(found.rails)
    levels = {float(line.get_ydata()[0]) for line in ax.lines}
    assert {0.0, 6.0, 9.0, 9.6} <= levels  # ground and the rails
    low, high = ax.get_ylim()
    assert low < -0.1
    assert high > 9.6
    assert ax.get_ylabel() == "volts to ground"


def test_kinds_differ_without_colour(found):
    _, (ax,) = new_axes()
    draw_window(ax, found.rails)
    hatched = [patch for patch in ax.patches if patch.get_hatch()]
    plain = [patch for patch in ax.patches if not patch.get_hatch()]
    assert len(hatched) == len(plain) == 2 * len(found.rails)
    assert {to_rgb(patch.get_facecolor()) for patch in plain} != {to_rgb(COLOURS[1])}


def test_the_words_are_those_of_the_analysis(found):
    picture = window_picture(found)
    first, second, third, best = picture.text.splitlines()
    assert picture.text == window_text(found)
    for line, rail in zip((first, second, third), found.rails, strict=True):
        assert line.startswith(
            f"rail {rail.supply:g} V: swing {rail.swing:.4g} Vpp, first limit: {rail.limited_by}"
        )
        assert line.endswith(f"{rail.asymmetry:.3g}")
    places = zip(found.best_bias.volts, found.rails, strict=True)
    where = ", ".join(f"{volts:.4g} V on the {rail.supply:.4g} V rail" for volts, rail in places)
    assert best.startswith(f"best bias point {where}: swing")
    assert best.endswith(f"swing {found.best_bias.swing:.4g} Vpp")
    (ax,) = picture.figure.axes
    assert ax.get_title(loc="left") == "Non-inverting stage, op-amp GPB"
    words = [text.get_text() for text in ax.texts]
    assert words == [f"{rail.swing:.3g} Vpp\nfirst limit: {rail.limited_by}" for rail in found.rails]
    assert [label.get_text().split("\n")[0] for label in ax.get_xticklabels()] == ["output", "+ input"] * 3


def test_an_ideal_op_amp_reaches_both_rails():
    ideal = sr.stage("noninverting", supply=9, **PARTS)
    picture = window_picture(sr.window(ideal))
    assert "ideal op-amp" in picture.figure.axes[0].get_title(loc="left")
    assert picture.text.startswith("rail 9 V: swing 9 Vpp")


def test_an_empty_window_is_drawn_without_swing():
    dying = sr.stage("noninverting", supply=7, opamp=sr.opamp("JFT"), **PARTS)
    found = sr.window(dying)
    assert found.swing == 0
    picture = window_picture(found)
    hatched = [patch for patch in picture.figure.axes[0].patches if patch.get_hatch()]
    assert [patch.get_height() for patch in hatched] == [0.0, 0.0]
    assert "swing 0 Vpp" in picture.text
