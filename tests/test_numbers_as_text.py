"""Where a number is wanted, a text with its unit is read, and what is neither is refused in words."""

import dataclasses
import inspect
import math

import pytest

import singlerail_nb as sr
from singlerail_nb.designing.bias_sizing import RailRange
from singlerail_nb.quantities import read_temperature
from tests.sensible_stages import SENSIBLE

STAGE = SENSIBLE["noninverting, GPB"]
REQUIREMENTS = sr.Requirements(supply="9 V", gain=11, input_impedance="47 kohm", low_cutoff="20 Hz")
RAIL = RailRange(6.0, 9.0, 10.0)
MORE = {"supply_loop": (10.0,), "riding_picture": ("100 mVp",)}


def askers():
    """Yield each public function that starts from a stage or requirements, with each number it takes."""
    for name in sr.__all__:
        function = getattr(sr, name)
        if not inspect.isfunction(function):
            continue
        parameters = [*inspect.signature(function).parameters.values()]
        first, others = (parameters or [None])[0], parameters[1:]
        if first is None or first.annotation not in ("Stage", "Solvable", "Requirements"):
            continue
        given = REQUIREMENTS if first.annotation == "Requirements" else STAGE
        needed = [p for p in others if p.default is p.empty and p.kind == p.POSITIONAL_OR_KEYWORD]
        if len(needed) > len(MORE.get(name, ())):
            continue
        for p in others:
            if any(kind in p.annotation for kind in ("float", "int", "QuantityLike")):
                yield name, p.name, (given, *MORE.get(name, ()))


ASKED = tuple(askers())


def test_the_numbers_are_found():
    names = {(name, number) for name, number, _ in ASKED}
    assert len(names) > 40
    assert {("noise", "temperature"), ("window", "supply_min"), ("select", "keep")} <= names


@pytest.mark.parametrize(("name", "number", "given"), ASKED, ids=[f"{n}-{p}" for n, p, _ in ASKED])
def test_what_is_no_such_number_is_refused(name, number, given):
    function = getattr(sr, name)
    bound = inspect.signature(function).bind_partial(*given).arguments
    with pytest.raises(sr.SingleRailError) as caught:
        function(**{**bound, number: "5 apples"})
    assert caught.value.remedy


@pytest.mark.parametrize(
    ("ask", "as_text", "as_number"),
    [
        (lambda t: sr.noise(STAGE, t).rms(20, 20e3), "27 degC", 300.15),
        (lambda f: sr.noise(STAGE).rms(f, "20 kHz"), "20 Hz", 20),
        (lambda v: sr.noise(STAGE).dynamic_range(v, 20, 20e3), "5 Vpp", 5.0),
        (lambda v: sr.noise(STAGE).signal_to_noise(v, 20, 20e3), "100 mVrms", 0.1),
        (lambda c: sr.loop_gain(STAGE, load_capacitance=c).phase_margin, "10 nF", 10e-9),
        (lambda t: sr.operating_point(STAGE, temperature=t).voltages, "60 degC", 333.15),
        (lambda v: sr.operating_point(STAGE, signal=v).voltages, "100 mV", 0.1),
        (lambda v: sr.window(STAGE, supply_min=v).swing, "6 V", 6.0),
        (lambda s: sr.supply_loop(STAGE, 10.0, share=s).gain, "50 %", 0.5),
        (lambda s: sr.startup(STAGE, initial=s).settling_time("bias"), "50 %", 0.5),
        (lambda v: sr.startup(STAGE, profile=[(0, 0), ("10 ms", v)]).settling_time("bias"), "9 V", 9.0),
        (lambda f: sr.worst_case(STAGE, line=f).of("supply_gain"), "400 Hz", 400.0),
        (lambda f: sr.response_picture(STAGE, f).text, "10 Hz", 10.0),
    ],
)  # fmt: skip
def test_a_text_says_the_same_as_the_number(ask, as_text, as_number):
    assert ask(as_text) == ask(as_number)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"highest_rail": "28 V"}, "highest_rail: got 28 V; allowed: a plain number in V"),
        ({"capacitors": {"c_in": "10 uF"}}, "c_in: got 10 uF; allowed: a plain number in F"),
        ({"capacitors": "c_in"}, "capacitors: got c_in; allowed: names with values in F"),
    ],
)
def test_cautions_refuse_texts_in_words(given, words):
    with pytest.raises(sr.SingleRailError, match=words):
        sr.cautions_for(**given)


@pytest.mark.parametrize("kind", [sr.BiasConditions, sr.BiasLimits, sr.OpAmp, RailRange])
def test_data_classes_refuse_what_is_no_number(kind):
    whole = {"rail": RAIL, "name": "HUM", "gbw": 1e6, "lowest": 6.0, "nominal": 9.0, "highest": 10.0}
    fields = [f for f in dataclasses.fields(kind) if any(t in f.type for t in ("float", "QuantityLike"))]
    assert fields
    own = {f.name: whole[f.name] for f in dataclasses.fields(kind) if f.name in whole}
    for field in fields:
        for wrong in ("5 apples", object()):
            with pytest.raises(sr.SingleRailError) as caught:
                kind(**{**own, field.name: wrong})
            assert field.name in caught.value.quantity


def test_data_classes_read_their_texts():
    said = sr.BiasConditions(RAIL, lines="100 Hz", band=("20 Hz", "20 kHz"), dropout="300 mV", within="1 %")
    assert said == sr.BiasConditions(RAIL, lines=(100.0,), band=(20.0, 20e3), dropout=0.3, within=0.01)
    assert sr.BiasConditions(RAIL, psrr_db=math.inf, low=None).psrr_db == math.inf
    limits = sr.BiasLimits(rejection_db={"100 Hz": "40 dB"}, wake_up="2 s")
    assert limits == sr.BiasLimits(rejection_db={100.0: 40.0}, wake_up=2.0)
    figures = {"gbw": "1 MHz", "dc_gain": "100 dB", "slew_rate": "0.5 V/us", "offset_voltage": "2 mV"}
    assert sr.OpAmp("HUM", **figures) == sr.OpAmp(
        "HUM", 1e6, dc_gain=1e5, slew_rate=0.5e6, offset_voltage=2e-3
    )
    with pytest.raises(sr.SingleRailError, match="two ends"):
        sr.BiasConditions(RAIL, band="20 Hz")


def test_a_corner_of_the_rejection_counts_without_its_level():
    own, lower = (abs(sr.supply_rejection(STAGE, psrr_corner=f).opamp_path(1e3)) for f in (None, "1 Hz"))
    assert lower > 2.0 * own


def test_a_temperature_is_kelvin_as_a_number_and_celsius_as_a_text():
    assert read_temperature(300) == 300.0
    assert read_temperature("25 degC") == 298.15
    with pytest.raises(sr.SingleRailError, match="temperature: got 300 K"):
        read_temperature("300 K")
    with pytest.raises(sr.SingleRailError, match="temperature"):
        read_temperature("-300 degC")
