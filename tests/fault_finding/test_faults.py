"""Every fault on every stage: it can be put in, it says what and why, and it shows or says why not."""

import pytest

import singlerail_nb as sr
from singlerail_nb.circuit.bias_sources import bias_circuit
from singlerail_nb.circuit.stages import stage_type
from singlerail_nb.errors import CircuitError, UnknownNameError
from singlerail_nb.fault_finding.bench import Bench
from singlerail_nb.fault_finding.board import Board
from singlerail_nb.fault_finding.catalogue import fault_named, faults, kinds
from singlerail_nb.fault_finding.part_faults import REVERSED_FROM, REVERSED_TIME
from singlerail_nb.fault_finding.symptoms import symptoms

from .boards import NAMES, board_stage, pickup

LARGE = 42
TELLING = ("volts at bias", "volts at amp_out", "volts at output")
"""All that is measured here on a stage that can have more faults than that: the rest would take minutes."""


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
    taken = [m for m in bench.measurements if (m.key in TELLING if only_meter else m.kind != "wait")]
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


@pytest.mark.parametrize(
    ("key", "lesson", "gone"),
    [("c_g short", "leg_without_capacitor", "c_g"), ("r_bias open", "input_without_bias_path", "r_bias")],
)
def test_a_fault_is_the_stage_that_was_drawn_wrong(key, lesson, gone):
    sound = board_stage("noninverting")
    values = {name: value for name, value in sound.values.items() if name != gone}
    drawn_wrong = Board.of(sr.stage(lesson, supply=9, opamp=sound.opamp, **values))
    broken = fault_named(sound, key).on(sound)
    for node in ("plus", "minus", "amp_out", "bias"):
        assert broken.rest().voltage(node) == pytest.approx(drawn_wrong.rest().voltage(node), rel=1e-6)
        one, two = (board.transfer("signal", node)(300.0) for board in (broken, drawn_wrong))
        assert one == pytest.approx(two, rel=1e-9)


@pytest.mark.parametrize("bias", stage_type("inverting").bias_sources)
def test_every_bias_source_takes_faults(bias):
    stage = board_stage("inverting", bias=bias)
    bench = Bench.of(stage)
    volts = [m for m in bench.measurements if m.kind == "volts"]
    own = [f for f in faults(stage, "open", "rail") if f.part in ("supply", *bias_circuit(bias).part_names)]
    assert len(own) >= 3
    for fault in own:
        assert all(
            row.broken.value >= 0.0 for row in symptoms(stage, fault, bench=bench, measurements=volts).rows
        )
    sagged = symptoms(stage, "supply sags", bench=bench, measurements=volts)
    assert sagged.row("volts at supply").broken.value == pytest.approx(6.0)


def test_a_node_that_only_a_blocking_reference_holds_hangs_in_the_air():
    # The input current of this class flows out of the pin; the reference cannot take it in.
    board = Board.of(board_stage("inverting", bias="source_only_reference"))
    assert board.rest().voltage("bias")[0] == pytest.approx(4.5, abs=1e-3)
    pushed = board.rest(bias_current=board.opamp.bias_current)
    assert pushed.states[0][-1] == "off"
    assert pushed.voltage("bias")[0] == pytest.approx(9.0)


def test_an_unknown_fault_or_kind_is_refused_with_a_neighbour():
    with pytest.raises(UnknownNameError, match="c_in open"):
        fault_named(pickup(), "c_in opn")
    with pytest.raises(UnknownNameError, match="volts at plus"):
        symptoms(pickup(), "c_in open").row("volt at plus")
    with pytest.raises(UnknownNameError, match="kind"):
        faults(pickup(), "opened")


def test_shorting_an_output_to_ground_is_refused():
    stage = board_stage("follower").without_parts("c_out")
    with pytest.raises(CircuitError):
        fault_named(stage, "r_load short").on(stage)


@pytest.mark.parametrize("key", ["r_bottom short", "c_bias short"])
def test_an_input_that_is_tied_to_ground_does_not_float(key):
    stage = board_stage("inverting")
    (plus,) = {opamp.plus for opamp in stage.circuit.opamps}
    board = fault_named(stage, key).on(stage)
    assert board.loose_inputs == ()
    assert (plus, board.rest().voltage(plus)) == ("bias", 0.0)
