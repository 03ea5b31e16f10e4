"""Every registered stage has figures with tolerance, and its corners enclose the nominal board."""

import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.tolerance_catalogue import nominal_value, standard_figures
from singlerail_nb.circuit.stages import stage_type
from tests.circuits_for_tests import FULL_CASES, random_stage

SLOW = {"settling_time", "ripple", "swing", "high_cutoff", "low_cutoff"}
CASES = [case for case in FULL_CASES if case.bias == stage_type(case.name).usual_bias]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_corners_enclose_the_nominal_board(case):
    stage = random_stage(case)
    figures = standard_figures(stage)
    worst = sr.worst_case(stage, tolerance=0.02)
    assert "midband_gain" in figures
    assert ("bias_voltage" in figures) == case.has_bias
    for name in figures.keys() - SLOW:
        low, high = worst[name].limits
        assert low <= nominal_value(stage, figures[name]) <= high, name


@pytest.mark.parametrize("case", CASES, ids=str)
def test_the_report_has_every_figure(case):
    stage = random_stage(case)
    report = sr.tolerance_report(stage, tolerance=0.02, figures=("midband_gain",), boards=200, seed=1)
    assert "mid-band gain" in repr(report)
