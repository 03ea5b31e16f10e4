"""The schematic shows itself in a notebook, with its words beside it."""

import xml.etree.ElementTree as ET
from urllib.parse import unquote

import pytest

import singlerail_nb as sr
from singlerail_nb.plots.circuit_picture import schematic

PARTS = {
    "r_source": "2.2k",
    "c_in": "1u",
    "r_bias": "100k",
    "r_top": "100k",
    "r_bottom": "100k",
    "c_bias": "10u",
}


@pytest.fixture(scope="module")
def stage():
    return sr.stage("follower", supply=9, **PARTS)


def test_a_notebook_gets_a_drawing_and_its_words(stage):
    picture = schematic(stage)
    bundle = picture._repr_mimebundle_()
    assert set(bundle) == {"text/html", "text/plain"}
    image = ET.fromstring(bundle["text/html"].replace('100%">', '100%"/>'))  # noqa: S314 -- our own text
    assert unquote(image.get("src").removeprefix("data:image/svg+xml,")) == picture.svg
    assert image.get("alt") == bundle["text/plain"] == picture.text
    for part in stage.parts:
        assert part.label.lower() in picture.text


def test_values_and_voltages_can_be_left_out(stage):
    assert "2.2 kΩ" in schematic(stage).svg
    assert "2.2 kΩ" not in schematic(stage, values=False).svg
    assert "4.5 V" in schematic(stage, voltages=True).svg


def test_the_drawing_can_be_kept(stage, tmp_path):
    picture = schematic(stage)
    kept = picture.save(tmp_path / "stage.svg")
    assert kept.read_text(encoding="utf-8") == picture.svg
