"""Many boards at once give each board the figures that it has alone."""

import math

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.boards import (
    CHUNK,
    BoardFigures,
    evaluate_boards,
    evaluate_midband,
    evaluate_top_cutoffs,
)
from singlerail_nb.errors import CircuitError, QuantityError, UnknownNameError
from tests.circuits_for_tests import CASES, FULL_CASES, random_stage


def spread_of(stage, boards, tolerance, seed=0):
    """Return uniform random values around the nominal ones, for every part of the circuit."""
    rng = np.random.default_rng(seed)
    return {
        part.name: stage.values[part.name] * rng.uniform(1 - tolerance, 1 + tolerance, boards)
        for part in stage.circuit.parts
    }


def alone(stage, values, i):
    numbers = {name: float(v[i]) for name, v in values.items()}
    return stage.with_parts(**numbers).transfer("signal", "output")


def same_plateau(board, nominal):
    """Tell whether a board has its mid-band where the nominal stage has it."""
    one, other = board.midband, nominal.midband
    return one.stationary and one.frequency == pytest.approx(other.frequency, rel=0.2)


@pytest.mark.parametrize("case", CASES, ids=str)
def test_every_board_is_what_it_is_alone(case):
    """Where two plateaus compete for the mid-band, a board stays on the one of the nominal stage."""
    assert any(boards_alone(case, seed) for seed in (20, 22)), "no board has the mid-band of its stage"


def boards_alone(case, seed):
    """Compare every board that can be compared; return whether that was most of them."""
    stage = random_stage(case, seed)
    nominal = stage.transfer("signal", "output")
    values = spread_of(stage, 12, 0.02)
    figures, tops = evaluate_boards(stage, values), evaluate_top_cutoffs(stage, values)
    stayed = 0
    for i, (gain, low, high) in enumerate(zip(figures.midband_gain, figures.low_cutoff, tops, strict=True)):
        board = alone(stage, values, i)
        for cutoff in (low, high):
            if 0 < cutoff < math.inf:
                assert abs(board(cutoff)) == pytest.approx(gain / math.sqrt(2), rel=1e-9), i
        if same_plateau(board, nominal):
            stayed += 1
            found, expected = (
                (gain, low, high),
                (board.midband_gain(), board.low_cutoff(), board.high_cutoff()),
            )
            assert found == pytest.approx(expected, rel=1e-9), i
    return stayed >= 6 or not nominal.midband.stationary


@pytest.mark.parametrize("case", FULL_CASES, ids=str)
def test_the_input_impedance_is_that_of_each_board(case):
    stage = random_stage(case, seed=21)
    try:
        nominal = stage.input_impedance()
    except CircuitError:
        return  # an input that takes no current: nothing to compare
    values = spread_of(stage, 5, 0.02)
    for i, seen in enumerate(evaluate_midband(stage, values, nominal)):
        board = stage.with_parts(**{name: float(v[i]) for name, v in values.items()}).input_impedance()
        if same_plateau(board, nominal):
            assert seen == pytest.approx(board.midband_gain(), rel=1e-9)


def usual_stage():
    """Return a stage as somebody would build it."""
    return sr.stage("noninverting", supply=9, r_source="220", c_in="220n", r_bias="47k", r_top="33k",
                    r_bottom="33k", c_bias="10u", r_f="39k", r_g="1k", c_g="4u7", c_out="4u7",
                    r_load="10k")  # fmt: skip


@pytest.mark.parametrize("tolerance", [0.01, 0.2, 0.6])
def test_cut_offs_are_exact_for_wide_tolerances_too(tolerance):
    """The figure meets its own definition: half the power of the board's own mid-band gain."""
    stage = usual_stage()
    values = spread_of(stage, 200, tolerance)
    figures = evaluate_boards(stage, values)
    for i in range(200):
        board = alone(stage, values, i)
        assert figures.midband_gain[i] == pytest.approx(board.midband_gain(), rel=1e-9)
        assert figures.low_cutoff[i] == pytest.approx(board.low_cutoff(), rel=1e-9)


def test_boards_beyond_one_chunk_are_all_filled_in_order():
    stage = usual_stage()
    boards = CHUNK + 7
    scale = np.linspace(0.9, 1.1, boards)
    figures = evaluate_boards(stage, {"c_in": stage.values["c_in"] * scale})
    assert figures.low_cutoff.shape == figures.midband_gain.shape == (boards,)
    assert np.all(np.diff(figures.low_cutoff) < 0)
    one = evaluate_boards(stage, {"c_in": stage.values["c_in"] * scale[-3:]})
    assert np.allclose(one.low_cutoff, figures.low_cutoff[-3:], rtol=1e-12)


def test_the_result_does_not_depend_on_the_other_boards():
    stage = usual_stage()
    values = spread_of(stage, 50, 0.3)
    together = evaluate_boards(stage, values).low_cutoff
    each = [
        evaluate_boards(stage, {n: v[i : i + 1] for n, v in values.items()}).low_cutoff[0] for i in range(50)
    ]
    assert np.allclose(together, each, rtol=1e-10)


def test_a_part_that_does_not_matter_moves_nothing():
    stage = usual_stage()
    figures = evaluate_boards(stage, {"r_top": np.array([33e3, 33e3])})
    assert isinstance(figures, BoardFigures)
    assert (
        figures.low_cutoff[0]
        == figures.low_cutoff[1]
        == pytest.approx(stage.transfer("signal", "output").low_cutoff(), rel=1e-12)
    )


def test_other_paths_can_be_asked_for():
    stage = usual_stage()
    figures = evaluate_boards(stage, {"r_bottom": np.array([33e3, 66e3])}, source="supply", node="bias")
    assert figures.midband_gain == pytest.approx([1 / 2, 2 / 3], rel=1e-12)
    assert figures.low_cutoff.tolist() == [0.0, 0.0]


def test_wrong_values_are_named():
    stage = usual_stage()
    with pytest.raises(UnknownNameError, match=r"c_im.*Did you mean 'c_in'"):
        evaluate_boards(stage, {"c_im": np.ones(3)})
    with pytest.raises(QuantityError, match=r"c_in.*positive and finite"):
        evaluate_boards(stage, {"c_in": np.array([1e-6, -1e-6])})


@pytest.mark.parametrize(
    "values",
    [
        {"c_in": np.full(3, 1e-6), "c_g": np.full(4, 1e-6)},
        {"c_in": np.full((2, 2), 1e-6)},
        {"c_in": 1e-6},
        {},
    ],
)
def test_arrays_of_different_length_are_refused(values):
    with pytest.raises(QuantityError) as caught:
        evaluate_boards(usual_stage(), values)
    assert caught.value.allowed == "arrays of one common shape (boards,)"
    assert "one value per board" in caught.value.remedy


def test_boards_far_from_the_nominal_one_are_exact_too():
    """Capacitors wrong by decades: where Newton's method does not settle the board is solved alone."""
    stage = usual_stage()
    rng = np.random.default_rng(3)
    names = ("c_in", "c_g", "c_out")
    values = {name: stage.values[name] * 10.0 ** rng.uniform(-2, 2, 300) for name in names}
    figures = evaluate_boards(stage, values)
    for i in range(300):
        board = alone(stage, values, i)
        assert figures.midband_gain[i] == pytest.approx(board.midband_gain(), rel=1e-9)
        assert figures.low_cutoff[i] == pytest.approx(board.low_cutoff(), rel=1e-9)
