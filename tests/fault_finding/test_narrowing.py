"""The next best measurement, against counting by brute force."""

import itertools
import math

import numpy as np
import pytest

from singlerail_nb.fault_finding.bench import Bench
from singlerail_nb.fault_finding.catalogue import fault_named, faults
from singlerail_nb.fault_finding.narrowing import choice, ranked
from singlerail_nb.fault_finding.readings import reading

from .boards import board_stage, pickup

KEYS = (
    "c_in open",
    "c_bias open",
    "c_g open",
    "c_g short",
    "r_bias open",
    "r_top open",
    "supply sags",
    "c_out open",
)


@pytest.fixture(scope="module")
def bench():
    return Bench.of(pickup())


def brute_force(bench, candidates, what):
    """Return (expected remaining, bits): play every fault and strike out what cannot show its reading."""
    left = []
    for true in candidates:
        shown = reading(bench, true, what)
        kept = []
        for other in candidates:
            band = reading(bench, other, what)
            possible = max(shown.low, band.low) <= min(shown.high, band.high)
            if shown.shapes and band.shapes:
                possible = possible and any(shape in band.shapes for shape in shown.shapes)
            kept += [other] if possible else []
        left.append(len(kept))
    number = len(candidates)
    return sum(left) / number, math.log2(number) - sum(map(math.log2, left)) / number


def quick(bench):
    return [m for m in bench.measurements if m.kind != "wait"]


@pytest.mark.parametrize("seed", range(12))
def test_the_best_is_the_best_of_all_by_counting(bench, seed):
    among = [f for f in faults(pickup()) if f.key not in ("r_load open", "r_source short")]
    candidates = [among[i] for i in np.random.default_rng(seed).permutation(len(among))[:6]]
    found = ranked(bench, candidates, quick(bench))
    counted = {m.key: brute_force(bench, candidates, m) for m in quick(bench)}
    for one in found:
        remaining, bits = counted[one.measurement.key]
        assert one.remaining == pytest.approx(remaining)
        assert one.bits == pytest.approx(bits, abs=1e-12)
    assert found[0].bits == pytest.approx(max(bits for _, bits in counted.values()), abs=1e-12)
    assert all(a.bits >= b.bits - 1e-9 for a, b in itertools.pairwise(found))


def test_of_equal_measurements_the_easier_comes_first(bench):
    candidates = [fault_named(pickup(), key) for key in KEYS]
    found = ranked(bench, candidates, quick(bench))
    order = [m.key for m in bench.measurements]
    for one, two in itertools.pairwise(found):
        if one.bits == pytest.approx(two.bits, abs=1e-9):
            assert order.index(one.measurement.key) < order.index(two.measurement.key)


def test_open_capacitors_look_alike_to_the_meter_and_not_to_the_scope(bench):
    open_ones = [fault_named(pickup(), f"{part} open") for part in ("c_in", "c_bias", "c_g", "c_out")]
    for what in bench.measurements:
        found = choice(bench, open_ones, what)
        if what.kind == "volts":
            assert found.bits == 0.0
            assert "all of them show the same" in found.why
    assert choice(bench, open_ones, bench.measurement("signal at output")).bits > 1.0


def test_groups_hold_every_candidate_once_and_say_their_reading(bench):
    candidates = [fault_named(pickup(), key) for key in KEYS]
    found = choice(bench, candidates, bench.measurement("volts at bias"))
    held = [fault.key for group in found.groups for fault in group.faults]
    assert sorted(held) == sorted(KEYS)
    assert "3 V: supply sags" in found.why
    for one, two in itertools.combinations(found.groups, 2):
        for a, b in itertools.product(one.readings, two.readings):
            assert a.differs(b)


def test_another_stage_has_its_own_best_measurement():
    stage = board_stage("inverting")
    bench = Bench.of(stage)
    candidates = [fault_named(stage, key) for key in ("c_in open", "c_bias open", "r_in open", "r_f is 1 MΩ")]
    best = ranked(bench, candidates, quick(bench))[0]
    assert best.bits == pytest.approx(brute_force(bench, candidates, best.measurement)[1])
    assert best.measurement.kind != "volts"
