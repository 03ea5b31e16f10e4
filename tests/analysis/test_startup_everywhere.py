"""Every stage on every bias source wakes up, sags and goes to sleep, with random parts."""

from itertools import pairwise

import numpy as np
import pytest

from singlerail_nb.analysis.startup import brown_out, power_down, startup
from tests.circuits_for_tests import CASES, random_stage

LIMITS = {"low": 0.05, "high": 1.2, "dropout": 0.3}
EVENTS = {
    "step": lambda stage: startup(stage, **LIMITS),
    "ramp": lambda stage: startup(stage, ramp_time=1e-3, **LIMITS),
    "power down": lambda stage: power_down(stage, fall_time=1e-3, **LIMITS),
    "brown-out": lambda stage: brown_out(stage, sag=5, duration=0.01, **LIMITS),
}


@pytest.mark.parametrize("event", EVENTS)
@pytest.mark.parametrize("case", CASES[::6], ids=str)
def test_outputs_stay_inside_their_limits_and_charges_do_not_jump(case, event):
    run = EVENTS[event](random_stage(case, seed=3))
    t = np.concatenate([np.linspace(0.0, run.times[-1], 100), run.times])
    rail = run.voltage("supply", t)
    lowest = np.minimum(0.05, rail)
    highest = np.maximum(rail - 1.2, lowest)
    for opamp in run.stage.circuit.opamps:
        output = run.voltage(opamp.output, t)
        assert np.max(output - highest) < 1e-6
        assert np.max(lowest - output) < 1e-6
    for before, after in pairwise(run.segments):
        if not len(after.equations.constraint_x):  # a loop of capacitors may share its charge at once
            own = len(run.space.capacitors)
            assert before.final_states[:own] == pytest.approx(after.x[:own], abs=1e-9)
