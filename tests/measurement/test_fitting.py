"""A fit finds what the data can tell, says how well, and says what it cannot tell."""

import math

import numpy as np
import pytest

from singlerail_nb.errors import SingleRailError, UnknownNameError
from singlerail_nb.measurement.comparison import compare
from singlerail_nb.measurement.fit_models import model_of
from singlerail_nb.measurement.reading import read_measurement
from tests.measurement.bench import TOLERANCE, channel, measured, sweep


@pytest.fixture(scope="module")
def stage():
    return channel()


@pytest.fixture(scope="module")
def board(stage):
    return stage.with_parts(c_in="185n", c_out="4u")


@pytest.mark.parametrize("names", [("c_in",), ("c_in", "c_out"), ("c_in", "c_g", "r_f")])
def test_exact_data_give_the_parts_back(stage, names):
    true = {name: stage.values[name] * (0.85 + 0.1 * i) for i, name in enumerate(names)}
    found = compare(stage, measured(stage.with_parts(**true)), tolerance=TOLERANCE).fit(names)
    for part in found.parts:
        assert part.value == pytest.approx(true[part.name], rel=1e-6)
    assert found.rms_after < 1e-8 < found.rms_before


def test_slopes_are_those_of_the_residuals(stage):
    data = read_measurement(
        "f Hz;gain dB;phase deg\n" + "\n".join(f"{f};{20.0};{5.0}" for f in (3, 30, 300, 3000, 30000))
    )
    found = compare(stage, data, tolerance=TOLERANCE)
    names = tuple(stage.circuit.part_names)
    model = model_of(data, found.prediction, names)
    exact = model.slopes({})
    for i, name in enumerate(names):
        ends = [model.residuals({name: stage.values[name] * math.exp(d)}) for d in (1e-5, -1e-5)]
        np.testing.assert_allclose(exact[:, i], (ends[0] - ends[1]) / 2e-5, atol=2e-6, rtol=1e-5)


def test_intervals_hold_the_true_value_as_often_as_they_say(stage, board):
    held = 0
    for seed in range(200):
        data = measured(board, noise=0.1, seed=seed)
        part = compare(stage, data, tolerance={"c_in": 0.2, "c_out": 0.2}).fit(("c_in", "c_out")).parts[0]
        held += part.interval[0] <= board.values["c_in"] <= part.interval[1]
    # Binomial with p = 0.95: fewer than 181 or more than 198 of 200 happen once in about a thousand times.
    assert 181 <= held <= 198


def test_tolerances_of_the_other_parts_widen_the_interval(stage, board):
    data = measured(board, noise=0.05)
    narrow = compare(stage, data, tolerance={"c_in": 0.2}).fit(("c_in",)).parts[0]
    wide = compare(stage, data, tolerance=TOLERANCE).fit(("c_in",)).parts[0]
    assert wide.value == narrow.value
    assert wide.interval[0] < narrow.interval[0] < narrow.interval[1] < wide.interval[1]
    # By hand: the source resistance of 2.2 k (1 %) and the bias resistor of 47 k (1 %) alone move it by 1 %.
    assert math.log(wide.interval[1] / wide.value) > 0.009


def test_a_board_off_in_the_others_is_still_inside_its_interval(stage):
    off = stage.with_parts(c_in="200n", c_out="4u1", c_g="37u", r_bias="47.3k", r_f="36.3k")
    part = compare(stage, measured(off), tolerance=TOLERANCE).fit(("c_in",)).parts[0]
    assert part.interval[0] <= 200e-9 <= part.interval[1]


def test_verdicts(stage):
    def verdict(value, **options):
        data = measured(stage.with_parts(c_in=value), noise=0.02)
        return compare(stage, data, tolerance={"c_in": 0.1}, **options).fit(("c_in",)).parts[0].verdict

    assert verdict("215n") == "inside tolerance"
    assert verdict("150n") == "outside tolerance"
    assert verdict("198n") == "may be either"


def test_parts_that_only_act_together_are_named(stage, board):
    data = measured(board, noise=0.05, low=500.0)
    fit = compare(stage, data, tolerance=TOLERANCE).fit(("r_f", "r_g", "c_in"))
    assert [part.verdict for part in fit.parts] == ["cannot be told"] * 3
    assert fit.values == {}
    assert any({"r_f", "r_g"} <= set(group) for group in fit.untold)
    assert "cannot be told apart" in fit.text
    assert fit.singular_values[-1] < 1e-2 * fit.singular_values[0]


def test_a_part_without_effect_is_not_told(stage, board):
    fit = compare(stage, measured(board, noise=0.05), tolerance=TOLERANCE).fit(("c_in", "r_top"))
    told = {part.name: part.verdict for part in fit.parts}
    assert told["r_top"] == "cannot be told"
    assert told["c_in"] != "cannot be told"
    assert "R_A cannot be told from this data" in fit.text
    assert "-" in fit.parts[1].cells


def test_a_part_that_others_hide_is_said_to_be_hidden(stage, board):
    fit = compare(stage, measured(board, noise=0.01), tolerance=TOLERANCE).fit(("c_in", "c_bias"))
    assert fit.hidden == ("c_bias",)
    assert "C_bias is hidden" in fit.text


def test_most_uncertain_parts_come_first_and_differ(stage, board):
    found = compare(stage, measured(board), tolerance=TOLERANCE)
    first = found.most_uncertain(3)
    assert first[0] == "c_in"
    assert len(set(first)) == 3
    only = compare(stage, measured(board), tolerance={"r_f": 0.05, "r_g": 0.05}).most_uncertain()
    assert set(only) <= {"r_f", "r_g"}
    assert compare(stage, measured(board), tolerance=0.0).most_uncertain() == ()
    assert [part.name for part in found.fit().parts] == list(found.most_uncertain())


def test_phase_helps(stage, board):
    f = np.geomspace(3.0, 2e4, 30)
    h = board.transfer("signal", "output")
    rng = np.random.default_rng(8)
    level = h.magnitude_db(f) + rng.normal(0.0, 0.1, f.size)
    phase = h.phase_degrees(f) + rng.normal(0.0, 0.5, f.size)
    rows = "\n".join(f"{a},{b},{c}" for a, b, c in zip(f, level, phase, strict=True))
    both = compare(stage, read_measurement("f Hz,gain dB,phase deg\n" + rows), tolerance={"c_in": 0.2})
    alone = compare(
        stage, read_measurement(rows + "\n", columns=("f Hz", "gain dB", "")), tolerance={"c_in": 0.2}
    )
    widths = [math.log(part.interval[1] / part.interval[0]) for part in
              (found.fit(("c_in", "c_out")).parts[0] for found in (both, alone))]  # fmt: skip
    assert widths[0] < widths[1]


def test_a_single_name_is_one_part(stage):
    found = compare(stage, measured(stage))
    assert found.fit("c_in") == found.fit(("c_in",))
    with pytest.raises(UnknownNameError, match="got c_inn"):
        found.fit("c_inn")


def test_what_cannot_be_fitted_is_refused(stage):
    found = compare(stage, read_measurement(sweep(stage, points=2)))
    with pytest.raises(SingleRailError, match="more points"):
        found.fit(("c_in", "c_out"))
    with pytest.raises(UnknownNameError, match="part"):
        compare(stage, measured(stage)).fit(("c_inn",))
    with pytest.raises(SingleRailError, match="confidence"):
        compare(stage, measured(stage)).fit(("c_in",), confidence=95)
    with pytest.raises(SingleRailError, match="at least one part"):
        compare(stage, measured(stage), tolerance=0.0).fit()
