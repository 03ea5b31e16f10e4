"""Start-up against a step-by-step solver, and against figures worked out by hand for this project."""

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.startup import startup
from tests.references.startup_by_steps import GOLDEN, capacitor_voltages

TIMES = np.concatenate([np.geomspace(1e-5, 4.0, 120), np.linspace(0.0, 4.0, 81)])
TIMES = np.unique(TIMES)
NAMES = ("c_in", "c_bias", "c_g", "c_out")


def both(values, **conditions):
    stage = sr.stage("noninverting", **values)
    run = startup(stage, **conditions)
    steps, amp_out = capacitor_voltages(values, TIMES, **conditions)
    ours = np.array([run.capacitor_voltage(name, TIMES) for name in NAMES])
    # Polarity as drawn: c_in from plus to source, c_bias and c_g to ground, c_out from amp_out.
    c_out = run.voltage("amp_out", TIMES) - run.voltage("output", TIMES)
    assert ours[3] == pytest.approx(c_out, abs=1e-12)
    return run, ours, steps, amp_out


@pytest.mark.parametrize("ramp_time", [0.0, 0.05])
@pytest.mark.parametrize(
    "changes", [{"r_f": 10e3}, {}, {"c_bias": 1e-9}, {"c_bias": 1e-6}, {"c_g": 47e-6, "r_source": 10e3}]
)
def test_two_routes_agree_to_a_microvolt(changes, ramp_time):
    """The gain of 11 (r_f 10k) never saturates; the others do, and agree as well."""
    run, ours, steps, amp_out = both(GOLDEN | changes, ramp_time=ramp_time, low=0.02, high=1.5)
    assert any(phase.side == "high" for phase in run.saturated) == ("r_f" not in changes)
    assert np.abs(ours - steps).max() < 1e-6
    assert np.abs(run.voltage("amp_out", TIMES) - amp_out).max() < 1e-6


@pytest.mark.parametrize(
    ("c_bias", "saturated_until", "settled"),
    [(10e-6, 0.322, 2.401), (1e-9, 0.916, 0.958), (1e-6, 0.921, 0.963)],
)
def test_worked_example_gain_101(c_bias, saturated_until, settled):
    """Step of 9 V, upper limit 7.5 V: computed by hand for this project, three digits."""
    values = {name: value for name, value in GOLDEN.items() if name not in ("c_out", "r_load")}
    run = startup(sr.stage("noninverting", **values | {"c_bias": c_bias}), low=0.0, high=1.5)
    (phase,) = run.saturated
    assert (phase.opamp, phase.side) == ("opamp", "high")
    assert phase.end == pytest.approx(saturated_until, abs=6e-4)
    assert run.settling_time("amp_out", within=0.01) == pytest.approx(settled, abs=6e-4)
    # The naive rule, five times r_g c_g, is 50 ms.
    assert settled > 15 * 5 * values["r_g"] * values["c_g"]


def test_worked_example_gain_11():
    """Same divider, gain 11 (r_f 10k): no saturation, 2.30 s, as the bias filter alone."""
    run = startup(sr.stage("noninverting", **GOLDEN | {"r_f": 10e3}), high=1.5)
    assert run.saturated == ()
    assert run.settling_time("amp_out", within=0.01) == pytest.approx(2.30, abs=6e-3)
