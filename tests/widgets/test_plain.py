"""The panel of core widgets, for front ends without the script."""

import io

import numpy as np
import pytest
from PIL import Image

from singlerail_nb.widgets.plain import plain_panel


def pixels(shown):
    return np.asarray(Image.open(io.BytesIO(shown._picture.value)).convert("RGB"), dtype=int)


def test_a_slider_moves_the_stage_the_picture_and_the_text(stage):
    shown = plain_panel(stage, controls=["c_in"])
    before = pixels(shown)
    shown._sliders["c_in"].value = 1e-6
    assert shown.stage_model.stage.values["c_in"] == 1e-6
    assert np.abs(pixels(shown) - before).max() > 50
    assert f"{shown.stage_model.figures['low_cutoff']:.4g} Hz" in shown._text.value


def test_code_moves_the_slider_also_between_preferred_values(stage):
    shown = plain_panel(stage)
    shown.stage_model.set(c_in=1.234e-7)
    assert shown._sliders["c_in"].value == 1.234e-7


def test_the_kept_background_gives_the_same_picture(stage):
    shown = plain_panel(stage, controls=["c_in"])
    first = pixels(shown)
    shown.stage_model.set(c_in="1u")
    shown.stage_model.undo()
    assert (pixels(shown) == first).all()


def test_the_summary_is_its_text(stage):
    data, _ = plain_panel(stage)._repr_mimebundle_()
    assert data["text/plain"].startswith("Non-inverting stage on 9 V")


def test_unknown_part(stage):
    with pytest.raises(KeyError, match="c_inn"):
        plain_panel(stage, controls=["c_inn"])
