"""What one asks of any stage exists for every registered stage, or is refused with what to ask instead."""

import pytest

import singlerail_nb as sr
from singlerail_nb.circuit.stages import stage_type
from singlerail_nb.errors import CircuitError
from singlerail_nb.plots.startup import startup_picture
from tests.circuits_for_tests import FULL_CASES, random_stage

CASES = [case for case in FULL_CASES if case.bias == stage_type(case.name).usual_bias and case.single_pole]
EVERY = pytest.mark.parametrize("case", CASES, ids=str)


@EVERY
def test_response_and_start_up_are_pictured(case):
    stage = random_stage(case)
    assert "mid-band gain" in sr.response_picture(stage).text
    text = startup_picture(sr.startup(stage, ramp_time=1e-3)).text
    assert text.startswith("bias: ") == case.has_bias
    assert "output: " in text


@EVERY
def test_capacitors_have_their_desk_and_swings_their_window(case):
    stage = random_stage(case)
    desk = repr(sr.capacitor_desk(stage))
    assert all(part.name in desk for part in stage.circuit.capacitors)
    if not case.has_bias:
        with pytest.raises(CircuitError, match="two end points"):
            sr.window(stage)
    elif not stage.findings:
        assert sr.window(stage).swing >= 0.0
