"""Crosstalk and the loop through the rail, drawn as they are."""

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.crosstalk import crosstalk
from singlerail_nb.analysis.supply_loop import supply_loop
from singlerail_nb.errors import QuantityError
from singlerail_nb.plots.crosstalk import crosstalk_data, crosstalk_picture
from singlerail_nb.plots.picture import new_axes
from singlerail_nb.plots.supply_loop import (
    draw_loop_gain,
    draw_loop_phase,
    supply_loop_data,
    supply_loop_picture,
)

ONE = {"r_source": "2k2", "c_in": "68n", "r_bias": "47k"}
BOTH = {f"{name}{n}": value for name, value in ONE.items() for n in ("", "_2")}
DIVIDER = {"r_top": "30k", "r_bottom": "30k", "c_bias": "2u2"}


@pytest.fixture(scope="module")
def stages():
    plain = sr.stage("two_channels", supply=9, **BOTH, **DIVIDER)
    stiff = sr.stage("two_channels", supply=9, bias="buffered_divider", **BOTH, **DIVIDER)
    return {"2.2 µF": plain, "22 µF": plain.with_parts(c_bias="22u"), "buffer": stiff}


def test_curves_are_the_crosstalk_and_silence_is_said_not_drawn(stages):
    data = crosstalk_data(stages, source="open")
    assert list(data.paths) == ["2.2 µF", "22 µF"]
    for name, levels in data.paths.items():
        expected = crosstalk(stages[name], source="open").magnitude_db(data.frequency)
        assert levels == pytest.approx(expected, abs=1e-9)
    picture = crosstalk_picture(stages, at=50.0)
    drawn = [line.get_ydata() for line in picture.figure.axes[0].lines]
    for levels in crosstalk_data(stages).paths.values():
        assert any(np.array_equal(levels, y) for y in drawn)
    assert "buffer: nothing at 50 Hz" in picture.text
    assert f"2.2 µF: {crosstalk(stages['2.2 µF']).magnitude_db(50.0):.4g} dB at 50 Hz" in picture.text
    with pytest.raises(QuantityError, match="frequency range"):
        crosstalk_picture(stages, 10.0, 1.0)


@pytest.fixture(scope="module")
def loops():
    parts = {**ONE, "c_in": "150n", "r_f": "82k", "r_g": "2k", "c_g": "100u", "c_in_2": "1u", "r_in_2": "10k",
             "r_f_2": "20k", "c_out": "220u", "r_load": 32}  # fmt: skip
    stage = sr.stage("two_stages_inverting", supply=9, **parts, **DIVIDER)
    return {
        "2.2 µF": supply_loop(stage, 5, "100u"),
        "47 µF": supply_loop(stage.with_parts(c_bias="47u"), 5, "100u"),
        "no rail": supply_loop(stage, 0.0),
    }


def test_the_loop_is_drawn_with_its_critical_point(loops):
    data = supply_loop_data({name: loops[name] for name in ("2.2 µF", "47 µF")}, 1.0, 1e3)
    _, (upper, lower) = new_axes(2)
    draw_loop_gain(upper, data)
    draw_loop_phase(lower, data)
    for name, loop in list(loops.items())[:2]:
        values = loop(data.frequency)
        assert data.magnitude[name] == pytest.approx(np.abs(values), rel=1e-12)
        assert np.interp(loop.frequency, data.frequency, data.phase[name]) == pytest.approx(0.0, abs=0.2)
        marks = [
            (line.get_xdata()[0], line.get_ydata()[0]) for line in upper.lines if len(line.get_xdata()) == 1
        ]
        assert (loop.frequency, loop.gain) in marks
    assert {t.get_text() for axes in upper.figure.axes for t in axes.texts} >= {"2.2 µF", "47 µF"}
    # A mark that says "oscillates" is filled.
    faces = {
        line.get_ydata()[0]: line.get_markerfacecolor() for line in upper.lines if len(line.get_xdata()) == 1
    }
    for loop in list(loops.values())[:2]:
        assert (faces[loop.gain] == "white") == (loop.gain < 1)


def test_the_words_of_the_loop(loops):
    text = supply_loop_picture(loops).text
    assert [line.split(": ")[0] for line in text.splitlines()] == list(loops)
    assert "no rail: Nothing comes back in phase" in text
