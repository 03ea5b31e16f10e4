"""Scales and ticks of the pictures."""

import pytest

from tests.widgets.view_script import run


def test_decades_are_labelled_and_multiples_are_not(node, tmp_path):
    ticks = run(node, tmp_path, "return view.logTicks(0.1, 1e5, 'Hz');", 0)
    assert [tick["label"] for tick in ticks["major"]] == ["0.1", "1", "10", "100", "1 k", "10 k", "100 k"]
    assert len(ticks["minor"]) == 6 * 8


@pytest.mark.parametrize(
    ("low", "high", "unit", "labels"),
    [
        (-40, 40, "dB", ["−40", "−20", "0", "20", "40"]),
        (-90, 90, "deg", ["−90", "−45", "0", "45", "90"]),
        (0, 0.004, "s", ["0", "1 m", "2 m", "3 m", "4 m"]),
        (-0.1, 0.3, "V", ["−100 m", "0", "100 m", "200 m", "300 m"]),
    ],
)
def test_linear_ticks_are_round(node, tmp_path, low, high, unit, labels):
    ticks = run(node, tmp_path, f"return view.linearTicks({low}, {high}, '{unit}', 5);", 0)
    assert [tick["label"] for tick in ticks] == labels


def test_range_is_rounded_outwards(node, tmp_path):
    assert run(node, tmp_path, "return view.niceRange(-21.3, 31.9, 'dB', 6);", 0) == [-30, 40]
    assert run(node, tmp_path, "return view.niceRange(5, 5, 'dB', 6);", 0) == [4, 6]


def test_log_scale_and_its_inverse(node, tmp_path):
    told = run(
        node,
        tmp_path,
        "const x = view.logScale(1, 1e4, 50, 450); return [x(1), x(100), x(1e4), x.invert(250)];",
        0,
    )
    assert told == pytest.approx([50, 250, 450, 100])


def test_interpolation_is_logarithmic_in_frequency(node, tmp_path):
    body = (
        "return [0.1, 10, 1e3, 1e9].map((x) => view.interpolate({ xs: [1, 100, 1e4], ys: [0, 20, 20] }, x));"
    )
    assert run(node, tmp_path, body, 0) == pytest.approx([0, 10, 20, 20])
