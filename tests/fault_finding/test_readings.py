"""Readings against an independent solution, and their bands against boards drawn at random."""

import math
from dataclasses import replace

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.errors import CircuitError
from singlerail_nb.fault_finding.bench import Bench
from singlerail_nb.fault_finding.board import Board
from singlerail_nb.fault_finding.catalogue import fault_named, faults
from singlerail_nb.fault_finding.readings import Reading, reading, reading_of
from singlerail_nb.fault_finding.shown import BOTTOM, CLEAN, FLAT
from singlerail_nb.fault_finding.waves import screen

from .boards import board_stage, pickup
from .referee import meter_reads, scope_shows

ONE_OPAMP = ("noninverting", "inverting", "follower", "highpass", "summer", "leg_on_bias")
_GONE = 1e-4


@pytest.mark.parametrize("name", ONE_OPAMP)
def test_every_meter_reading_of_every_fault_is_that_of_an_independent_solution(name):
    stage = board_stage(name)
    bench = Bench.of(stage)
    volts = [m for m in bench.measurements if m.kind == "volts"]
    compared = 0
    for fault in (None, *faults(stage)):
        try:
            board = Board.of(stage) if fault is None else fault.on(stage)
        except CircuitError:
            continue
        for what in volts:
            if what.node == "minus" and fault is not None and fault.key == "r_f open":
                continue  # the referee has no open loop
            expected = meter_reads(board, what.node)
            assert reading(bench, fault, what).value == pytest.approx(expected, rel=1e-6, abs=2e-6), (
                fault,
                what,
            )
            compared += 1
    assert compared > 200


@pytest.mark.parametrize(
    "key", [None, "c_g is 4.7 nF", "c_out is 4.7 nF", "r_g open", "c_bias open", "c_in is 220 pF"]
)
@pytest.mark.parametrize("node", ["plus", "amp_out", "output"])
def test_a_clean_wave_has_the_height_of_an_independent_solution(key, node):
    stage = pickup()
    bench = Bench.of(stage)
    board = Board.of(stage) if key is None else fault_named(stage, key).on(stage)
    found = reading(
        bench, None if key is None else fault_named(stage, key), bench.measurement(f"signal at {node}")
    )
    expected = bench.amplitude * scope_shows(board, node, bench.frequency)
    assert found.value == pytest.approx(expected, rel=1e-9)


def test_a_probe_of_10_megohm_halves_what_10_megohm_feed():
    stage = pickup().with_parts(r_top="10M", r_bottom="10M")
    found = reading(Bench.of(stage), None, Bench.of(stage).measurement("volts at bias"))
    # 5 Mohm behind half the rail, 10 Mohm beside it; the input current lifts it.
    lifted = 4.5 + 40e-9 * 5e6
    assert found.value == pytest.approx(lifted * 10.0 / 15.0, rel=0.01)


@pytest.mark.parametrize(
    "key", ["r_top is 330 kΩ", "r_g short", "r_f is 390 kΩ", "c_in short", "c_bias short"]
)
@pytest.mark.parametrize("node", ["amp_out", "output"])
def test_the_height_of_a_cut_wave_is_that_of_the_exact_one(key, node):
    stage = pickup()
    bench, fault = Bench.of(stage), fault_named(stage, key)
    found = reading(bench, fault, bench.measurement(f"signal at {node}"))
    _, exact = screen(bench, fault.on(stage), node)
    assert found.shapes != {CLEAN}
    assert found.value == pytest.approx(np.ptp(exact), rel=0.05)


def test_a_cut_wave_names_its_side():
    bench = Bench.of(pickup())
    fault = fault_named(pickup(), "r_top is 330 kΩ")
    assert reading(bench, fault, bench.measurement("signal at amp_out")).shapes == {BOTTOM}
    # The + input does not follow the output.
    assert reading(bench, fault, bench.measurement("signal at plus")).shapes == {CLEAN}


def test_a_stuck_output_shows_no_wave_and_passes_the_ripple_of_the_rail():
    bench, fault = Bench.of(pickup()), fault_named(pickup(), "c_g short")
    wave = reading(bench, fault, bench.measurement("signal at amp_out"))
    assert (wave.text, wave.shapes) == ("nothing seen", {FLAT})
    ripple = reading(bench, fault, bench.measurement("ripple at output"))
    assert ripple.value == pytest.approx(bench.ripple, rel=0.01)


def test_a_sound_board_shows_what_the_analyses_say():
    stage, bench = pickup(), Bench.of(pickup())
    ripple = reading(bench, None, bench.measurement("ripple at output"))
    path = sr.supply_rejection(stage, "output").bias_path
    assert ripple.value == pytest.approx(bench.ripple * abs(path(bench.ripple_frequency)), rel=0.01)
    low, middle = (reading(bench, None, bench.measurement(f"{k} at output")) for k in ("low end", "signal"))
    assert low.value == pytest.approx(middle.value / math.sqrt(2.0), rel=1e-3)
    wait = reading(bench, None, bench.measurement("wait at amp_out"))
    limits = Board.of(stage).output_limits()
    run = sr.startup(stage, low=float(limits[0]), high=stage.supply - float(limits[1]))
    assert wait.value == pytest.approx(run.settling_time("amp_out", volts=0.2 * stage.supply), rel=1e-3)


def test_a_loose_input_is_noted_and_no_wait_is_promised():
    bench, fault = Bench.of(pickup()), fault_named(pickup(), "r_bias open")
    touched = reading(bench, fault, bench.measurement("volts at plus"))
    assert touched.value == pytest.approx(40e-9 * 10e6, rel=0.01)  # input current times the meter
    assert "plus hangs in the air" in touched.note
    assert reading(bench, fault, bench.measurement("wait at amp_out")).text == "no steady reading"


def test_an_input_out_of_its_range_promises_nothing_behind_it():
    bench, fault = Bench.of(pickup()), fault_named(pickup(), "r_bottom open")
    found = reading(bench, fault, bench.measurement("volts at amp_out"))
    low, high = fault.on(pickup()).output_limits()
    assert "promises nothing" in found.note
    assert found.low <= low
    assert found.high >= high
    # Behind its capacitor the output still has no direct voltage.
    behind = reading(bench, fault, bench.measurement("volts at output"))
    assert (behind.note, behind.high) == ("", pytest.approx(0.0, abs=2e-3))
    assert reading(bench, fault, bench.measurement("wait at amp_out")).text == "no steady reading"


@pytest.mark.parametrize(
    "key", [None, "c_g leaks", "bias loaded", "supply sags", "c_g is 4.7 nF", "r_top is 330 kΩ"]
)
def test_boards_drawn_at_random_stay_in_the_band(key):
    stage = pickup()
    bench = Bench.of(stage)
    fault = None if key is None else fault_named(stage, key)
    board = Board.of(stage) if fault is None else fault.on(stage)
    exact = replace(bench, tolerance=())
    rng = np.random.default_rng(7)
    for _ in range(12):
        ends = {n: rng.uniform(*ends) for n, ends in bench.tolerance if n in board.values}
        drawn = replace(board, values={n: v * ends.get(n, 1.0) for n, v in board.values.items()})
        for what in bench.measurements:
            if what.kind == "wait":
                continue
            found, band = reading_of(exact, drawn, what), reading(bench, fault, what)
            assert band.low <= found.value <= band.high, what.key


def test_bands_that_touch_are_not_told_apart():
    one = Reading(1.0, 0.9, 1.1, "V")
    assert not one.differs(Reading(1.2, 1.1, 1.3, "V"))
    assert one.differs(Reading(1.3, 1.2, 1.4, "V"))
    cut = Reading(1.0, 0.9, 1.1, "Vpp", frozenset({BOTTOM}))
    assert cut.differs(Reading(1.0, 0.9, 1.1, "Vpp", frozenset({CLEAN})))
    assert not cut.differs(Reading(1.0, 0.9, 1.1, "Vpp", frozenset({CLEAN, BOTTOM})))


def test_a_wider_tolerance_widens_every_band():
    narrow, wide = Bench.of(pickup()), Bench.of(pickup(), resistors=0.05)
    for key in ("volts at bias", "volts at amp_out", "signal at output"):
        one, two = (reading(bench, None, bench.measurement(key)) for bench in (narrow, wide))
        assert two.high - two.low > 1.5 * (one.high - one.low)
