"""Designs for requirements that nobody typed before: every promise is checked on the whole network."""

import math
import pickle

import numpy as np
import pytest
import sympy
from hypothesis import given, settings
from hypothesis import strategies as st

import singlerail_nb as sr
from singlerail_nb.circuit.printed_names import symbol_name
from singlerail_nb.designing.practical import PRACTICAL
from singlerail_nb.designing.preferred_values import is_preferred, neighbours
from singlerail_nb.designing.requirements import single_pole_cutoff
from singlerail_nb.errors import RequirementError, SingleRailError, UnknownNameError
from tests.referee import solve_numpy

TOPOLOGIES = ("noninverting", "inverting", "follower")
EVERY_TOPOLOGY = pytest.mark.parametrize("topology", TOPOLOGIES)


def spread(low, high):
    """Draw a number spread evenly over the logarithm, so that no decade is favoured."""
    return st.floats(0.0, 1.0).map(lambda x: low * (high / low) ** x)


def _maybe(strategy):
    return st.none() | strategy


@st.composite
def requirements(draw, topology):
    """Draw plausible requirements that a stage of this topology can meet."""
    input_impedance = draw(spread(3e3, 1e6) if topology != "inverting" else spread(1e3, 50e3))
    cutoff = draw(spread(10.0, 2e3))
    gains = {"noninverting": spread(1.5, 90.0), "inverting": spread(0.2, 80.0), "follower": st.just(1.0)}
    gain = draw(gains[topology])
    given = {
        "supply": draw(spread(3.0, 30.0)),
        "gain": -gain if topology == "inverting" else gain,
        "input_impedance": input_impedance,
        "source_resistance": draw(st.just(0.0) | spread(1.0, 0.3 * input_impedance)),
        "load": draw(_maybe(spread(2e3, 300e3))),
        "divider_current": draw(spread(20e-6, 500e-6)),
        "bias_filter_ratio": draw(spread(0.05, 1.0)),
        "resistor_series": draw(st.sampled_from(["E24", "E48", "E96", "E192"])),
        "capacitor_series": draw(st.sampled_from(["E3", "E6", "E12", "E24"])),
    }
    kind = draw(st.sampled_from(["cut-off", "droop", "both"]))
    if kind != "droop":
        given["low_cutoff"] = cutoff
    if kind != "cut-off":
        given["droop"] = (draw(spread(0.2, 3.0)), 2.0 * cutoff)
    if draw(st.booleans()):
        gbw = draw(spread(100.0, 1e4)) * cutoff * (1.0 + gain)
        given["opamp"] = sr.OpAmp("invented", gbw, draw(spread(1e5, 1e7)), source="invented")
    return sr.Requirements(**given)


def attempt(make):
    """Return (what it makes, None) or (None, the one error of this package); any other error goes through."""
    try:
        return make(), None
    except SingleRailError as error:
        return None, error


def _whole_by_referee(stage, f):
    """Return |output/signal| from the independent equations."""
    return np.abs(solve_numpy(stage, f, source="signal")[stage.circuit.node("output")])


def _midband(stage):
    f = stage.transfer("signal", "output").midband.frequency
    return float(_whole_by_referee(stage, f if math.isfinite(f) else 1e9)[0])


def _assert_values_can_be_bought(design):
    needed = design.requirements
    for step in design.steps:
        series = needed.resistor_series if step.unit == "ohm" else needed.capacitor_series
        assert is_preferred(step.chosen, series)
        assert PRACTICAL[step.unit][0] <= step.chosen <= PRACTICAL[step.unit][1]
        assert design.stage.values[step.part] == step.chosen
        if step.rounding == f"up, {series}":
            assert neighbours(step.chosen, series)[0] < step.exact <= step.chosen * (1 + 1e-9)


def _assert_formulas_give_the_exact_values(design):
    for step in design.steps:
        assert set(step.known) == {x.name for x in step.formula.free_symbols}
        numbers = {x: step.known[x.name][0] for x in step.formula.free_symbols}
        assert float(step.formula.subs(numbers)) == pytest.approx(step.exact, rel=1e-9)
        for name, (value, _) in step.known.items():
            part = next((p for p in design.stage.values if symbol_name(p) == name), None)
            # Parts in a formula have their final values; only a part of a pair may come later.
            assert part is None or value == design.stage.values[part]


def _assert_figures_are_those_of_the_network(design):
    stage = design.stage
    figures = {step.part: step.recomputed for step in design.steps}
    v = stage.values
    parallel = v["r_top"] * v["r_bottom"] / (v["r_top"] + v["r_bottom"])
    assert figures["r_top"].value == pytest.approx(stage.supply / (v["r_top"] + v["r_bottom"]))
    assert figures["r_bottom"].value == pytest.approx(stage.supply / 2)
    assert figures["c_bias"].value == pytest.approx(1 / (2 * math.pi * parallel * v["c_bias"]))
    if "c_out" in v:
        assert figures["c_out"].value == pytest.approx(1 / (2 * math.pi * v["r_load"] * v["c_out"]))
    if "c_g" in v:
        assert figures["c_g"].value == pytest.approx(1 / (2 * math.pi * v["r_g"] * v["c_g"]))
    cutoff = figures["c_in"].value
    assert cutoff == pytest.approx(stage.transfer("signal", "output").low_cutoff(), rel=1e-12)
    assert _whole_by_referee(stage, cutoff)[0] == pytest.approx(_midband(stage) / math.sqrt(2), rel=1e-6)


def _assert_requirements_are_met(design):
    needed, stage = design.requirements, design.stage
    assert design.passed
    assert [check.id for check in design.checks] == [f"R{i + 1}" for i in range(len(design.checks))]
    gain = _midband(stage)
    assert abs(gain / abs(needed.gain) - 1.0) <= needed.gain_tolerance * (1 + 1e-6)
    if needed.low_cutoff is not None:
        # At the required frequency the built stage is at most 3 dB down.
        assert _whole_by_referee(stage, needed.low_cutoff)[0] >= gain / math.sqrt(2) * (1 - 1e-6)
    if needed.droop is not None:
        lowest = gain * 10.0 ** (-needed.droop.db / 20.0)
        assert _whole_by_referee(stage, needed.droop.frequency)[0] >= lowest * (1 - 1e-6)
    if needed.rumble_floor is not None:
        assert _whole_by_referee(stage, needed.rumble_floor)[0] <= gain / math.sqrt(2) * (1 + 1e-6)
    assert stage.supply / (stage.values["r_top"] + stage.values["r_bottom"]) <= needed.divider_current * (
        1 + 1e-9
    )
    input_resistor = stage.values.get("r_bias", stage.values.get("r_in"))
    assert input_resistor >= needed.input_impedance * (1 - 1e-9)


@EVERY_TOPOLOGY
@settings(max_examples=25)
@given(data=st.data())
def test_every_plausible_requirement_gets_a_stage_that_meets_it(topology, data):
    design = sr.design(data.draw(requirements(topology)), topology)
    assert design.topology == design.stage.name == topology
    _assert_requirements_are_met(design)
    _assert_values_can_be_bought(design)
    _assert_formulas_give_the_exact_values(design)
    _assert_figures_are_those_of_the_network(design)


@EVERY_TOPOLOGY
@settings(max_examples=12)
@given(data=st.data())
def test_the_exact_input_capacitor_meets_the_requirement_exactly(topology, data):
    design = sr.design(data.draw(requirements(topology)), topology)
    needed = design.requirements
    step = design.steps[-1]
    assert step.part == "c_in"
    # The exact value was found with the capacitors that were finally taken.
    whole = design.stage.with_parts(c_in=step.exact).transfer("signal", "output")
    pressed = []
    if needed.low_cutoff is not None:
        pressed.append(whole.low_cutoff() / needed.low_cutoff)
    if needed.droop is not None:
        drop = 20 * math.log10(whole.midband_gain() / abs(whole(needed.droop.frequency)))
        pressed.append(drop / needed.droop.db)
    assert max(pressed) == pytest.approx(1.0, rel=1e-9)


@EVERY_TOPOLOGY
@settings(max_examples=12)
@given(data=st.data(), share=st.floats(0.3, 0.9))
def test_a_rumble_floor_is_kept_or_refused_with_what_is_possible(topology, data, share):
    free = data.draw(requirements(topology))
    given = {name: getattr(free, name) for name in free.__dataclass_fields__}
    needed = sr.Requirements(**given | {"rumble_floor": share * free.target_cutoff})
    design, error = attempt(lambda: sr.design(needed, topology))
    if error is not None:
        assert error.quantity == "rumble_floor"
        assert f"capacitors of {needed.capacitor_series}" in error.allowed
        return
    _assert_requirements_are_met(design)
    _assert_values_can_be_bought(design)
    _assert_formulas_give_the_exact_values(design)
    _assert_figures_are_those_of_the_network(design)


@EVERY_TOPOLOGY
@settings(max_examples=25)
@given(data=st.data())
def test_whatever_is_asked_there_is_a_stage_or_one_clear_error(topology, data):
    draw = data.draw
    wild = {
        "supply": draw(spread(0.5, 80.0)),
        "gain": draw(spread(1e-3, 1e5)) * draw(st.sampled_from([1, -1])),
        "input_impedance": draw(spread(1.0, 1e9)),
        "low_cutoff": draw(_maybe(spread(1e-4, 1e7))),
        "droop": draw(_maybe(st.tuples(spread(1e-3, 30.0), spread(1e-3, 1e6)))),
        "source_resistance": draw(st.just(0.0) | spread(1e-3, 1e9)),
        "load": draw(_maybe(spread(0.1, 1e9))),
        "divider_current": draw(spread(1e-8, 1.0)),
        "bias_filter_ratio": draw(spread(1e-4, 2.0)),
        "rumble_floor": draw(_maybe(spread(1e-4, 1e5))),
        "high_cutoff": draw(_maybe(spread(1.0, 1e8))),
        "gain_tolerance": draw(spread(1e-5, 1.0)),
        "resistor_series": draw(st.sampled_from(["E3", "E12", "E24"])),
        "capacitor_series": draw(st.sampled_from(["E3", "E6", "E192"])),
        "opamp": draw(_maybe(st.builds(sr.OpAmp, st.just("invented"), spread(1e4, 1e8), spread(1e2, 1e7)))),
    }
    design, error = attempt(lambda: sr.design(sr.Requirements(**wild), topology))
    if error is not None:
        for fact in (error.quantity, error.value, error.allowed, error.remedy):
            assert fact
        assert error.remedy.endswith((".", "?"))
        return
    _assert_requirements_are_met(design)
    _assert_values_can_be_bought(design)


def test_the_finest_series_is_designed_with_as_well():
    design = sr.design(
        sr.Requirements("12 V", 31, "220k", "35 Hz", load="4k7", rumble_floor="34 Hz",
                        resistor_series="E192", capacitor_series="E192"),
    )  # fmt: skip
    _assert_requirements_are_met(design)
    _assert_values_can_be_bought(design)


# One design recomputed by hand: arithmetic and numpy only.

E6 = np.array([10, 15, 22, 33, 47, 68])
E24 = np.concatenate(
    [[10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30], [33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91]]
)


def _up(value, figures):
    table = np.concatenate([figures * 10.0**n for n in range(-14, 8)])
    return table[table >= value * (1 - 1e-9)].min()


def _hive_gain(f, c_in, v):
    """Return |output/signal| of the non-inverting stage by its own impedances, ideal op-amp."""
    s = 2j * np.pi * f
    z_bias = 1 / (1 / v["r_top"] + 1 / v["r_bottom"] + s * v["c_bias"])
    z_in = v["r_bias"] + z_bias
    plus = z_in / (v["r_source"] + 1 / (s * c_in) + z_in)
    leg = v["r_g"] + 1 / (s * v["c_g"])
    return abs(plus * (1 + v["r_f"] / leg) * v["r_load"] / (v["r_load"] + 1 / (s * v["c_out"])))


def _half_power(c_in, v):
    top, low, high = _hive_gain(1e9, c_in, v), 0.1, 1e4
    for _ in range(200):
        middle = math.sqrt(low * high)
        low, high = (middle, high) if _hive_gain(middle, c_in, v) < top / math.sqrt(2) else (low, middle)
    return low


def test_one_design_by_hand():
    # Electret capsule of 1.8 kohm on a 5 V rail, 37 times into 22 kohm, from 45 Hz, 82 kohm at the input.
    needed = sr.Requirements("5 V", 37, "82k", "45 Hz", source_resistance="1k8", load="22k",
                             divider_current="60 uA")  # fmt: skip
    design = sr.design(needed)
    v = dict(design.stage.values)
    exact = {step.part: step.exact for step in design.steps}

    assert exact["r_top"] == pytest.approx(5 / 60e-6 / 2)
    assert v["r_top"] == v["r_bottom"] == _up(5 / 60e-6 / 2, E24) == 43e3
    assert v["r_bias"] == _up(82e3, E24) == 82e3
    thevenin = 43e3 / 2
    # The bias filter: a tenth of 45 Hz, or a capacitor of a tenth of R_bias at 45 Hz, whichever is lower.
    corner = min(0.1 * 45, 0.1 * 45 * 82e3 / thevenin)
    assert exact["c_bias"] == pytest.approx(1 / (2 * np.pi * thevenin * corner))
    assert v["c_bias"] == pytest.approx(_up(exact["c_bias"], E6))

    wanted = 37 * (82e3 + 1.8e3) / 82e3  # what the source resistance takes is made up in the amplifier
    assert exact["r_f"] == pytest.approx((wanted - 1) * v["r_g"])
    best = min(
        (max(round(abs((1 + f / g) / wanted - 1), 3), 0.1 * 0.05), -min(g, 10e3))
        for f in np.concatenate([E24 * 1e3, [100e3]])
        for g in np.concatenate([E24 * 10, E24 * 100, E24 * 1e3])
    )
    missed = abs((1 + v["r_f"] / v["r_g"]) / wanted - 1)
    assert (max(round(missed, 3), 0.1 * 0.05), -v["r_g"]) == best
    assert exact["r_g"] == pytest.approx(v["r_f"] / (wanted - 1))

    side = 0.2 * 45
    assert exact["c_g"] == pytest.approx(1 / (2 * np.pi * v["r_g"] * side))
    assert exact["c_out"] == pytest.approx(1 / (2 * np.pi * 22e3 * side))
    assert v["c_g"] == pytest.approx(_up(exact["c_g"], E6))
    assert v["c_out"] == pytest.approx(_up(exact["c_out"], E6))

    low, high = 1e-9, 1e-5  # the input capacitor that puts half power at 45 Hz
    for _ in range(100):
        middle = math.sqrt(low * high)
        low, high = (middle, high) if _half_power(middle, v) > 45 else (low, middle)
    assert exact["c_in"] == pytest.approx(low, rel=1e-9)
    assert v["c_in"] == pytest.approx(_up(low, E6))
    assert design.steps[-1].recomputed.value == pytest.approx(_half_power(v["c_in"], v), rel=1e-9)
    assert _half_power(v["c_in"], v) <= 45


# What cannot be done is refused.


@pytest.mark.parametrize(
    ("given", "topology", "quantity", "remedy"),
    [
        ({"gain": 1001}, "noninverting", "gain", "two stages"),
        ({"gain": 1}, "noninverting", "gain", 'topology="follower"'),
        ({"gain": 0.5}, "noninverting", "gain", 'topology="inverting"'),
        ({"gain": -3}, "noninverting", "gain", 'topology="inverting"'),
        ({"gain": 2}, "follower", "gain", 'topology="noninverting"'),
        ({"gain": -1}, "follower", "gain", "inverting"),
        ({"gain": 1.0001}, "noninverting", "r_g", 'topology="follower"'),
        ({"gain": 900, "source_resistance": "47k"}, "noninverting", "r_g", "two stages"),
        ({"gain": 110, "resistor_series": "E3", "gain_tolerance": 0.01}, "noninverting", "gain", "finer"),
        ({"gain": -17, "resistor_series": "E3", "gain_tolerance": 0.01}, "inverting", "gain", "finer"),
        ({"gain": -400}, "inverting", "r_f", 'topology="noninverting"'),
        ({"gain": -0.02, "input_impedance": "1k"}, "inverting", "r_f", "more input impedance"),
        ({"gain": -9, "input_impedance": "50R"}, "inverting", "r_in", "more input impedance"),
        ({"input_impedance": "91M"}, "follower", "r_bias", "less input impedance"),
        ({"source_resistance": "10M", "input_impedance": "1M"}, "follower", "r_bias", "gain tolerance"),
        ({"divider_current": "0.1 uA"}, "follower", "r_top", "more divider current"),
        ({"divider_current": "100 mA"}, "follower", "r_top", "less divider current"),
        ({"low_cutoff": "0.05 Hz"}, "follower", "c_bias", "less divider current"),
        ({"gain": 500, "low_cutoff": "0.5 Hz"}, "noninverting", "c_g", "less gain"),
        ({"load": "50R", "low_cutoff": "2 Hz"}, "follower", "c_out", "larger load"),
        ({"low_cutoff": "500 kHz", "input_impedance": "1M"}, "follower", "c_in", "less input impedance"),
        ({"rumble_floor": "19.9 Hz", "capacitor_series": "E3"}, "follower", "rumble_floor", "finer"),
    ],
)  # fmt: skip
def test_what_cannot_be_built_is_refused_with_a_way_out(given, topology, quantity, remedy):
    usual = {"supply": "9 V", "gain": 1, "input_impedance": "47k", "low_cutoff": "20 Hz"}
    needed = sr.Requirements(**usual | given)
    with pytest.raises(RequirementError) as caught:
        sr.design(needed, topology)
    assert caught.value.quantity == quantity
    assert remedy in caught.value.remedy
    assert caught.value.value
    assert caught.value.allowed


def test_a_top_end_that_the_topology_does_not_reach_is_refused():
    # A gain of 20 leaves 50 kHz of 1 MHz; inverting, the noise gain is 21.
    opamp = sr.OpAmp("invented", 1e6, source="invented")
    needed = sr.Requirements("5 V", 20, "10k", "20 Hz", high_cutoff="49 kHz", opamp=opamp)
    assert sr.design(needed, "noninverting").passed
    with pytest.raises(RequirementError, match=r"top-end cut-off: got 47.*kHz; allowed: at least 49"):
        sr.design(needed, "inverting")


def test_an_unknown_topology_is_answered_with_the_nearest():
    needed = sr.Requirements("9 V", 11, "47k", "20 Hz")
    with pytest.raises(UnknownNameError, match=r"topology: got folower.*Did you mean 'follower'"):
        sr.design(needed, "folower")
    # Teaching stages are wrong on purpose: nothing is designed with them.
    with pytest.raises(UnknownNameError, match="noninverting, inverting, follower"):
        sr.design(needed, "leg_without_capacitor")


# How a design shows itself.


@EVERY_TOPOLOGY
def test_a_design_tells_its_parts_and_checks(topology):
    gain = {"noninverting": 12, "inverting": -12, "follower": 1}[topology]
    design = sr.design(sr.Requirements("9 V", gain, "15k", "30 Hz", load="10k"), topology)
    text, markdown = design.text, design._repr_markdown_()
    assert repr(design) == text
    assert "meets every requirement" in text.splitlines()[0]
    for step in design.steps:
        assert step.symbol in text
        assert step.code in markdown
    for check in design.checks:
        assert check.text in text
        assert check.id in markdown
    assert {step.part for step in design.steps} == set(design.stage.values) - {"r_source", "r_load"}
    assert all(isinstance(step.formula, sympy.Expr) for step in design.steps)
    for step in design.steps:
        assert design.step(step.part) is step
    with pytest.raises(UnknownNameError, match="c_bais"):
        design.step("c_bais")


def test_the_same_requirement_gives_the_same_design():
    needed = sr.Requirements("9 V", 7, "15k", droop=("0.5 dB", "60 Hz"))
    one, two = sr.design(needed), sr.design(needed)
    assert one.stage == two.stage
    assert one.text == two.text
    assert needed.target_cutoff == pytest.approx(single_pole_cutoff(needed.droop))


def test_a_design_taken_for_its_stage_is_told_so():
    made = sr.design(sr.Requirements(supply="5 V", gain=7, low_cutoff="35 Hz", input_impedance="47k"))
    with pytest.raises(
        sr.SingleRailError, match=r"stage: got Design; .*This Design has one: give its \.stage"
    ):
        sr.textbook(made)
    with pytest.raises(AttributeError, match=r"'derivation'; its stage has one: give design\.stage"):
        made.derivation()
    with pytest.raises(AttributeError, match=r"no attribute 'colour'$"):
        made.colour  # noqa: B018 -- the question is the test


def test_a_design_goes_to_another_process_with_its_review_already_made():
    made = sr.design(sr.Requirements(supply="5 V", gain=7, low_cutoff="35 Hz", input_impedance="47k"))
    text = made.text
    assert pickle.loads(pickle.dumps(made)).text == text  # noqa: S301 -- our own bytes


def test_the_text_says_what_would_mend_a_failure():
    needed = sr.Requirements(
        supply="5 V", gain=100, low_cutoff="35 Hz", input_impedance="47k", output_swing="4.9 Vpp",
        opamp=sr.opamp("GPB"),
    )  # fmt: skip
    made = sr.design(needed)
    failed = made.review.failed
    assert failed
    assert all(f"{row.id} would pass with {made.review.mend_text(row.id)}" in made.text for row in failed)
