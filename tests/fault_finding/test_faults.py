"""Every fault on every stage: it can be put in, it says what and why, and it shows or says why not."""

import pytest

import singlerail_nb as sr
from singlerail_nb.errors import CircuitError, UnknownNameError
from singlerail_nb.fault_finding.bench import Bench
from singlerail_nb.fault_finding.board import Board
from singlerail_nb.fault_finding.catalogue import fault_named, faults, kinds
from singlerail_nb.fault_finding.part_faults import REVERSED_FROM, REVERSED_TIME
from singlerail_nb.fault_finding.symptoms import symptoms

from .boards import NAMES, board_stage, pickup

LARGE = 45
"""A stage that can have more faults than this is only measured with the meter here: its AC takes minutes."""


def test_the_kinds_of_the_issue_are_there():
    keys = {fault.key for fault in faults(pickup())}
    assert {"c_in open", "c_g reversed", "r_bias open", "c_in is 220 pF", "c_g short", "supply sags"} <= keys
    assert kinds() == (
        "open", "short", "prefix", "reversed", "leaking", "ceramic", "rail", "loaded", "wrong node",
    )  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_every_part_fails_in_every_way_and_says_so(name):
    stage = board_stage(name)
    found = faults(stage)
    assert len({fault.key for fault in found}) == len(found)
    for part in stage.circuit.parts:
        assert {f"{part.name} open", f"{part.name} short"} <= {fault.key for fault in found}
    for fault in found:
        assert fault.what.endswith(".")
        assert fault.why.endswith(".")
        assert fault.part in (*stage.circuit.part_names, "supply", "bias")


@pytest.mark.parametrize("name", NAMES)
def test_every_fault_shows_or_says_why_not(name):
    stage = board_stage(name)
    bench, found = Bench.of(stage), faults(stage)
    only_meter = len(found) > LARGE
    taken = [m for m in bench.measurements if m.kind == "volts" or not (only_meter or m.kind == "wait")]
    quiet = []
    for fault in found:
        try:
            seen = symptoms(stage, fault, bench=bench, measurements=taken)
        except CircuitError:
            assert fault.kind == "short"  # of a source: nobody switches that on
            continue
        if seen.undetected:
            assert not seen.seen
            quiet.append(fault.key)
            assert seen.undetected.startswith("Not seen")
            assert seen.undetected in repr(seen)
        else:
            assert all(row.is_seen for row in seen.seen)
    assert len(quiet) < len(found) / 2 or only_meter


def test_a_reversed_electrolytic_leaks_by_the_stated_model_and_warns():
    stage = pickup()
    fault = fault_named(stage, "c_g reversed")
    board = fault.on(stage)
    assert board.values["r_leak_c_g"] == REVERSED_TIME / stage.values["c_g"]
    assert board.spread["r_leak_c_g"] == (0.1, 10.0)
    found = symptoms(stage, fault)
    assert "invented" in fault.assumption
    assert found.caution in repr(found)
    assert "wrong way" in fault.what
    # By hand: 4.5 V at the - input draw more through R_g and the leak than R_f can bring.
    leg = stage.values["r_g"] + board.values["r_leak_c_g"]
    assert 4.5 * (1.0 + stage.values["r_f"] / leg) > float(board.output_limits()[1])


def test_an_electrolytic_without_voltage_may_sit_either_way():
    stage = sr.stage(
        "two_stages", supply=9, opamp=sr.opamp("GPB"),
        **{name: board_stage("two_stages").values[name] for name in board_stage("two_stages").values},
    )  # fmt: skip
    fault = fault_named(stage, "c_in_2 reversed")
    assert fault.on(stage) == Board.of(stage)
    assert f"{REVERSED_FROM:g} V" in fault.assumption


def test_an_unknown_fault_or_kind_is_refused_with_a_neighbour():
    with pytest.raises(UnknownNameError, match="c_in open"):
        fault_named(pickup(), "c_in opn")
    with pytest.raises(UnknownNameError, match="kind"):
        faults(pickup(), "opened")


def test_shorting_an_output_to_ground_is_refused():
    stage = board_stage("follower").without_parts("c_out")
    with pytest.raises(CircuitError):
        fault_named(stage, "r_load short").on(stage)
