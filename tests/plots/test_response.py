"""A response is drawn from where it comes into sight."""

import pytest

import singlerail_nb as sr
from singlerail_nb.plots.response import DEPTH_DB, sensible_span

PARTS = {"r_source": 0, "c_in": "1u", "r_bias": "10k", "r_top": "10k", "r_bottom": "10k", "c_bias": "100u"}


@pytest.mark.parametrize("gain", [2, 1000])
def test_no_decade_below_the_drawn_depth(gain):
    stage = sr.stage("noninverting", supply=9, **PARTS, r_f=(gain - 1) * 1e3, r_g="1k", c_g="10u")
    whole = stage.transfer("signal", "output")
    left, right = sr.response_picture(stage).figure.axes[0].get_xlim()
    deepest = whole.magnitude_db(1e5) - DEPTH_DB
    assert whole.magnitude_db(left) <= deepest or left == pytest.approx(sensible_span(whole)[0])
    assert whole.magnitude_db(10 * left) >= deepest
    assert right > 10 * whole.low_cutoff()


def test_a_range_that_is_given_is_kept():
    stage = sr.stage("follower", supply=9, **PARTS)
    assert sr.response_picture(stage, 2.0, 500.0).figure.axes[0].get_xlim() == (2.0, 500.0)
