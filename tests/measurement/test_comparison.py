"""Measured data beside the prediction: band, instrument loading, start-up."""

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.errors import SingleRailError, UnknownNameError
from singlerail_nb.measurement.bands import on_few_points
from singlerail_nb.measurement.comparison import compare
from singlerail_nb.measurement.instruments import Instrument
from singlerail_nb.measurement.reading import read_measurement
from tests.measurement.bench import TOLERANCE, channel, measured, sweep


@pytest.fixture(scope="module")
def stage():
    return channel()


def test_a_nominal_board_lies_on_the_prediction(stage):
    found = compare(stage, measured(stage), tolerance=TOLERANCE)
    assert np.abs(found.difference).max() < 1e-9
    assert found.inside.all()
    assert "40 of 40 points" in found.text


def test_the_band_holds_every_board_within_tolerance(stage):
    found = compare(stage, measured(stage), tolerance=TOLERANCE)
    low, high = found.band
    boards = sr.monte_carlo(stage, 200, TOLERANCE, seed=3)
    names = boards.tolerances.parts
    drawn = {name: boards.part_values(name) for name in names}
    reached = []
    for i in range(200):
        board = stage.with_parts(**{name: float(values[i]) for name, values in drawn.items()})
        level = board.transfer("signal", "output").magnitude_db(found.at)
        assert (low - 1e-9 <= level).all()
        assert (level <= high + 1e-9).all()
        reached.append(level)
    assert (np.max(reached, axis=0) - np.min(reached, axis=0) > 0.4 * (high - low)).all()


def test_a_point_out_of_the_band_is_named_with_its_line(stage):
    lines = sweep(stage).splitlines()
    f, level = lines[20].split(";")
    lines[20] = f"{f};{float(level) + 3.0}"
    found = compare(stage, read_measurement("\n".join(lines)), tolerance=TOLERANCE)
    assert list(np.flatnonzero(~found.inside)) == [19]
    assert found.worst == 19
    assert "39 of 40 points" in found.text
    assert "line 21" in found.text


def test_rows_left_out_are_not_forgotten(stage):
    found = compare(stage, read_measurement(sweep(stage) + "\nbad;row\n"))
    assert "1 rows of the file were left out" in found.text


# Loading of a 500 kilohm node, a figure of the bench: R/(R + 500k) is 1/21 low with 10 M, 1/3 low with 1 M.
@pytest.mark.parametrize(("probe", "share"), [("meter", 20 / 21), ("scope_1x", 2 / 3)])
def test_loading_is_part_of_the_prediction(probe, share):
    high = sr.stage("noninverting", supply=9, r_source=0, c_in="100n", r_bias="1M", r_top="1M", r_bottom="1M",
                    c_bias="1u", r_f="10k", r_g="1k", c_g="47u")  # fmt: skip
    resting = compare(
        high, read_measurement("time s;u V\n200;4.5\n300;4.5\n"), node="bias", probe=probe, tolerance=0.0
    )
    np.testing.assert_allclose(resting.predicted, 4.5 * share, rtol=2e-3)


def test_an_instrument_moves_response_and_band(stage):
    data = measured(stage, node="plus")
    bare = compare(stage, data, node="plus", tolerance=0.0)
    lead = Instrument("lead", "lead", 47e3, 0.0, 0.02)
    loaded = compare(stage, data, node="plus", tolerance=0.0, probe=lead)
    # 47 kilohm beside the bias resistor of 47 kilohm: by hand at mid-band, no reactance left.
    by_hand = 20 * np.log10((23.5 / 25.7) / (47 / 49.2))
    assert loaded.predicted[-1] - bare.predicted[-1] == pytest.approx(by_hand, abs=2e-3)
    low, high = loaded.band
    np.testing.assert_allclose(high - low, 20 * np.log10(1.02 / 0.98), rtol=1e-9)


def test_an_input_measured_behind_the_source_takes_it_out(stage):
    data = measured(stage)
    behind = compare(stage, data, tolerance=0.0, reference="source")
    expected = stage.section("source", "output").magnitude_db(data.frequency)
    np.testing.assert_allclose(behind.predicted, expected, atol=1e-9)
    assert behind.predicted[-1] > compare(stage, data, tolerance=0.0).predicted[-1]


def test_long_records_are_interpolated_closely(stage):
    many = measured(stage, points=2000)
    low, high = compare(stage, many, tolerance=TOLERANCE).band
    few = compare(stage, read_measurement(sweep(stage)), tolerance=TOLERANCE)
    between = np.interp(np.log(few.at), np.log(many.frequency), high)
    np.testing.assert_allclose(between, few.band[1], atol=2e-3)
    assert (low < high).all()


def test_interpolation_keeps_a_power_law():
    at = np.geomspace(1.0, 1e4, 5000)
    low, high = on_few_points(at, lambda f: (1 / f, f), logarithmic=True)
    np.testing.assert_allclose(low * high, 1.0, rtol=1e-12)
    np.testing.assert_allclose(high, at, rtol=1e-12)


def startup_text(board, node, seed=4, noise=0.01):
    t = np.linspace(0.0, 2.5, 120)
    volts = sr.startup(board).voltage(node, t) + np.random.default_rng(seed).normal(0.0, noise, t.size)
    return "t s\tu V\n" + "\n".join(f"{x:.6g}\t{y:.6g}" for x, y in zip(t, volts, strict=True))


def test_a_start_up_is_compared_and_fitted(stage):
    data = read_measurement(startup_text(stage.with_parts(c_g="29u"), "amp_out"))
    found = compare(stage, data, node="amp_out", tolerance=TOLERANCE, probe="scope_10x")
    assert found.unit == "V"
    assert found.inside.all()
    fit = found.fit(("c_g",))
    assert fit.values["c_g"] == pytest.approx(29e-6, rel=2e-3)
    assert fit.rms_after < 0.02 < fit.rms_before
    with_fit = found.predicted_with(fit.values, found.at)
    assert np.abs(with_fit - found.measured).max() < 0.1


def test_wrong_names_are_refused(stage):
    data = measured(stage)
    with pytest.raises(UnknownNameError, match="node"):
        compare(stage, data, node="nowhere")
    with pytest.raises(UnknownNameError, match="instrument"):
        compare(stage, data, probe="scoop")
    with pytest.raises(SingleRailError, match="read_measurement"):
        compare(stage, "text")
