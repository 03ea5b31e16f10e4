"""Random boards and selection from stock, beside the same work done by hand.

`test_boards` measures the arrays alone; here the whole of `monte_carlo` counts: drawing, blocks, figures.
"""

import time
import tracemalloc

import numpy as np

import singlerail_nb as sr
from singlerail_nb.analysis.tolerance import monte_carlo, worst_case
from singlerail_nb.designing.selection import select
from singlerail_nb.designing.stock import Stock
from tests.benchmarks.side_by_side import best_times, standard_stage
from tests.benchmarks.test_boards import BOARDS, FEW, by_bisection, by_closed_form, spread

MEBIBYTE = 2**20


def drawn_and_by_hand(stage, middle, around):
    """Draw the boards and put them into the closed form."""
    return by_closed_form(spread(stage, BOARDS), middle, around)


def test_random_boards_with_drawing(ratio):
    stage = standard_stage(single_pole=False)
    nominal = stage.transfer("signal", "output")
    middle, around = nominal.midband.frequency, nominal.low_cutoff()
    ours, hand, stacked = best_times(
        lambda: monte_carlo(stage, BOARDS, 0.05, seed=7),
        lambda: drawn_and_by_hand(stage, middle, around),
        lambda: by_bisection(stage, spread(stage, FEW), middle, around),
        repetitions=7,
    )
    per_board = (stacked / FEW) / (ours / BOARDS)
    text = f"stacked numpy.linalg.solve with bisection / monte_carlo of 100,000 boards ({ours * 1e3:.0f} ms)"
    ratio(f"{text}, per board", per_board, at_least=50)
    ratio("monte_carlo of 100,000 boards / drawing and closed form by hand", ours / hand, at_most=3)


def test_memory_does_not_grow_with_the_boards(ratio):
    stage = standard_stage(single_pole=False)
    monte_carlo(stage, 10_000, 0.05)
    tracemalloc.start()
    found = monte_carlo(stage, BOARDS, 0.05)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    results = found.low_cutoff.nbytes + found.midband_gain.nbytes
    ratio("peak memory beside the results of 100,000 boards, MiB", (peak - results) / MEBIBYTE, at_most=16)


def test_every_corner_beside_single_stages(ratio):
    stage = standard_stage(single_pole=False)
    corners, alone = 4096, 20
    generator = np.random.default_rng(0)

    def one_by_one():
        for _ in range(alone):
            values = {n: v * generator.uniform(0.95, 1.05) for n, v in stage.values.items()}
            stage.with_parts(**values).transfer("signal", "output").low_cutoff()

    ours, single = best_times(lambda: worst_case(stage, 0.05)["low_cutoff"], one_by_one, repetitions=3)
    ratio("4096 corners with proof / stages one by one", (ours / corners) / (single / alone), at_most=0.25)


def test_selection_of_the_standard_stage(ratio):
    asked = sr.Requirements(
        "9 V", "20 dB", "100 kohm", low_cutoff="20 Hz", load="10 kohm", source_resistance="600 ohm"
    )
    start = time.perf_counter()
    found = select(asked, stock=Stock.of("E24", "E12"))
    seconds = time.perf_counter() - start
    ratio(f"selection from E24 and E12, best of {found.grid:.1e} combinations, s", seconds, at_most=2)
