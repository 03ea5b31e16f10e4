"""Units and limits of every stage with random values: volts, ohms and seconds scale as they must.

A result with a wrong unit, a forgotten factor or a root too many fails under a change of scale.
"""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

import singlerail_nb as sr
from singlerail_nb.analysis.boards import evaluate_boards
from tests.circuits_for_tests import CASES, FULL_CASES, random_stage, stages, works_back

MOST_PARTS = 10
F = np.geomspace(1.0, 1e6, 13)
IDEAL = [case for case in CASES if not case.single_pole]
SMALL = [c for c in IDEAL if c in FULL_CASES and len(c.parts) <= MOST_PARTS and not works_back(c.circuit)]
"""Stages whose corners are few; the others are tried in test_tolerance.py, with values that make sense."""
few = settings(max_examples=25)
scales = st.floats(0.25, 4.0)


def rescaled(stage, resistors=1.0, capacitors=1.0):
    """Return the stage with all resistors and all capacitors multiplied."""
    factors = {"resistor": resistors, "capacitor": capacitors}
    return stage.with_parts(**{p.name: stage.values[p.name] * factors[p.kind] for p in stage.circuit.parts})


@few
@given(stages(IDEAL), scales)
def test_thermal_noise_grows_with_the_root_of_the_resistance(stage, k):
    """All R times k and C over k: the same voltages divide, sqrt(4 k T R) is what grows."""
    one, other = (sr.noise(s).density(F, "output") for s in (stage, rescaled(stage, k, 1 / k)))
    assert np.isfinite(one).all()
    assert np.all(one >= 0)
    assert np.allclose(other, one * k**0.5, rtol=1e-6)


@few
@given(stages(IDEAL), scales)
def test_thermal_noise_in_a_band_is_that_of_the_capacitors(stage, k):
    """All C over k: frequencies times k, densities as they were; k T / C grows by k."""
    quick = rescaled(stage, capacitors=1 / k)
    one = sr.noise(stage).rms(20.0, 20e3, "output")
    other = sr.noise(quick).rms(20.0 * k, 20e3 * k, "output")
    assert other == pytest.approx(one * k**0.5, rel=1e-4)


@few
@given(stages(), scales)
def test_resting_voltages_follow_the_rail_and_no_impedance_level(stage, k):
    levels = {name: volts * k for name, volts in stage.levels.items()}
    raised = replace(stage, supply=stage.supply * k, levels=levels)
    one, higher, other = (sr.operating_point(s).voltages for s in (stage, raised, rescaled(stage, 2.0, 0.5)))
    assert set(one) == set(higher) == set(other)
    for node, volts in one.items():
        assert np.isfinite(volts)
        assert higher[node] == pytest.approx(volts * k, rel=1e-9, abs=1e-9), node
        assert other[node] == pytest.approx(volts, rel=1e-9, abs=1e-9), node


@settings(max_examples=10)
@given(stages(IDEAL), scales)
def test_all_of_a_start_up_scales_in_time(stage, k):
    assume(stage.transfer("signal", "output").poles().size)  # without, there is no time of its own
    limits = {"low": 0.05, "high": 1.2}
    one, other = sr.startup(stage, **limits), sr.startup(rescaled(stage, capacitors=k), **limits)
    assert np.allclose(other.times, np.multiply(one.times, k), rtol=1e-4)
    t = np.linspace(0.0, one.times[-1], 20)
    for node in stage.circuit.nodes:
        assert np.allclose(other.voltage(node, t * k), one.voltage(node, t), atol=1e-6), node


@pytest.mark.parametrize("case", SMALL, ids=str)
def test_worst_cases_hold_every_board_and_grow_with_the_tolerance(case):
    stage = random_stage(case, seed=30)
    narrow, wide = (sr.worst_case(stage, tolerance) for tolerance in (0.01, 0.05))
    generator = np.random.default_rng(6)
    values = {p.name: stage.values[p.name] * generator.uniform(0.95, 1.05, 50) for p in stage.circuit.parts}
    boards = evaluate_boards(stage, values)
    figures = ["midband_gain"] + ["low_cutoff"] * bool(case.circuit.capacitors and case.has_bias)
    for name in figures:
        (low, high), (lower, higher) = narrow[name].bounds, wide[name].bounds
        assert lower * (1 - 1e-9) <= low <= high <= higher * (1 + 1e-9), name
        found = getattr(boards, name)
        assert np.isfinite(found).all()
        assert lower * (1 - 1e-9) <= found.min() <= found.max() <= higher * (1 + 1e-9), name
