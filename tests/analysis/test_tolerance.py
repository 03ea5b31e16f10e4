"""Tolerance three ways: corners against brute force, proofs against random boards, seeds and workers."""

import math
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from itertools import product
from multiprocessing import get_context

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.supply_rejection import supply_rejection
from singlerail_nb.analysis.tolerance import monte_carlo, root_sum_square, tolerance_report, worst_case
from singlerail_nb.analysis.tolerance_catalogue import nominal_value, standard_figures
from singlerail_nb.analysis.tolerance_extremes import extreme
from singlerail_nb.analysis.tolerance_figures import DroopAt, Measured
from singlerail_nb.analysis.tolerance_inputs import tolerance_set
from singlerail_nb.analysis.tolerance_intervals import TooLargeError, enclose
from singlerail_nb.analysis.tolerance_stage_figures import Settling
from singlerail_nb.analysis.window import window
from singlerail_nb.circuit.opamp_library import opamp
from singlerail_nb.errors import QuantityError, UnknownNameError
from singlerail_nb.quantities import write_quantity
from tests.sensible_stages import SENSIBLE
from tests.sensible_stages import noninverting as hive_stage

FAST = ("midband_gain", "low_cutoff", "input_impedance", "supply_gain", "bias_voltage", "output_rest")


def figures_of(stage):
    """The figures by the scalar analyses, which know nothing of boards."""
    whole = stage.transfer("signal", "output")
    rest = sr.operating_point(stage)
    return {
        "midband_gain": whole.midband_gain(),
        "low_cutoff": whole.low_cutoff(),
        "input_impedance": stage.input_impedance().midband_gain(),
        "supply_gain": abs(stage.transfer("supply", "output")(100.0)),
        "bias_voltage": rest.voltage("bias"),
        "output_rest": rest.voltage("amp_out"),
    }


def test_corners_against_brute_force():
    stage = hive_stage()
    tolerance = {"c_in": 0.1, "r_bias": 0.05, "r_f": 0.02, "r_top": 0.05, "c_g": (-0.2, 0.5), "c_bias": 0.2}
    worst = worst_case(stage, tolerance)
    ends = {
        n: ((1 - t, 1 + t) if isinstance(t, float) else (1 + t[0], 1 + t[1])) for n, t in tolerance.items()
    }
    corners = [
        figures_of(stage.with_parts(**{n: stage.values[n] * k for n, k in zip(ends, chosen, strict=True)}))
        for chosen in product(*ends.values())
    ]
    for name in FAST:
        every = [corner[name] for corner in corners]
        assert worst.of(name) == pytest.approx((min(every), max(every)), rel=1e-9)
        assert worst[name].nominal == pytest.approx(figures_of(stage)[name], rel=1e-9)


def test_the_corner_named_gives_the_extreme():
    stage = hive_stage()
    found = worst_case(stage, 0.1)["low_cutoff"]
    for corner, value in ((found.low_corner, found.lowest), (found.high_corner, found.highest)):
        board = stage.with_parts(**corner)
        assert board.transfer("signal", "output").low_cutoff() == pytest.approx(value, rel=1e-9)


def test_every_figure_of_the_standard_stage_is_proven():
    worst = worst_case(hive_stage(), {"resistors": 0.05, "capacitors": 0.2})
    assert [worst[name].is_proven for name in FAST] == [True] * len(FAST)
    directions = worst["low_cutoff"].proof.directions
    assert {directions[name] for name in ("c_in", "c_g", "c_out", "c_bias", "r_bias", "r_g")} == {-1}


@pytest.mark.parametrize("name", SENSIBLE)
def test_no_board_lies_beyond_the_bounds(name):
    stage = SENSIBLE[name]
    tolerances = tolerance_set(stage, {"resistors": 0.02, "capacitors": 0.2})
    generator = np.random.default_rng(5)
    boards = Measured(stage, {part: generator.uniform(*ends, 2000) for part, ends in tolerances.box.items()})
    for figure in standard_figures(stage).values():
        if isinstance(figure, Settling):
            continue
        found, values = extreme(tolerances, figure), figure.on(boards)
        low, high = found.bounds
        assert low * (1 - 1e-9) <= values.min(), figure.name
        assert values.max() <= high * (1 + 1e-9), figure.name
        assert found.proof.kind != "tried" or figure.name in ("swing", "ripple"), figure.name


def test_a_figure_that_is_not_monotonic_is_said_so():
    # The ripple of a stage near the corner of its own bias filter: source and bias path compete.
    stage = hive_stage(opamp=opamp("GPB"))
    found = worst_case(stage, {"resistors": 0.01, "capacitors": 0.2})["midband_gain"]
    assert found.proof.kind == "bounded"
    assert 0 < found.proof.excess < 0.01
    assert "c_g not proven monotonic" in found.verdict
    assert found.bounds[0] < found.lowest < found.highest < found.bounds[1]


def test_droop_is_proven_too():
    stage = hive_stage()
    found = extreme(tolerance_set(stage, 0.1), DroopAt(60.0))
    whole = stage.transfer("signal", "output")
    assert found.nominal == pytest.approx(20 * math.log10(whole.midband_gain() / abs(whole(60.0))))
    assert found.proof.kind == "monotonic"
    assert found.proof.directions["c_g"] == -1


def test_swing_of_boards_is_that_of_the_window():
    stage = hive_stage(opamp=opamp("GPB"))
    for board in (stage, stage.with_parts(r_top="39k", r_load="2k2"), stage.with_parts(r_bottom="22k")):
        figure = standard_figures(board)["swing"]
        assert nominal_value(board, figure) == pytest.approx(window(board).swing, rel=1e-9)


def test_ripple_of_boards_is_that_of_the_supply_rejection():
    stage = hive_stage(opamp=opamp("GPB"))
    for board in (stage, stage.with_parts(r_bias="100k", c_bias="4u7")):
        figure = standard_figures(board, line=300.0)["ripple"]
        assert nominal_value(board, figure) == pytest.approx(
            abs(supply_rejection(board).total(300.0)), rel=1e-9
        )
    assert "ripple" not in standard_figures(hive_stage())


def test_more_parts_than_corners_are_combined(monkeypatch):
    monkeypatch.setattr("singlerail_nb.analysis.tolerance_extremes.MOST_PARTS", 4)
    few = worst_case(hive_stage(), 0.05)["low_cutoff"]
    monkeypatch.undo()
    every = worst_case(hive_stage(), 0.05)["low_cutoff"]
    assert (few.corners, few.complete) == (32, False)
    assert (every.corners, every.complete) == (2048, True)
    assert few.limits == pytest.approx(every.limits, rel=1e-12)


def test_root_sum_square_by_hand():
    # Bias of a divider: both resistors have sensitivity 1/2 of opposite sign.
    squares = root_sum_square(hive_stage(), {"r_top": 0.02, "r_bottom": 0.01})
    half = 4.5 * math.hypot(0.5 * 0.02, 0.5 * 0.01)
    assert squares.bias_voltage == pytest.approx((4.5 - half, 4.5 + half), rel=1e-9)


def test_monte_carlo_names_and_shapes():
    spread = monte_carlo(hive_stage(), boards=1000, tolerance=0.05, seed=1)
    assert spread.low_cutoff.shape == spread.midband_gain.shape == (1000,)
    low, high = worst_case(hive_stage(), tolerance=0.05).low_cutoff
    assert low <= spread.low_cutoff.min() <= spread.low_cutoff.max() <= high
    assert spread.share_within("low_cutoff", low, high) == 1.0
    with pytest.raises(UnknownNameError, match=r"figures=\(\"swing\",\)"):
        _ = spread.swing


def test_a_board_is_its_part_values():
    stage = hive_stage()
    spread = monte_carlo(stage, boards=20, tolerance=0.1, seed=4)
    drawn = {name: spread.part_values(name) for name in spread.tolerances.parts}
    for i in (0, 19):
        board = stage.with_parts(**{name: float(v[i]) for name, v in drawn.items()})
        whole = board.transfer("signal", "output")
        assert spread.low_cutoff[i] == pytest.approx(whole.low_cutoff(), rel=1e-9)
        assert spread.midband_gain[i] == pytest.approx(whole.midband_gain(), rel=1e-9)


def test_same_seed_same_boards_whatever_the_jobs():
    stage, boards = hive_stage(), 140_000
    alone = monte_carlo(stage, boards, 0.05, seed=7)
    larger_jobs = monte_carlo(stage, boards, 0.05, seed=7, blocks_per_job=3)
    fewer = monte_carlo(stage, 40_000, 0.05, seed=7)
    with ThreadPoolExecutor(3) as pool:
        threads = monte_carlo(stage, boards, 0.05, seed=7, executor=pool)
    for name in ("low_cutoff", "midband_gain"):
        assert np.array_equal(alone.of(name), larger_jobs.of(name))
        assert np.array_equal(alone.of(name), threads.of(name))
        assert np.array_equal(alone.of(name)[:40_000], fewer.of(name))
    assert not np.array_equal(alone.low_cutoff, monte_carlo(stage, boards, 0.05, seed=8).low_cutoff)


def test_a_process_pool_gives_the_same():
    stage = hive_stage(opamp=opamp("PRC"), c_bias="4u7")
    alone = monte_carlo(stage, 70_000, 0.05, seed=2)
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        pooled = monte_carlo(stage, 70_000, 0.05, seed=2, executor=pool)
    assert np.array_equal(alone.low_cutoff, pooled.low_cutoff)


def test_other_parts_keep_their_draws():
    first = monte_carlo(hive_stage(), 100, {"c_in": 0.1}, seed=1)
    both = monte_carlo(hive_stage(), 100, {"c_in": 0.1, "r_f": 0.01}, seed=1)
    assert np.array_equal(first.part_values("c_in"), both.part_values("c_in"))


def test_start_up_board_by_board():
    stage = hive_stage(c_bias="1u")
    figure = Settling()
    spread = monte_carlo(stage, 3, 0.1, figures=(figure,))
    drawn = {name: float(spread.part_values(name)[1]) for name in spread.tolerances.parts}
    alone = nominal_value(stage.with_parts(**drawn), figure)
    assert spread.settling_time[1] == pytest.approx(alone, rel=1e-9)


def test_report_puts_the_three_ways_beside_each_other():
    report = tolerance_report(hive_stage(), 0.05, boards=2000)
    row = next(row for row in report.rows if row.name == "low_cutoff")
    assert row.extreme[0] < row.root_sum_square[0] < row.nominal < row.percentiles[1] < row.extreme[1]
    assert "Can any board within tolerance be worse?" in report.text
    assert "proven: monotonic" in report.text
    shown = report._repr_markdown_()
    assert all(f"| {' | '.join(row.cells)} |" in shown for row in report.rows)
    labels = [label for line in report.verdicts for label in line.split(": ")[0].split(", ")]
    assert sorted(labels) == sorted(row.label for row in report.rows)


def test_results_show_what_is_known_and_what_may_be_asked():
    worst = worst_case(hive_stage(), 0.05)
    assert "low-end cut-off" not in repr(worst)
    low, high = (write_quantity(end, "Hz") for end in worst.low_cutoff)
    assert f"low-end cut-off: {low} to {high}" in repr(worst)
    assert "may be asked: midband_gain" in repr(worst)
    squares = root_sum_square(hive_stage(), 0.05)
    low, high = (write_quantity(end, "V/V") for end in squares.midband_gain)
    assert f"mid-band gain: {low} to {high}" in repr(squares)
    spread = monte_carlo(hive_stage(), 500, 0.05, seed=3)
    low, high = (write_quantity(end, "Hz") for end in spread.percentiles("low_cutoff"))
    assert "500 random boards, seed 3, 1 % to 99 %:\n" in repr(spread)
    assert repr(spread).endswith(f"low-end cut-off: {low} to {high}")


@pytest.mark.parametrize("tolerance", [1.0, 1.5, "100 %", -0.05, {"c_in": 1.0}, {"c_in": (-1.0, 0.2)}])
def test_a_tolerance_that_leaves_no_part_is_refused(tolerance):
    with pytest.raises(QuantityError, match="100 %"):
        worst_case(hive_stage(), tolerance)


def test_bad_names_and_counts():
    with pytest.raises(UnknownNameError, match="Did you mean 'c_in'"):
        worst_case(hive_stage(), {"c_inn": 0.1})
    with pytest.raises(UnknownNameError, match="low_cutoff"):
        monte_carlo(hive_stage(), figures=("low_cutof",))
    with pytest.raises(UnknownNameError, match="uniform"):
        monte_carlo(hive_stage(), distribution="gauss")
    with pytest.raises(QuantityError, match="boards"):
        monte_carlo(hive_stage(), boards=0)


def test_no_tolerance_at_all():
    found = worst_case(hive_stage(), 0.0)["low_cutoff"]
    assert found.lowest == found.nominal == found.highest
    assert np.ptp(monte_carlo(hive_stage(), 10, 0.0).low_cutoff) == 0.0


def test_the_rail_may_vary_too():
    worst = worst_case(hive_stage(), {"supply": (-0.1, 0.05)})
    assert worst.bias_voltage == pytest.approx((4.05, 4.725))
    assert worst.low_cutoff == pytest.approx((worst["low_cutoff"].nominal,) * 2)


def test_a_proof_that_would_take_minutes_is_left_out_and_said_so():
    """Every part of this stage stands in one factor of 67 terms; corners and random boards are left."""
    stage = sr.stage(
        "bootstrapped_follower", supply=9, opamp=opamp("GPB"), r_source=600, c_in="330n", r_bias="100k",
        r_boost="100k", c_boost="10u", r_top="100k", r_bottom="100k", c_bias="10u",
    )  # fmt: skip
    found = sr.worst_case(stage, tolerance=0.05)["low_cutoff"]
    assert found.proof.kind == "tried"
    assert "not proven" in found.verdict
    assert found.bounds == (-math.inf, math.inf)
    function = stage.transfer("signal", "output").function
    with pytest.raises(TooLargeError):
        enclose(function, stage.parameters, {"c_in": (1e-7, 2e-7), "r_bias": (9e4, 1e5)}, (1.0, 2.0))


@pytest.mark.parametrize("seed", ["one", 1.5, -1, None])
def test_a_seed_is_a_whole_number(seed):
    with pytest.raises(QuantityError, match=r"seed: got .*; allowed: a whole number, 0 or more"):
        monte_carlo(hive_stage(), boards=10, seed=seed)


def test_a_root_sum_square_past_the_extreme_value_is_explained():
    """Near mid-rail the swing bends: one limit takes over from the other."""
    stage = hive_stage(opamp=opamp("GPB"))
    wide, narrow = (
        tolerance_report(stage, {"r_top": t, "r_bottom": t}, boards=50, figures=("swing", "bias_voltage"))
        for t in (0.2, 0.01)
    )
    swing, bias = wide.rows
    assert swing.root_sum_square[1] > swing.extreme[1]
    assert (swing.goes_beyond, bias.goes_beyond) == (True, False)
    (remark,) = wide.remarks
    assert remark.startswith("output swing: root sum square reaches past the extreme value.")
    assert remark in wide.text
    assert remark in wide._repr_markdown_()
    assert narrow.remarks == ()
