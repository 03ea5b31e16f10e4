"""The browser computes what Python computes: every stage of the registry, random values."""

import math

import numpy as np
import pytest

from singlerail_nb.errors import CircuitError, UnknownNameError
from singlerail_nb.widgets.figures import Figure, standard_figures
from singlerail_nb.widgets.functions import programs, transfer_named
from tests.circuits_for_tests import CASES, FULL_CASES, random_stage
from tests.widgets.view_script import run

OUTPUTS = ("signal->output", "signal->amp_out", "supply->output", "supply->bias", "input impedance")
DIVIDERS = ("divider", "filtered_divider")
SAME = 1e-9
COMPARED = tuple(dict.fromkeys((*FULL_CASES, *CASES[::6])))
COMPARE = """
return data.map(({ programs, values, outputs, frequencies }) => {
  const made = programs.map((text) => new Function(`return ${text}`)());
  const functions = view.networkFunctions(made, values);
  return outputs.map((name) => {
    const H = functions[name];
    const { gain } = view.midband(H);
    return {
      gain, low: view.lowCutoff(H), high: view.highCutoff(H), roots: view.roots(H.den).length,
      magnitude: frequencies.map((f) => view.magnitudeAt(H, f)),
      delay: frequencies.map((f) => view.groupDelayAt(H, f)),
      phase: [...view.phaseAlong(H, frequencies)],
    };
  });
});
"""


def known_outputs(stage):
    """Return the outputs that a stage has: a plain reference passes nothing of the rail, for one."""
    names = [*OUTPUTS, "bias filter"] if stage.bias in DIVIDERS else OUTPUTS
    return [name for name in names if exists(stage, name)]


def exists(stage, name):
    try:
        return not transfer_named(stage, name).rational.is_zero
    except CircuitError:  # an input that takes no current has no impedance
        return False
    except UnknownNameError:  # a stage without a mid-rail bias
        return stage.type.uses_bias


def numbers(values):
    return [float(value) for value in values]


@pytest.fixture(scope="module")
def compared(node, tmp_path_factory):
    """Return (stage, output, what the browser says, frequencies) for every case."""
    jobs, stages = [], []
    frequencies = np.geomspace(0.05, 2e6, 23)
    for case in COMPARED:
        stage = random_stage(case, seed=11)
        names = known_outputs(stage)
        stages.append((stage, names))
        jobs.append({
            "programs": programs(stage, names), "values": stage.parameters, "outputs": names,
            "frequencies": frequencies.tolist(),
        })  # fmt: skip
    answers = run(node, tmp_path_factory.mktemp("script"), COMPARE, jobs)
    pairs = zip(stages, answers, strict=True)
    return [
        (s, n, told, frequencies) for (s, names), row in pairs for n, told in zip(names, row, strict=True)
    ]


def test_every_stage_and_output_is_compared(compared):
    assert len(compared) > 4 * len(COMPARED)


def test_midband_gain_and_cutoffs(compared):
    for stage, name, told, _ in compared:
        h = transfer_named(stage, name)
        assert told["gain"] == pytest.approx(h.midband_gain(), rel=SAME), (stage, name)
        assert told["low"] == pytest.approx(h.low_cutoff(), rel=SAME), (stage, name)
        assert float(told["high"]) == pytest.approx(h.high_cutoff(), rel=SAME), (stage, name)


def test_magnitude_and_delay(compared):
    for stage, name, told, f in compared:
        h = transfer_named(stage, name)
        assert told["magnitude"] == pytest.approx(numbers(abs(h(f))), rel=SAME), (stage, name)
        delays = h.group_delay(f)
        assert told["delay"] == pytest.approx(numbers(delays), rel=1e-6, abs=1e-9 * abs(delays).max()), (
            stage,
            name,
        )


def test_phase_has_no_jumps_and_is_pythons_up_to_turns(compared):
    for stage, name, told, f in compared:
        h = transfer_named(stage, name)
        turns = (np.asarray(told["phase"]) - np.degrees(np.angle(h(f)))) / 360.0
        assert turns == pytest.approx(np.round(turns), abs=1e-6), (stage, name)


def test_figures_of_the_panel(node, tmp_path):
    jobs, expected = [], []
    for case in FULL_CASES:
        stage = random_stage(case, seed=5)
        figures = [
            *standard_figures(stage),
            Figure("droop", "", "dB", "droop_db", frequency=30.0),
            Figure("dc", "", "V/V", "dc_gain", "noise gain"),
        ]
        if stage.bias in DIVIDERS:
            figures.append(Figure("current", "", "A", "supply_current", "rail load"))
        told = [figure.describe(stage) for figure in figures]
        names = [name for figure in told for name, _ in figure["terms"]]
        jobs.append({"programs": programs(stage, names), "values": stage.parameters, "figures": told})
        expected.append((str(case), {figure.id: figure.value(stage) for figure in figures}))
    body = """return data.map(({ programs, values, figures }) => {
      const made = programs.map((text) => new Function(`return ${text}`)());
      return view.measureAll(view.networkFunctions(made, values), figures);
    });"""
    for told, (case, own) in zip(run(node, tmp_path, body, jobs), expected, strict=True):
        for name, value in own.items():
            if value is None:
                assert told[name] is None
            elif math.isfinite(value):
                assert float(told[name]) == pytest.approx(value, rel=1e-7, abs=1e-9), (case, name)


def test_roots_of_a_polynomial_with_known_roots(node, tmp_path):
    known = [-1e-3, -2.0, -2.5, -7e4, -3e9]
    coefficients = np.poly(known)[::-1].tolist()
    found = run(node, tmp_path, "return view.roots([0, 0, ...data]);", coefficients)
    assert sorted(root["re"] for root in found)[::-1] == pytest.approx([0, 0, *known], rel=1e-9)
    assert max(abs(root["im"]) for root in found) < 1e-6
