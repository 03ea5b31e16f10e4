"""Every question about a stage is answered, or refused in words: all stages, with random parts.

No warning, no other error, no number that is none in an answer.  Derivation, drawing, boards and impedances
have registry-wide tests of their own.
"""

import re
from dataclasses import replace

import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.bandwidth import bandwidth
from singlerail_nb.analysis.startup import power_down
from singlerail_nb.analysis.startup_reports import thump
from singlerail_nb.circuit.stages import stage_type
from tests.circuits_for_tests import FULL_CASES, random_stage

QUESTIONS = {
    "operating point": sr.operating_point,
    "capacitors": lambda stage: sr.capacitor_desk(stage, supply_max=1.1 * stage.supply),
    "window": sr.window,
    "rejection": sr.supply_rejection,
    "noise": lambda stage: sr.noise(stage).rms(20.0, 20e3, "output"),
    "textbook": sr.textbook,
    "bandwidth": bandwidth,
    "power on": lambda stage: thump(sr.startup(stage, ramp_time=1e-3)),
    "power off": lambda stage: power_down(stage, fall_time=1e-3).voltage("output", [0.0, 1.0]),
    "response": lambda stage: sr.response_picture(stage).text,
    "sections": lambda stage: sr.sections_picture(stage).text,
    "bias filter": lambda stage: sr.bias_filter_picture(stage).text,
}
CASES = {case.name: case for case in FULL_CASES if case.bias == stage_type(case.name).usual_bias}
"""Each stage of the registry once, on its usual bias source."""


@pytest.fixture(scope="module", params=CASES)
def stage(request):
    """Return a random stage with a real op-amp on a rail that suits it."""
    made = random_stage(CASES[request.param], seed=41)
    return replace(made, opamp=sr.opamp("GPB"), supply=9.0)


@pytest.mark.parametrize("question", QUESTIONS)
def test_a_question_is_answered_or_refused_in_words(stage, question):
    try:
        answer = repr(QUESTIONS[question](stage))
    except sr.SingleRailError as error:
        answer = error.remedy
    assert answer
    assert not re.search(r"\bnan\b", answer), answer
