"""Sensitivity bars: the shares of the analysis, drawn as they are."""

from dataclasses import replace

import pytest

import singlerail_nb as sr
from singlerail_nb.circuit.typeset import part_label
from singlerail_nb.errors import UnknownNameError
from singlerail_nb.plots.picture import new_axes
from singlerail_nb.plots.sensitivity import (
    FELT,
    draw_sensitivities,
    felt,
    sensitivity_data,
    sensitivity_picture,
    sensitivity_text,
)


@pytest.fixture(scope="module")
def stage():
    return sr.stage("inverting", supply=12, r_source="1k", c_in="470n", r_in="10k", r_f="100k",
                    r_top="22k", r_bottom="22k", c_bias="10u", c_out="2u2", r_load="22k")  # fmt: skip


def test_shares_are_those_of_a_small_change(stage):
    (data,) = sensitivity_data(stage)
    nominal, step = stage.transfer("signal", "output").low_cutoff(), 1e-5
    for part, share in felt(data):
        moved = stage.with_parts(**{part: stage.values[part] * (1 + step)})
        change = moved.transfer("signal", "output").low_cutoff() / nominal - 1
        assert share == pytest.approx(change / step, rel=1e-3)
    assert all(abs(share) < FELT for part, share in data.ranked() if part not in dict(felt(data)))


def test_an_opamp_is_named_by_its_data_sheet(stage):
    opamp, step = sr.opamp("GPB"), 1e-4
    slow = replace(stage, opamp=opamp)
    (data,) = sensitivity_data(slow, ("high_cutoff",))
    shares = dict(felt(data))
    assert not any(name.endswith(("_unity_time", "_inverse_gain")) for name in shares)
    faster = replace(slow, opamp=replace(opamp, gbw=opamp.gbw * (1 + step)))
    was, now = (one.transfer("signal", "output").high_cutoff() for one in (slow, faster))
    assert shares["GBW"] == pytest.approx((now / was - 1) / step, rel=1e-3)


def test_bars_are_drawn_as_they_are(stage):
    (data,) = sensitivity_data(stage, ("midband_gain",))
    _, (ax,) = new_axes()
    draw_sensitivities(ax, data)
    rows = felt(data)
    assert [bar.get_width() for bar in ax.patches] == [share for _, share in rows]
    assert [label.get_text() for label in ax.get_yticklabels()] == [part_label(part) for part, _ in rows]
    heights = [bar.get_y() for bar in ax.patches]
    assert heights == sorted(heights, reverse=True)
    assert [text.get_text() for text in ax.texts] == [f"{share:+.2f}" for _, share in rows]


def test_one_row_of_axes_per_figure(stage):
    picture = sensitivity_picture(stage, ("low_cutoff", "midband_gain"))
    titles = [ax.get_title(loc="left") for ax in picture.figure.axes]
    assert titles == ["low-end cut-off", "mid-band gain"]
    (cutoff, gain) = sensitivity_data(stage, ("low_cutoff", "midband_gain"))
    assert picture.text == f"{sensitivity_text(cutoff)}\n{sensitivity_text(gain)}"
    assert "r_f +1.00" in sensitivity_text(gain)


def test_an_unknown_figure_is_refused(stage):
    with pytest.raises(UnknownNameError, match="midband_gain"):
        sensitivity_picture(stage, ("midband_gian",))
