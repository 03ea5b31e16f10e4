"""A mystery can be solved by its own advice, keeps its answer, and judges what the reader does."""

import pytest

from singlerail_nb.errors import QuantityError, UnknownNameError
from singlerail_nb.fault_finding.bench import Bench
from singlerail_nb.fault_finding.catalogue import fault_named
from singlerail_nb.fault_finding.mysteries import mystery, told_apart
from singlerail_nb.fault_finding.mystery import Mystery
from singlerail_nb.fault_finding.readings import reading

from .boards import board_stage, pickup

KEYS = ["c_in open", "c_bias open", "c_g short", "r_bias open", "supply sags", "r_top open"]


@pytest.fixture
def board():
    return mystery(pickup(), seed=5, candidates=KEYS)


def solve(found):
    """Follow the advice to the end."""
    while len(found.remaining) > 1 and found.best.bits > 0:
        assert found.measure(found.best.measurement).was_best
    return found


@pytest.mark.parametrize("seed", range(12))
def test_following_the_advice_leads_to_the_fault(seed):
    found = solve(mystery(pickup(), seed=seed, candidates=KEYS))
    (left,) = found.remaining
    assert found.judge(left.key)[0]
    assert left.key in found.reveal()
    assert len(found.steps) <= 3


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("seed", [1, 2])
def test_no_measurement_of_actual_parts_excludes_the_truth(key, seed):
    bench = Bench.of(pickup())
    candidates = [fault_named(pickup(), name) for name in KEYS]
    found = Mystery(bench, candidates, fault_named(pickup(), key), seed)
    for what in bench.measurements:
        step = found.measure(what)
        assert key in [fault.key for fault in step.remaining], what.key


def test_the_same_seed_is_the_same_board_and_seeds_differ():
    one, two = (
        mystery(pickup(), seed=3, candidates=KEYS).measure("volts at amp_out").value for _ in range(2)
    )
    assert one == two
    assert len({solve(mystery(pickup(), seed=s, candidates=KEYS)).remaining[0].key for s in range(12)}) > 3


def test_the_answer_is_in_no_text_before_it_is_asked_for(board):
    texts = [repr(board), *(repr(choice) for choice in board.choices)]
    answer = board.answer_text()
    assert all(answer not in text and board._fault.what not in text for text in texts)
    with pytest.raises(QuantityError, match="Measure first"):
        board.reveal()


def test_what_remains_can_show_what_was_read(board):
    step = board.measure("volts at bias")
    bench, what = board.bench, step.choice.measurement
    for fault in board.candidates:
        band = reading(bench, fault, what)
        assert (fault in step.remaining) == (band.low <= step.value <= band.high)


def test_a_poor_choice_is_told_what_would_have_been_better(board):
    step = board.measure("volts at source")
    assert not step.was_best
    assert step.best.measurement.key in step.judgement
    assert step.best.bits > step.choice.bits
    assert "bits" in step.judgement


def test_a_wrong_name_is_met_with_the_reading_that_excludes_it():
    bench = Bench.of(pickup())
    candidates = [fault_named(pickup(), name) for name in KEYS]
    found = Mystery(bench, candidates, fault_named(pickup(), "supply sags"), 1)
    right, text = found.judge("r_top open")
    assert not right
    assert "everything measured so far fits" in text
    found.measure("volts at supply")
    right, text = found.judge("r_top open")
    assert not right
    assert "for volts at supply, and you read 5.9" in text or "for volts at supply, and you read 6" in text
    with pytest.raises(UnknownNameError, match="supply sags"):
        found.judge("supply sag")


def test_drawn_candidates_can_all_be_told_apart():
    bench = Bench.of(pickup())
    found = mystery(pickup(), seed=2, candidates=4).candidates
    assert len(found) == 4
    for one in found:
        for other in found:
            if one is not other:
                assert any(
                    reading(bench, one, m).differs(reading(bench, other, m)) for m in bench.measurements
                )


def test_faults_that_nobody_can_tell_apart_are_not_both_drawn():
    stage = board_stage("follower")
    bench = Bench.of(stage)
    twins = [fault_named(stage, "r_bottom short"), fault_named(stage, "c_bias short")]
    assert told_apart(bench, twins, 8) == (twins[0],)


def test_one_candidate_is_no_mystery():
    with pytest.raises(QuantityError, match="two at least"):
        mystery(pickup(), candidates=["c_in open"])


@pytest.mark.parametrize("seed", ["one", 1.5, -1, None, True])
def test_a_seed_is_a_whole_number(seed):
    with pytest.raises(QuantityError, match=r"seed: got .*; allowed: a whole number, 0 or more"):
        mystery(pickup(), seed=seed, candidates=KEYS)


@pytest.mark.parametrize("given", ["c_in open", 3.5, None])
def test_candidates_are_a_number_or_a_list(given):
    with pytest.raises(QuantityError, match=r"candidates: got .*; allowed: how many, or a list"):
        mystery(pickup(), candidates=given)
