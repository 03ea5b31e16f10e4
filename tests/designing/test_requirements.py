"""What a stage must do: texts read, contradictions refused with one clear error each."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

import singlerail_nb as sr
from singlerail_nb.designing.requirements import Droop, single_pole_cutoff
from singlerail_nb.errors import QuantityError, RequirementError, SingleRailError, UnknownNameError

USUAL = {"supply": "9 V", "gain": 11, "input_impedance": "47k", "low_cutoff": "20 Hz"}


def opamp(**figures):
    """Return an invented op-amp for 2.7 V to 5.5 V."""
    return sr.OpAmp(
        **{"name": "invented", "gbw": 1e6, "dc_gain": 1e5, "supply_min": 2.7, "supply_max": 5.5} | figures
    )


def test_texts_and_numbers_give_the_same_requirements():
    words = sr.Requirements(
        "9 V", "20 dB", "47 kohm", "20 Hz", ("0.5 dB", "60 Hz"), supply_min="6.5 V", supply_max="9.6 V",
        source_resistance="2k2", load="10k", divider_current="50 uA", rumble_floor="8 Hz",
        high_cutoff="20 kHz", gain_tolerance="5%",
    )  # fmt: skip
    numbers = sr.Requirements(
        9, 10, 47e3, 20, (0.5, 60), supply_min=6.5, supply_max=9.6, source_resistance=2200, load=1e4,
        divider_current=50e-6, rumble_floor=8, high_cutoff=2e4, gain_tolerance=0.05,
    )  # fmt: skip
    assert {n: getattr(words, n) for n in words.__dataclass_fields__} == pytest.approx(
        {n: getattr(numbers, n) for n in words.__dataclass_fields__} | {"gain": pytest.approx(10.0)}
    )


def test_what_is_not_said_has_its_usual_value():
    needed = sr.Requirements(**USUAL)
    assert needed.bias_filter_ratio == 0.1
    assert (needed.resistor_series, needed.capacitor_series) == ("E24", "E6")
    assert (needed.lowest_supply, needed.highest_supply) == (9.0, 9.0)
    assert needed.source_resistance == 0.0
    assert needed.load is None
    assert needed.opamp_loss == 0.0


def test_the_rail_has_a_range():
    needed = sr.Requirements(**USUAL | {"supply_min": "6 V", "supply_max": "9.6 V"})
    assert (needed.lowest_supply, needed.highest_supply) == (6.0, 9.6)


@given(drop=st.floats(0.01, 20.0), frequency=st.floats(0.1, 1e5))
def test_a_droop_is_the_cut_off_of_one_pole(drop, frequency):
    pole = single_pole_cutoff(Droop(drop, frequency))
    loss = 10 * math.log10(1 + (pole / frequency) ** 2)
    assert loss == pytest.approx(drop, rel=1e-9)


def test_the_target_is_the_harder_of_cut_off_and_droop():
    # 0.5 dB at 60 Hz wants a pole at 60/2.86 = 21 Hz.
    assert sr.Requirements(**USUAL | {"droop": ("0.5 dB", "60 Hz")}).target_cutoff == 20.0
    harder = sr.Requirements(**USUAL | {"droop": ("0.5 dB", "40 Hz")})
    assert harder.target_cutoff == pytest.approx(40 / 2.863, rel=1e-3)
    same = sr.Requirements(**USUAL | {"droop": ("-0.5 dB", "40 Hz")})
    assert same.droop == harder.droop == Droop(0.5, 40.0)
    assert sr.Requirements(**USUAL | {"droop": Droop(0.5, 40.0)}) == harder


def test_a_droop_made_by_hand_is_read_as_well():
    with pytest.raises(QuantityError, match="droop frequency"):
        sr.Requirements(**USUAL | {"droop": Droop(0.5, -40.0)})


def test_what_the_opamp_takes_of_the_gain():
    needed = sr.Requirements(**USUAL | {"supply": "5 V", "opamp": opamp()})
    assert needed.opamp_loss == pytest.approx(11 / 1e5 + 20 * 11 / 1e6)
    inverting = sr.Requirements(**USUAL | {"supply": "5 V", "gain": -11, "opamp": opamp()})
    assert inverting.noise_gain == 12.0


# The four of the task: gain 0, cut-off above the op-amp, rail below the op-amp, no unit.


def test_gain_zero():
    with pytest.raises(QuantityError, match=r"gain: got 0; allowed: a gain other than zero.*passes nothing"):
        sr.Requirements(**USUAL | {"gain": 0})


def test_cut_off_above_the_bandwidth_of_the_opamp():
    given = USUAL | {"supply": "5 V", "opamp": opamp(), "low_cutoff": "200 kHz"}
    with pytest.raises(RequirementError, match=r"low_cutoff: got 200 kHz; allowed: up to 2.273 kHz.*faster"):
        sr.Requirements(**given)


def test_rail_below_the_minimum_of_the_opamp():
    given = USUAL | {"supply": "2.5 V", "opamp": opamp()}
    with pytest.raises(RequirementError, match=r"supply: got 2.5 V to 2.5 V; allowed: 2.7 V to 5.5 V"):
        sr.Requirements(**given)


def test_a_number_without_unit():
    with pytest.raises(QuantityError, match=r"supply: got 4.7; .*unit is missing"):
        sr.Requirements(**USUAL | {"supply": "4.7"})


@pytest.mark.parametrize(
    ("change", "quantity", "allowed", "remedy"),
    [
        ({"supply": "0.5 V"}, "supply", "900 mV to 60 V", "range"),
        ({"supply": "230 V"}, "supply", "900 mV to 60 V", "range"),
        ({"supply": "-9 V"}, "supply", "900 mV", ""),
        ({"supply": float("nan")}, "supply", "volt", "finite"),
        ({"supply": None}, "supply", "volt", "Give"),
        ({"input_impedance": None}, "input_impedance", "resistance", "Give"),
        ({"source_resistance": None}, "source_resistance", "resistance", "Give"),
        ({"gain": "many"}, "gain", "gain other than zero", ""),
        ({"gain": float("inf")}, "gain", "", "finite"),
        ({"gain": "900 dB"}, "gain", "300 dB", "Check"),
        ({"input_impedance": "-47k"}, "input_impedance", "10 Ω to 100 MΩ", ""),
        ({"input_impedance": "47"}, "input_impedance", "resistance", "unit is missing"),
        ({"input_impedance": "47 Hz"}, "input_impedance", "resistance", ""),
        ({"low_cutoff": None}, "low_cutoff", "cut-off or a droop", "droop="),
        ({"low_cutoff": "0 Hz"}, "low_cutoff", "Hz", ""),
        ({"low_cutoff": "20"}, "low_cutoff", "frequency", "unit is missing"),
        ({"droop": "0.5 dB"}, "droop", "pair", "Write"),
        ({"droop": ("0.5 dB", "60 Hz", 3)}, "droop", "pair", "Write"),
        ({"droop": ("0 dB", "60 Hz")}, "droop", "0.001 dB or more", "Allow some"),
        ({"droop": ("0.5 dB", "60 m")}, "droop frequency", "frequency", ""),
        ({"supply_min": "10 V"}, "supply", "supply_min <= supply", "order"),
        ({"supply_max": "8 V"}, "supply", "supply <= supply_max", "order"),
        ({"load": 0}, "load", "1 Ω", ""),
        ({"divider_current": "1 A"}, "divider_current", "100 mA", ""),
        ({"bias_filter_ratio": 0}, "bias_filter_ratio", "0.001 to 1", ""),
        ({"gain_tolerance": "90%"}, "gain_tolerance", "0.01 % to 50 %", ""),
        ({"rumble_floor": "20 Hz"}, "rumble_floor", "below the low-end cut-off of 20 Hz", "Lower"),
        ({"high_cutoff": "150 Hz"}, "high_cutoff", "ten times", "mid-band"),
        ({"resistor_series": "E25"}, "series", "E3, E6", "E24"),
        ({"capacitor_series": "X7R"}, "series", "E3, E6", "capacitors"),
        ({"opamp": "the usual one"}, "opamp", "OpAmp record", "data sheet"),
        ({"colour": "red"}, "colour", "name of a requirement", "Choose one of: bias_filter_ratio"),
        ({"lowcutoff": "20 Hz"}, "lowcutoff", "name of a requirement", "Did you mean 'low_cutoff'?"),
    ],
)
def test_each_wrong_requirement_gives_one_clear_error(change, quantity, allowed, remedy):
    with pytest.raises(SingleRailError) as caught:
        sr.Requirements(**USUAL | change)
    error = caught.value
    assert error.quantity == quantity
    assert allowed in error.allowed
    assert remedy in error.remedy
    assert error.value
    assert error.remedy
    assert str(error).count("got ") == 1


@pytest.mark.parametrize(
    ("change", "figures", "quantity", "allowed"),
    [
        ({"supply_max": "5.6 V"}, {}, "supply", "2.7 V to 5.5 V"),
        ({"supply_min": "2.6 V"}, {}, "supply", "2.7 V to 5.5 V"),
        ({"high_cutoff": "100 kHz"}, {}, "high_cutoff", "up to 90.91 kHz"),
        ({"gain": -11, "high_cutoff": "90 kHz"}, {}, "high_cutoff", "up to 83.33 kHz"),
        ({"low_cutoff": "3 kHz"}, {}, "low_cutoff", "up to 2.273 kHz"),
        ({"gain_tolerance": 0.001}, {"gbw": 1e9}, "", ""),
        ({"gain_tolerance": 0.001}, {"gbw": 1e9, "dc_gain": 1e4}, "gain_tolerance", "at least 0.0022"),
    ],
)
def test_what_this_opamp_cannot_do(change, figures, quantity, allowed):
    given = USUAL | {"supply": "5 V", "opamp": opamp(**figures)} | change
    if not quantity:
        assert sr.Requirements(**given).opamp_loss < 5e-4
        return
    with pytest.raises(RequirementError) as caught:
        sr.Requirements(**given)
    assert caught.value.quantity == quantity
    assert allowed in caught.value.allowed
    assert "invented" in caught.value.allowed


def test_a_misspelt_name_is_told_before_what_is_missing():
    with pytest.raises(RequirementError, match=r"suply: got 9 V; .*Did you mean 'supply'\?"):
        sr.Requirements(suply="9 V", gain=2)


@pytest.mark.parametrize("missing", ["supply", "gain", "input_impedance"])
def test_what_is_missing_is_named(missing):
    given = {name: value for name, value in USUAL.items() if name != missing}
    with pytest.raises(QuantityError, match=f"{missing}: got None; allowed: a "):
        sr.Requirements(**given)


def test_an_unknown_series_is_an_unknown_name():
    with pytest.raises(UnknownNameError):
        sr.Requirements(**USUAL | {"resistor_series": "e24"})


def test_requirements_cannot_be_changed_afterwards():
    needed = sr.Requirements(**USUAL)
    with pytest.raises(AttributeError):
        needed.gain = 12


def test_requirements_show_what_was_asked_as_one_would_type_it():
    needed = sr.Requirements(**USUAL, droop=("0.5 dB", "60 Hz"), capacitor_series="E12", output_swing="3 Vpp")
    assert repr(needed) == (
        'Requirements(supply="9 V", gain=11, input_impedance="47 kΩ", low_cutoff="20 Hz", '
        'droop=("0.5 dB", "60 Hz"), capacitor_series="E12", output_swing="3 Vpp")'
    )
    assert repr(needed.demands) == 'Demands(output_swing="3 Vpp")'
    assert repr(sr.Requirements(**USUAL | {"supply": "5 V"}, opamp=opamp())).endswith("opamp=<invented>)")
