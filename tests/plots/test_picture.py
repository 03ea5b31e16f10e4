"""A picture: PNG and words in one, drawn without any global state."""

import hashlib
import subprocess
import sys
from pathlib import Path

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.colors import to_rgb

import singlerail_nb as sr
from singlerail_nb.plots.picture import (
    COLOURS,
    DASHES,
    Picture,
    label_lines,
    new_axes,
    quantity_axis,
)

ROOT = Path(__file__).resolve().parents[2]


def _picture(text="a straight line from 0 V to 1 V"):
    figure, (ax,) = new_axes()
    ax.plot([0.0, 1.0], [0.0, 1.0])
    return Picture(figure, text)


def test_a_picture_shows_as_png_with_its_text_as_alternative():
    picture = _picture()
    bundle, metadata = picture._repr_mimebundle_()
    assert set(bundle) == {"image/png", "text/plain"}
    assert bundle["image/png"].startswith(b"\x89PNG\r\n\x1a\n")
    assert bundle["text/plain"] == picture.text == repr(picture)
    assert metadata["image/png"]["alt"] == picture.text


def test_the_same_picture_has_the_same_bytes():
    one, two = _picture(), _picture()
    assert one.png() == one.png() == two.png()
    assert b"matplotlib" not in one.png().lower()


def test_another_process_draws_the_same_bytes():
    parts = {"r_source": "1k", "c_in": "1u", "r_bias": "100k", "r_top": "47k", "r_bottom": "47k"}
    program = (
        "import singlerail_nb as sr, sys, hashlib\n"
        f"stage = sr.stage('follower', supply=5, c_bias='10u', **{parts})\n"
        "pictures = [sr.response_picture(stage), sr.bias_filter_picture(stage),"
        " sr.riding_picture(stage, 0.5, 440.0)]\n"
        "print(*[hashlib.sha256(p.png()).hexdigest() for p in pictures])\n"
        "assert 'matplotlib.pyplot' not in sys.modules, 'pyplot was imported'\n"
        "assert 'ipywidgets' not in sys.modules, 'a picture needs no widget'\n"
    )
    there = subprocess.check_output([sys.executable, "-c", program], text=True, cwd=ROOT).split()
    stage = sr.stage("follower", supply=5, c_bias="10u", **parts)
    pictures = [
        sr.response_picture(stage),
        sr.bias_filter_picture(stage),
        sr.riding_picture(stage, 0.5, 440.0),
    ]
    here = [hashlib.sha256(picture.png()).hexdigest() for picture in pictures]
    assert here == there
    assert len(set(here)) == 3


def test_styles_of_the_user_are_left_alone():
    before = dict(mpl.rcParams)
    _picture().png()
    assert dict(mpl.rcParams) == before


@pytest.mark.parametrize(("ending", "start"), [("png", b"\x89PNG"), ("svg", b"<?xml"), ("pdf", b"%PDF")])
def test_a_picture_is_saved_in_the_format_of_the_name(tmp_path, ending, start):
    path = _picture().save(tmp_path / f"line.{ending}")
    assert path == tmp_path / f"line.{ending}"
    assert path.read_bytes().startswith(start)


def _luminance(colour):
    """Return the relative luminance of WCAG 2.1, which the contrast ratio is defined by."""
    linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
    return float(np.dot([0.2126, 0.7152, 0.0722], linear))


def test_lines_can_be_seen_and_told_apart_without_colour():
    # WCAG 2.1, success criterion 1.4.3: text (the names at the lines) at least 4.5 to 1 on white.
    for colour in COLOURS:
        assert 1.05 / (_luminance(colour) + 0.05) >= 4.5
    assert len(COLOURS) == len(DASHES) == len(set(DASHES))


def test_axes_below_each_other_share_their_abscissa():
    figure, (upper, lower) = new_axes(2, height=2.0)
    assert figure.get_size_inches() == pytest.approx([7.6, 4.0])
    upper.set_xlim(3.0, 7.0)
    assert lower.get_xlim() == (3.0, 7.0)
    assert not upper.spines["top"].get_visible()


def test_ticks_are_quantities():
    figure, (ax,) = new_axes()
    ax.set_xscale("log")
    ax.set_xlim(1.0, 1e6)
    quantity_axis(ax, "x", "Hz")
    quantity_axis(ax, "y", "V")
    Picture(figure, "").png()
    assert [ax.xaxis.get_major_formatter()(v) for v in (20.0, 2e3, 4.7e6)] == ["20 Hz", "2 kHz", "4.7 MHz"]
    assert ax.yaxis.get_major_formatter()(0.25) == "250 mV"
    assert "kHz" in " ".join(label.get_text() for label in ax.get_xticklabels())


def test_names_that_would_collide_are_moved_apart():
    _, (ax,) = new_axes()
    ax.set_ylim(0.0, 100.0)
    label_lines(ax, [(50.0, "b", COLOURS[0]), (50.5, "c", COLOURS[1]), (20.0, "a", COLOURS[2])])
    heights = {text.get_text(): text.xy[1] for text in ax.texts}
    assert heights["a"] == 20.0
    assert heights["b"] == 50.0
    assert heights["c"] - heights["b"] >= 7.0
    assert {text.get_text(): text.get_color() for text in ax.texts}["a"] == COLOURS[2]


def test_public_pictures_are_pictures():
    stage = sr.stage("follower", supply=5, r_source="1k", c_in="1u", r_bias="100k", r_top="47k",
                     r_bottom="47k", c_bias="10u")  # fmt: skip
    for picture in (sr.response_picture(stage), sr.sections_picture(stage), sr.bias_filter_picture(stage)):
        assert isinstance(picture, sr.Picture)
        assert picture.text
        assert any(character.isdigit() for character in picture.text)
