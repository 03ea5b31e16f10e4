"""From two points to a level shift: every pair of signs, the window, and what cannot be had."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

import singlerail_nb as sr
from singlerail_nb.circuit.opamp_library import opamp
from singlerail_nb.circuit.printed_names import symbol_name
from singlerail_nb.designing.level_shift import level_shift
from singlerail_nb.designing.preferred_values import is_preferred
from singlerail_nb.designing.shift_forms import formula_for, shift_circuit
from singlerail_nb.designing.shift_plans import UNITY
from singlerail_nb.errors import QuantityError, RequirementError, UnknownNameError

# The load cells of a hive stand, a strain bridge amplifier, a thermometer, a field sensor.
LINES = {
    "+m +b": [(0.01, 1.0), (1.0, 4.5)],
    "+m -b": [(0.2, 0.5), (0.6, 4.3)],
    "-m +b": [(1.0, 4.0), (2.0, 1.0)],
    "-m -b": [(-0.2, 0.5), (-1.0, 4.4)],
    "+m": [(0.0, 0.0), (0.4, 4.0)],
    "-m": [(0.0, 0.0), (-0.4, 4.0)],
}
NARROWING = {
    "+m +b": [(-10.0, 0.2), (10.0, 3.1)],  # more input than output: the input is divided
    "+m -b": [(2.0, 0.5), (4.0, 1.5)],
    "+m": [(0.0, 0.0), (10.0, 3.3)],
}
EVERY = [*LINES.items(), *NARROWING.items()]


def outputs(stage, points):
    """Return what the stage gives at the inputs of the points, from its operating point."""
    return [sr.operating_point(stage, signal=x).voltage("output") for x, _ in points]


@pytest.mark.parametrize(("form", "points"), EVERY)
def test_exact_parts_meet_both_points_and_preferred_ones_nearly(form, points):
    shift = level_shift(points=points, reference=3.3, supply=5)
    wanted = [y for _, y in points]
    assert shift.form == form
    assert outputs(shift.exact, points) == pytest.approx(wanted, rel=1e-9, abs=1e-9)
    assert outputs(shift.stage, points) == pytest.approx(wanted, abs=0.02 * shift.wanted.span)
    assert [end.output for end in shift.ends] == pytest.approx(outputs(shift.stage, points), rel=1e-12)
    resistors = [v for name, v in shift.stage.values.items() if name != "r_source"]
    assert all(is_preferred(value, "E24") for value in resistors)


@pytest.mark.parametrize("points", [points for _, points in EVERY])
def test_every_step_can_be_done_by_hand(points):
    """The formula of a step, its numbers put in, gives its exact value; the chosen value is next to it."""
    shift = level_shift(points=points, reference="2.5 V", supply=5, source_resistance="350 ohm")
    assert {step.part for step in shift.steps} == set(shift.stage.values) - {"r_source"}
    for step in shift.steps:
        numbers = {x: step.known[x.name][0] for x in step.formula.free_symbols}
        assert float(step.formula.subs(numbers)) == pytest.approx(step.exact, rel=1e-9)
        assert step.chosen == shift.stage.values[step.part]
        assert step.symbol == symbol_name(step.part)
        for text in (step.question, step.reason, step.rejected, step.source, step.text):
            assert text
    slope = shift.stage.transfer("signal", "output")(0.0).real
    assert shift.steps[0].recomputed.value == pytest.approx(slope, rel=1e-12)


def test_names_that_hold():
    shift = level_shift(points=[(0.01, 1.0), (1.0, 4.5)], reference=5, supply=5)
    assert shift.slope == pytest.approx(3.5 / 0.99, rel=1e-12)
    assert shift.intercept == pytest.approx(1 - 0.01 * 3.5 / 0.99, rel=1e-12)
    assert shift.stage.name == "shift_up"
    assert shift.is_ratiometric
    assert "rail is the reference" in shift.text
    assert "R_ref" in repr(shift)
    assert "| input |" in shift._repr_markdown_()


def test_texts_with_units_do_as_well():
    one = level_shift(points=[("10 mV", "1 V"), ("1 V", "4.5 V")], reference="2.5 V", supply="5 V")
    other = level_shift(points=[(0.01, 1.0), (1.0, 4.5)], reference=2.5, supply=5)
    assert one.stage == other.stage


def test_the_source_resistance_counts_with_the_input_resistor():
    points = [(1.0, 4.0), (2.0, 1.0)]
    shift = level_shift(points=points, reference=2.5, supply=5, source_resistance="4k7")
    assert shift.exact.values["r_f"] == pytest.approx(3 * (shift.exact.values["r_in"] + 4.7e3), rel=1e-9)
    assert outputs(shift.exact, points) == pytest.approx([4.0, 1.0], rel=1e-9)


def test_the_divider_is_part_of_the_gain_leg():
    """Its resistance enters the formula: the circuit says so, nobody typed it."""
    circuit = shift_circuit("shift_down", ("r_f", "r_ref_bottom", "r_ref_top", "r_g"), source=False)
    names = {symbol.name for symbol in formula_for(circuit, "r_g", "slope").free_symbols}
    assert names == {"m"} | {symbol_name(part) for part in ("r_f", "r_ref_top", "r_ref_bottom")}


@pytest.mark.parametrize("points", [points for _, points in EVERY])
def test_extremes_enclose_random_boards_and_are_reached(points):
    shift = level_shift(points=points, reference=2.5, supply=5, tolerance="2%", reference_tolerance="0.5%")
    rng = np.random.default_rng(7)
    values = {n: v for n, v in shift.stage.values.items() if n != "r_source"}
    for end in shift.ends:
        seen = []
        for _ in range(40):
            board = {n: v * (1 + 0.02 * rng.choice([-1, 1])) for n, v in values.items()}
            level = 2.5 * (1 + 0.005 * rng.choice([-1, 1]))
            stage = shift.stage.with_parts(**board, reference=level)
            seen.append(sr.operating_point(stage, signal=end.input).voltage("output"))
        assert end.lowest - 1e-12 <= min(seen)
        assert max(seen) <= end.highest + 1e-12
        assert max(seen) - min(seen) >= 0.3 * (end.highest - end.lowest)


def test_a_rail_that_is_the_reference_takes_the_line_with_it():
    points = [(0.0, 0.5), (0.5, 3.8)]
    shift = level_shift(
        points=points, reference=5, supply=5, supply_min=4.4, tolerance=0, reference_tolerance=0
    )
    own = level_shift(
        points=points, reference=4, supply=5, supply_min=4.4, tolerance=0, reference_tolerance=0
    )
    assert shift.ends[0].lowest == pytest.approx(0.5 * 4.4 / 5, rel=0.02)
    assert own.ends[0].lowest == pytest.approx(own.ends[0].output, rel=1e-12)
    ripple = shift.exact.transfer("reference", "output")(100.0)
    assert abs(ripple) == pytest.approx(shift.intercept / 5, rel=1e-9)


def test_an_end_point_that_tolerances_push_out_is_said_so():
    tight = level_shift(points=[(0.0, 0.03), (0.5, 4.9)], reference=2.5, supply=5, tolerance="5%")
    assert not tight.fits
    assert "leaves the window" in tight.text
    assert level_shift(points=[(0.0, 0.8), (0.5, 4.0)], reference=2.5, supply=5).fits


def test_a_source_that_stays_on_pushes_current_into_the_pin():
    """(10 V - 0.6 V) through the input resistor alone; a direct input has nothing to limit it."""
    field = level_shift(points=NARROWING["+m +b"], reference=3.3, supply=3.3)
    assert field.unpowered_current == pytest.approx(9.4 / field.stage.values["r_in"], rel=1e-12)
    direct = level_shift(points=[(0.8, 0.5), (1.2, 4.3)], reference=2.5, supply=5)
    assert direct.unpowered_current == math.inf
    assert "put a resistor before it" in direct.text


# What cannot be had is refused with the nearest that can.


def refused(**changes):
    asked = {"points": LINES["+m +b"], "reference": 2.5, "supply": 5} | changes
    with pytest.raises(RequirementError) as caught:
        level_shift(**asked)
    return caught.value


def test_two_equal_points():
    error = refused(points=[(0.5, 1.0), (0.5, 4.5)])
    assert "two points at an input of 500 mV" in error.value
    assert error.allowed == "two different input voltages"
    assert "at both inputs" in refused(points=[(0.5, 1.0), (0.7, 1.0)]).value


@pytest.mark.parametrize("points", [[(0, 1)], [(0, 1), (1, 2), (2, 3)], 5, None, [(0, 1, 2), (1, 2, 3)]])
def test_anything_but_two_points(points):
    assert refused(points=points).allowed == "two points (input, output)"


def test_end_points_outside_the_rail():
    error = refused(points=[(0.2, 1.5), (0.5, 6.0)])
    assert "an output of 6 V at 500 mV" in error.value
    assert "0 V to 5 V" in error.allowed
    assert error.remedy == "The nearest is 5 V at that input, or raise the lowest rail to 6 V."
    low = refused(points=[(0.2, -0.5), (0.5, 4.0)])
    assert low.remedy == "The nearest is 0 V at that input."


def test_the_window_is_that_of_the_op_amp_at_the_lowest_rail():
    record = opamp("PRC")
    low, high = record.output_range(4.4, math.inf)
    error = refused(points=[(0.2, 0.5), (0.5, 4.4)], opamp=record, supply_min="4.4 V")
    assert f"{high:.4g} V" in error.allowed
    assert "lowest rail of 4.4 V" in error.allowed
    assert low > 0


@pytest.mark.parametrize("reference", [6, 4.7, 0, -2.5])
def test_a_reference_that_does_not_exist(reference):
    error = refused(reference=reference, supply_min=4.4)
    assert error.quantity == "reference"
    assert "at most 4.4 V" in error.allowed
    assert "5 V for the rail itself" in error.allowed
    assert "nearest is 4.4 V" in error.remedy or "negative" in error.remedy


def test_a_reference_that_is_no_voltage():
    with pytest.raises(QuantityError):
        level_shift(points=LINES["+m +b"], reference="2.5 ohm", supply=5)


def test_a_reference_too_low_for_the_line():
    """b = V_ref k (1 + |m|) with k below 1: for 6 V and a slope of -0.5 more than 4 V are needed."""
    error = refused(points=[(3.0, 4.5), (9.0, 1.5)], reference=2.5)
    assert error.quantity == "reference"
    assert "at least 4.082 V" in error.allowed
    assert level_shift(points=[(3.0, 4.5), (9.0, 1.5)], reference=4.1, supply=5).form == "-m +b"


def test_a_slope_too_large_for_the_op_amp():
    record = sr.OpAmp("invented", gbw=1e5, dc_gain=1e4, source="invented")
    points = [(0.0, 0.5), (0.01, 4.5)]
    error = refused(points=points, opamp=record)
    assert error.quantity == "slope"
    assert "its gain at DC allows a noise gain of 100" in error.allowed
    assert "two stages of 20 each" in error.remedy
    slow = refused(points=points, opamp=record, accuracy=0.1, bandwidth="1 kHz")
    assert "its gain-bandwidth product allows a noise gain of 100" in slow.allowed
    # The nearest slope that is offered is accepted.
    nearest = float(error.allowed.split("slope up to ")[1].split()[0])
    points = [(0.0, 0.5), (0.01, 0.5 + 0.0099 * nearest)]
    fits = level_shift(points=points, reference=2.5, supply=5, opamp=record)
    assert fits.slope == pytest.approx(0.99 * nearest, rel=1e-9)


def test_an_offset_too_large_for_the_span():
    error = refused(points=[(0.0, 1.0), (0.01, 3.0)], opamp=opamp("GPB"), accuracy="5%")
    assert error.quantity == "accuracy"
    assert "worst offset" in error.allowed
    assert "offset of at most" in error.remedy


def test_inputs_outside_the_common_mode_range():
    error = refused(points=[(0.0, 2.0), (0.5, 3.0)], supply=9, opamp=opamp("JFT"), accuracy=0.1)
    assert error.quantity == "opamp"
    assert "common-mode range" in error.allowed


def test_other_slips():
    with pytest.raises(UnknownNameError):
        level_shift(points=LINES["+m +b"], reference=2.5, supply=5, series="E25")
    with pytest.raises(QuantityError, match="supply_min"):
        level_shift(points=LINES["+m +b"], reference=2.5, supply=5, supply_min=6)


@settings(max_examples=60, deadline=None)
@given(
    st.tuples(st.floats(-5, 5), st.floats(-5, 5)),
    st.tuples(st.floats(0.2, 4.8), st.floats(0.2, 4.8)),
    st.floats(1.0, 5.0),
)
def test_any_line_is_drawn_or_refused_with_a_reason(inputs, wanted, reference):
    assume(abs(inputs[0] - inputs[1]) > 0.05)
    assume(abs(wanted[0] - wanted[1]) > 0.05)
    points = list(zip(inputs, wanted, strict=True))
    shift, error = attempted(points=points, reference=reference, supply=5)
    if error:
        assert error.allowed
        assert error.remedy
        return
    as_follower = shift.stage.name == "shift_up" and not {"r_f", "r_pull"} & set(shift.stage.values)
    after = shift.slope + shift.intercept / reference if as_follower else 1.0  # 0.9997 is built as 1
    built = [after * volts for volts in outputs(shift.exact, points)]
    assert built == pytest.approx(list(wanted), rel=1e-6, abs=1e-6)
    assert abs(after - 1.0) < UNITY
    assert shift.error < 0.25


def test_a_gain_near_one_is_built_as_a_follower():
    points = [(-4.96875, 1.5), (-1.421875, 2.48828125)]
    shift = level_shift(points=points, reference=4, supply=5)
    assert set(shift.stage.values) == {"r_source", "r_in", "r_ref"}
    assert outputs(shift.exact, points) == pytest.approx([1.5, 2.48828125], rel=UNITY)


def test_what_is_only_rounding_is_shown_as_zero():
    shift = level_shift(points=[("-1 V", "1 V"), ("1 V", "4 V")], reference=2.5, supply=5)
    end = replace(shift.ends[0], output=1.0 + 2.22e-16, wanted=1.0, lowest=-4e-17)
    assert end.error == 0.0
    assert "error 0 V; with tolerances 0 V to" in str(end)
    assert replace(end, output=1.0 + 1e-6).error == pytest.approx(1e-6)


def attempted(**asked):
    try:
        return level_shift(**asked), None
    except RequirementError as error:
        return None, error
