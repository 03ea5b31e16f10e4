"""A stage with values: reading, changing, comparing, sending it to another process."""

import pickle
from dataclasses import FrozenInstanceError

import pytest

import singlerail_nb as sr
from singlerail_nb.errors import CircuitError, QuantityError, UnknownNameError
from tests.circuits_for_tests import CASES, random_stage

TEXTS = {
    "r_source": "220",
    "c_in": "220n",
    "r_bias": "47k",
    "r_top": "33k",
    "r_bottom": "33k",
    "c_bias": "10u",
    "r_f": "39k",
    "r_g": "1k",
    "c_g": "4u7",
    "c_out": "4u7",
    "r_load": "10k",
}


def noninverting(**changes):
    return sr.stage("noninverting", **{"supply": 9, **TEXTS, **changes})


def test_texts_and_numbers_give_the_same_stage():
    numbers = noninverting(supply=9.0, c_in=220e-9, r_bias=47e3, c_g=4.7e-6)
    assert noninverting(supply="9 V") == numbers
    assert hash(noninverting()) == hash(numbers)
    assert numbers.values["c_g"] == 4.7e-6


def test_a_stage_cannot_be_changed_behind_its_back():
    stage = noninverting()
    with pytest.raises(FrozenInstanceError):
        stage.supply = 12
    with pytest.raises(TypeError):
        stage.values["r_f"] = 1.0


@pytest.mark.parametrize("case", CASES[::4], ids=str)
def test_a_stage_survives_the_way_to_another_process(case):
    stage = random_stage(case)
    copy = pickle.loads(pickle.dumps(stage))  # noqa: S301 -- what this test itself wrote
    assert copy == stage
    assert copy.circuit == stage.circuit
    assert copy.transfer("signal", "output")(1e3) == stage.transfer("signal", "output")(1e3)


def test_a_missing_part_is_named_with_its_purpose():
    with pytest.raises(CircuitError) as caught:
        noninverting(r_bias=None)
    error = caught.value
    assert error.quantity == "noninverting stage"
    assert error.value == "no value for r_bias"
    assert error.remedy == "Give r_bias (bias resistor)."


def test_a_missing_source_resistance_may_be_zero():
    with pytest.raises(CircuitError, match=r"r_source.*, 0 for an ideal source\."):
        noninverting(r_source=None)
    assert noninverting(r_source=0).circuit.node("source") == "signal"


def test_a_part_of_another_stage_is_refused():
    with pytest.raises(UnknownNameError, match=r"part: got r_in;.*noninverting stage.*r_bias|Did you mean"):
        noninverting(r_in="10k")


def test_an_unknown_part_among_raw_values_is_refused_too():
    values = {**noninverting().values, "r_gg": 1.0}
    with pytest.raises(UnknownNameError, match=r"r_gg.*Did you mean 'r_g'"):
        sr.Stage("noninverting", 9.0, values)


@pytest.mark.parametrize(
    ("wrong", "named"),
    [
        ({"c_in": "220 ohm"}, "c_in"),
        ({"r_f": "-1k"}, "r_f"),
        ({"r_f": 0}, "r_f"),
        ({"supply": "100 V"}, "supply"),
        ({"supply": 0.1}, "supply"),
        ({"c_g": float("nan")}, "c_g"),
    ],
)
def test_a_senseless_value_is_one_error_that_names_it(wrong, named):
    with pytest.raises(QuantityError) as caught:
        noninverting(**wrong)
    assert caught.value.quantity == named
    assert caught.value.allowed
    assert caught.value.remedy


def test_a_load_needs_its_capacitor_or_a_wire_but_a_capacitor_needs_its_load():
    assert noninverting(c_out=None).circuit.node("output") == "amp_out"
    with pytest.raises(CircuitError, match=r"no DC path.*'output'.*c_out"):
        noninverting(r_load=None)
    bare = noninverting(c_out=None, r_load=None)
    assert "r_load" not in bare.circuit.part_names


def test_the_signal_path_is_cut_into_sections():
    assert [(s.start, s.end) for s in noninverting().sections()] == [
        ("signal", "plus"),
        ("plus", "amp_out"),
        ("amp_out", "output"),
    ]
    assert [(s.start, s.end) for s in noninverting(c_out=None).sections()][-1] == ("plus", "amp_out")


def test_parts_can_be_changed_added_and_taken_out():
    stage = noninverting()
    assert stage.with_parts(r_f="100k").values["r_f"] == 100e3
    assert stage.with_parts(c_f="100p").transfer("signal", "output").high_cutoff() < 1e5
    assert "c_out" not in stage.without_parts("c_out").values
    assert stage.values["r_f"] == 39e3
    with pytest.raises(CircuitError, match="no value for r_g"):
        stage.without_parts("r_g")
    with pytest.raises(UnknownNameError, match="c_fb"):
        stage.without_parts("c_fb")
    with pytest.raises(UnknownNameError, match="c_fb"):
        stage.with_parts(c_fb="1n")


def test_it_says_what_it_holds():
    stage = noninverting(r_source=0)
    assert stage.title == "Non-inverting stage"
    assert [part.name for part in stage.parts][:2] == ["r_source", "c_in"]
    assert "c_f" not in [part.name for part in stage.parts]
    assert stage.model == "ideal"
    assert set(stage.parameters) == set(stage.circuit.part_names)


def test_an_op_amp_adds_its_figures():
    opamp = sr.OpAmp("invented", gbw=1e6, dc_gain=1e5, source="invented")
    stage = noninverting(opamp=opamp)
    assert stage.model == "single_pole"
    assert stage.parameters["opamp_inverse_gain"] == 1e-5
    assert stage != noninverting()


def test_impedances_by_hand():
    stage = noninverting()
    thevenin = 33e3 / 2
    assert stage.node_impedance("bias")(0.0) == pytest.approx(thevenin, rel=1e-12)
    assert stage.input_impedance()(1e9) == pytest.approx(47e3, rel=1e-6)
    assert stage.node_impedance("amp_out")(1e3) == 0


def test_a_teaching_stage_keeps_its_finding():
    values = {name: text for name, text in TEXTS.items() if name != "r_bias"}
    stage = sr.stage("input_without_bias_path", supply=9, **values)
    (finding,) = stage.findings
    assert (finding.kind, finding.node) == ("no DC path", "plus")
    assert noninverting().findings == ()


def test_stage_shows_its_rail_and_its_parts():
    assert repr(noninverting()) == (
        "Non-inverting stage on 9 V (filtered divider, ideal op-amp): r_source 220 Ω, c_in 220 nF, "
        "r_bias 47 kΩ, r_top 33 kΩ, r_bottom 33 kΩ, c_bias 10 µF, r_f 39 kΩ, r_g 1 kΩ, c_g 4.7 µF, "
        "c_out 4.7 µF, r_load 10 kΩ"
    )
    assert "op-amp GPB)" in repr(noninverting(opamp=sr.opamp("GPB")))


def test_stage_shows_the_level_of_its_reference():
    fixed = noninverting().with_bias("reference", r_reference="0R5", reference="2.5 V")
    assert "(reference, ideal op-amp)" in repr(fixed)
    assert repr(fixed).endswith("reference 2.5 V")


def test_input_impedance_is_read_where_the_signal_is_and_not_above_the_loop():
    # Far above the loop bandwidth an inverting stage shows its feedback resistor as well.
    made = sr.design(sr.Requirements(12, -20, "47k", low_cutoff="20 Hz", opamp=sr.opamp("GPB")), "inverting")
    resistor = made.stage.values["r_in"]
    assert made.stage.midband_input_impedance() == pytest.approx(resistor, rel=0.02)
    assert made.stage.input_impedance().midband_gain() > 5 * resistor
    ideal = sr.design(sr.Requirements(12, -20, "47k", low_cutoff="20 Hz"), "inverting").stage
    assert ideal.midband_input_impedance() == pytest.approx(ideal.values["r_in"], rel=1e-12)
