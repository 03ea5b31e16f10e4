"""Start-up with clamps: exact pieces against scipy.integrate.solve_ivp at equal accuracy.

Both work from the same state equations of the stage and return every capacitor voltage to within
1 microvolt.  A feedback capacitor makes a full stage stiff: time constants from 10 us to 0.5 s.
Measured when this was written: LSODA, the only rival near, is 4 to 5 times slower on the stage
without feedback capacitor, RK45 (the default) about 10 times; Radau and BDF 40 times and more.
"""

from functools import partial
from time import perf_counter

import numpy as np
import pytest
from scipy.integrate import solve_ivp

import singlerail_nb as sr
from singlerail_nb.analysis.startup import startup
from singlerail_nb.analysis.startup_inputs import Limits, Rail, input_pieces
from singlerail_nb.analysis.state_space import HIGH, LOW, Mode, StateSpace
from tests.references.startup_by_steps import GOLDEN

TIMES = np.unique(np.concatenate([np.linspace(0.0, 4.0, 200), np.geomspace(1e-5, 4.0, 200)]))
RAMP, LOWEST, HEADROOM = 1e-3, 0.02, 1.5
MICROVOLT = 1e-6


def exact(stage):
    run = startup(stage, ramp_time=RAMP, low=LOWEST, high=HEADROOM)
    return np.array(list(run.capacitor_voltages(TIMES).values()))


def stepped(stage, method, rtol):
    """Return the same by stepping: the op-amp output is clipped at every evaluation."""
    space = StateSpace(stage)
    loop, at_low, at_high = (space.equations(Mode((state,), ())) for state in ("loop", "low", "high"))
    c, d = (matrix[space.index["amp_out"]] for matrix in (loop.C, loop.D))
    low, high = space.inputs.index(LOW), space.inputs.index(HIGH)
    x, found = np.zeros(len(space.states)), []
    for piece in input_pieces(space, Rail.ramp(stage.supply, RAMP), Limits(LOWEST, HEADROOM, 0.0)):

        def rates(t, x, piece=piece):
            w = piece.at(t)
            wanted = c @ x + d @ w
            now = at_low if wanted < w[low] else at_high if wanted > w[high] else loop
            return now.A @ x + now.B @ w

        end = min(piece.end, TIMES[-1])
        inside = TIMES[(piece.start <= TIMES) & ((end > TIMES) | (end == TIMES[-1]))]
        wanted = np.unique([*inside, end])
        steps = solve_ivp(rates, (piece.start, end), x, method, wanted, rtol=rtol, atol=rtol)
        found.append(steps.y[:, np.isin(steps.t, inside)])
        x = steps.y[:, -1]
    return np.hstack(found)


def fastest(work, repeats):
    times = []
    for _ in range(repeats):
        start = perf_counter()
        work()
        times.append(perf_counter() - start)
    return min(times)


def time_at_equal_accuracy(stage, method, truth):
    """Return the time of a solver at the loosest tolerance that is accurate enough; infinity if none."""
    for rtol in (3e-7, 1e-7, 3e-8, 1e-8, 3e-9, 1e-9, 3e-10):
        if np.abs(stepped(stage, method, rtol) - truth).max() <= MICROVOLT:
            return fastest(partial(stepped, stage, method, rtol), 3)
    return np.inf


def test_a_full_stage_is_faster_than_the_best_solver(ratio):
    stage = sr.stage("noninverting", c_f=100e-12, **GOLDEN)
    rivals = {m: time_at_equal_accuracy(stage, m, exact(stage)) for m in ("LSODA", "BDF")}
    best = min(rivals, key=rivals.get)
    assert np.isfinite(rivals[best])
    ours = fastest(lambda: exact(stage), 30)
    print(f"exact {1e3 * ours:.2f} ms", {m: f"{1e3 * t:.1f} ms" for m, t in rivals.items()})
    ratio(f"start-up of a full stage: best of solve_ivp ({best}) / exact", rivals[best] / ours, at_least=10)


@pytest.mark.parametrize(("method", "goal"), [("RK45", 6), ("LSODA", 2)])
def test_without_feedback_capacitor(ratio, method, goal):
    """Not stiff, so that the rivals take long steps: still ahead of the default and of the best method."""
    stage = sr.stage("noninverting", **GOLDEN)
    theirs = time_at_equal_accuracy(stage, method, exact(stage))
    ours = fastest(lambda: exact(stage), 30)
    ratio(f"start-up without c_f: solve_ivp ({method}) / exact", theirs / ours, at_least=goal)
