"""Designs that hold at the extremes: the guarantee is proven by brute force over every corner."""

from itertools import product

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.tolerance import monte_carlo, worst_case
from singlerail_nb.circuit.opamp_library import opamp
from singlerail_nb.designing.changes import explain_change
from singlerail_nb.designing.extreme_checks import extreme_checks
from singlerail_nb.designing.guarantee import guarantee
from singlerail_nb.designing.parts_list import parts_list, requirements_served
from singlerail_nb.designing.stock import Stock
from singlerail_nb.designing.verification import verify
from singlerail_nb.errors import QuantityError, RequirementError
from singlerail_nb.quantities import write_quantity

TOLERANCE = {"resistors": 0.01, "capacitors": 0.1}
ASKED = {
    "supply": "9 V", "gain": "20 dB", "input_impedance": "100 kohm", "low_cutoff": "20 Hz", "load": "10 kohm",
    "source_resistance": "600 ohm",
}  # fmt: skip


def needed(**changes):
    return sr.Requirements(**{**ASKED, **changes})


@pytest.fixture(scope="module")
def released():
    """The released stage of the hive monitor: a contact pickup on a 9 V rail, from stock."""
    return guarantee(needed(), tolerance=TOLERANCE, stock=Stock.of())


def test_every_requirement_at_every_corner_by_brute_force(released):
    stage = released.stage
    size = {part.name: 0.01 if part.kind == "resistor" else 0.1 for part in stage.circuit.parts}
    for signs in product((-1, 1), repeat=len(size)):
        values = {n: stage.values[n] * (1 + s * t) for (n, t), s in zip(size.items(), signs, strict=True)}
        whole = stage.with_parts(**values).transfer("signal", "output")
        # Exact at half the power: at the limit the gain has not dropped as far yet.
        gain = abs(whole(1e6))
        assert 9.5 <= gain <= 10.5
        assert abs(whole(20.0)) >= gain / np.sqrt(2)


def test_random_boards_all_pass(released):
    spread = monte_carlo(
        released.stage, 50_000, TOLERANCE, seed=9, figures=("midband_gain", "low_cutoff", "input_impedance")
    )
    assert spread.low_cutoff.max() <= 20.0
    assert spread.share_within("midband_gain", 9.5, 10.5) == 1.0
    assert spread.input_impedance.min() >= 100e3


def test_what_it_costs(released):
    assert released.is_guaranteed
    assert released.passed
    assert not all(check.status == "pass" for check in released.nominal_extremes)
    assert released.capacitance_ratio > 1.0
    assert 0.2 < released.failing_share() < 0.7
    assert "times as much" in released.cost
    assert all(check.method.startswith("proven") for check in released.extremes)
    assert released.aimed.low_cutoff < 20.0


def test_it_shows_the_worst_board_of_every_requirement(released):
    assert "every board within tolerance meets every requirement\n" in released.text
    shown = released._repr_markdown_().replace("\N{NO-BREAK SPACE}", " ")
    for check in released.extremes:
        assert check.text in released.text
        assert f"| {' | '.join(check.row)} | {check.method} |" in shown
    for step in released.steps:
        old = write_quantity(released.nominal.stage.values[step.part], step.unit)
        assert f"| {write_quantity(step.chosen, step.unit)} | {step.code} | {old} |" in shown


@pytest.mark.parametrize(
    ("topology", "changes"),
    [
        ("noninverting", {}),
        ("noninverting", {"low_cutoff": None, "droop": ("0.5 dB", "20 Hz")}),
        ("noninverting", {"rumble_floor": "10 Hz"}),
        ("inverting", {"gain": -10, "input_impedance": "10 kohm"}),
        ("follower", {"gain": 1}),
    ],
)
def test_without_a_stock_too(topology, changes):
    asked = needed(**changes)
    found = guarantee(asked, topology, TOLERANCE)
    assert found.is_guaranteed
    assert all(check.status == "pass" for check in verify(found.stage, asked))


def test_swing_at_the_lowest_rail():
    real = {"opamp": opamp("GPB"), "supply_min": "8 V", "high_cutoff": "20 kHz"}
    found = guarantee(needed(**real), tolerance=TOLERANCE, swing="4 Vpp")
    check = next(check for check in found.extremes if check.requirement == "output swing")
    assert check.value >= 4.0
    assert "(tried, not proven: output swing)" in found.text
    with pytest.raises(RequirementError, match=r"swing.*too little"):
        guarantee(needed(**real), tolerance=TOLERANCE, swing="7 Vpp")
    with pytest.raises(RequirementError, match="op-amp record"):
        guarantee(needed(), tolerance=TOLERANCE, swing="4 Vpp")


def test_where_the_corners_prove_nothing_the_bound_counts():
    stage = sr.stage(
        "noninverting", supply=9, r_source="2k2", c_in="56n", r_bias="91k", r_top="56k", r_bottom="56k",
        c_bias="1u", r_f="100k", r_g="2k4", c_g="2u2", c_out="560n", r_load="10k", opamp=opamp("GPB"),
    )  # fmt: skip
    wide = {"resistors": 0.01, "capacitors": 0.2}
    gain = worst_case(stage, wide)["midband_gain"]
    assert not gain.is_proven
    assert gain.bounds[1] > gain.limits[1]
    asked = needed(gain=40, opamp=opamp("GPB"), low_cutoff="60 Hz")
    assert extreme_checks(stage, asked, wide)[0].value == gain.bounds[1]


def test_what_tolerances_alone_take():
    with pytest.raises(RequirementError, match=r"gain_tolerance.*which the tolerances alone take"):
        guarantee(needed(), tolerance=0.05)
    with pytest.raises(RequirementError, match=r"rumble_floor.*a ratio above 1\.2"):
        guarantee(needed(rumble_floor="17 Hz"), tolerance=TOLERANCE)
    with pytest.raises(QuantityError, match="100 %"):
        guarantee(needed(), tolerance=1.0)


def test_parts_list_of_the_released_stage(released, tmp_path):
    found = parts_list(released, TOLERANCE)
    lines = {line.part: line for line in found.lines}
    soldered = {p.name for p in released.stage.circuit.parts} - {"r_source", "r_load"}
    assert set(lines) == soldered
    assert lines["c_bias"].polarity == "+ at bias"
    assert lines["c_in"].tolerance == "± 10 %"
    assert lines["r_f"].serves == "R1 mid-band gain"
    assert lines["r_bias"].serves.startswith("R2 input impedance")
    found.write(tmp_path / "parts.csv")
    written = (tmp_path / "parts.csv").read_text(encoding="utf-8").splitlines()
    assert written[0] == "part,value,code,tolerance,kind,rating,polarity,purpose,serves"
    assert len(written) == 1 + len(lines)
    assert found.cautions


def test_the_op_amp_is_on_the_list_once_it_is_chosen():
    record = opamp("GPB")
    *parts, last = parts_list(sr.design(needed(opamp=record))).lines
    assert "opamp" not in {line.part for line in parts}
    assert last.cells == ("opamp", "GPB", "", "", "op-amp", "rail 3 V to 32 V", "", record.title, "")


def test_requirements_served_come_from_the_network(released):
    served = requirements_served(released.stage, released.requirements)
    assert [check.requirement for check in served["c_g"]] == ["low-end cut-off"]
    assert {check.requirement for check in served["r_top"]} >= {"divider current", "bias-filter corner"}


def test_a_change_names_what_moves_and_why(released):
    found = explain_change(released.stage, released.requirements, r_bias="47k")
    moved = {change.after.requirement: change for change in found.requirements}
    assert moved["input impedance"].flips
    assert moved["low-end cut-off"].flips
    assert "divider current" not in moved
    figure = next(c for c in found.figures if c.figure.name == "input_impedance")
    assert (figure.after, figure.share) == (pytest.approx(47e3), pytest.approx(1.0))
    assert "between signal and plus" in found.text


def test_a_change_of_nothing(released):
    stage = released.stage
    same = explain_change(stage, r_bias=stage.values["r_bias"])
    assert same.figures == ()
    assert "No figure depends" in same.text
    with pytest.raises(QuantityError, match="one part"):
        explain_change(stage, r_bias="47k", r_f="47k")
