"""Resting voltages with op-amps at their limits, against the plain operating point and hand calculations."""

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.limited_rest import BIAS_CURRENT, OFFSET, limited_rest
from singlerail_nb.circuit.builder import CircuitBuilder
from singlerail_nb.circuit.elements import GROUND
from singlerail_nb.errors import CircuitError
from tests.sensible_stages import SENSIBLE, ZENER, noninverting


def rest_of(stage, limits=None, **changes):
    numbers = {**stage.parameters, "supply": stage.supply, **stage.levels, **changes}
    return limited_rest(stage.circuit, stage.model, numbers, limits or (0.0, stage.supply))


@pytest.mark.parametrize("name", SENSIBLE)
def test_inside_the_limits_it_is_the_operating_point(name):
    stage = SENSIBLE[name]
    rest, point = rest_of(stage), sr.operating_point(stage)
    for node in stage.circuit.nodes:
        assert rest.voltage(node)[0] == pytest.approx(point.voltage(node), rel=1e-12, abs=1e-12)


def amplifier(minus="minus"):
    """Return an amplifier between rails: divider at the + input, R_f, R_g to ground."""
    circuit = CircuitBuilder("amplifier", ("signal", "amp_out"))
    circuit.resistor("r_top", "supply", "plus", "Upper")
    circuit.resistor("r_bottom", "plus", GROUND, "Lower")
    circuit.opamp("plus", "minus", "amp_out")
    circuit.resistor("r_f", "amp_out", minus, "Feedback")
    circuit.resistor("r_g", "minus", GROUND, "Gain leg")
    return circuit.build()


VALUES = {"r_top": 60e3, "r_bottom": 30e3, "r_f": 30e3, "r_g": 10e3, "supply": 9.0}


def test_an_output_that_cannot_follow_sits_at_its_limit_and_the_rest_follows_it():
    rest = limited_rest(amplifier(), "ideal", VALUES, (0.5, 7.5))
    assert rest.states[0] == ("high",)  # 3 V times 4
    assert rest.asked("opamp")[0] == pytest.approx(12.0)
    assert rest.voltage("amp_out")[0] == 7.5
    assert rest.voltage("minus")[0] == pytest.approx(7.5 / 4.0)


def test_many_boards_find_their_own_states():
    numbers = {**VALUES, "r_bottom": np.array([30e3, 15e3, 1e3])}
    rest = limited_rest(amplifier(), "ideal", numbers, (0.8, 7.5))
    plus = 9.0 * numbers["r_bottom"] / (numbers["r_bottom"] + 60e3)
    assert [state[0] for state in rest.states] == ["high", "loop", "low"]
    assert rest.voltage("amp_out") == pytest.approx(np.clip(4.0 * plus, 0.8, 7.5))


def test_without_a_loop_the_inputs_decide():
    loose = amplifier(minus="elsewhere")
    held = {**VALUES, "supply": 9.0}
    with_load = loose.opened("r_f")
    rest = limited_rest(with_load, "ideal", held, (0.5, 7.5))
    assert rest.asked("opamp") is None
    assert rest.voltage("amp_out")[0] == 7.5  # + input at 3 V, - input at ground


def test_input_current_and_offset_move_the_output_as_by_hand():
    current, offset = 100e-9, 2e-3
    numbers = {**VALUES, "r_bottom": 12e3, BIAS_CURRENT: current, OFFSET: offset}
    rest = limited_rest(amplifier(), "ideal", numbers, (0.0, 9.0))
    plus = 1.5 - current * 10e3
    by_hand = 4.0 * (plus + offset) + current * 30e3
    assert rest.voltage("amp_out")[0] == pytest.approx(by_hand, rel=1e-12)


def test_a_zener_above_the_rail_does_not_conduct():
    stage = noninverting(**ZENER)
    low = rest_of(stage, limits=(0.0, 4.0), supply=4.0)
    assert low.states[0][1] == "off"
    assert low.voltage("bias")[0] == pytest.approx(4.0, rel=1e-9)


def test_no_solution_is_an_error():
    circuit = CircuitBuilder("island", ("signal", "amp_out"))
    circuit.resistor("r_a", "supply", "plus", "To the rail")
    circuit.opamp("plus", "amp_out", "amp_out")
    circuit.resistor("r_b", "here", "there", "Joined to nothing")
    with pytest.raises(CircuitError):
        limited_rest(circuit.build(), "ideal", {"r_a": 1e3, "r_b": 1e3, "supply": 9.0}, (0.0, 9.0))
