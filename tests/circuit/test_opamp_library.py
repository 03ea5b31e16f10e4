"""Op-amps from TOML: the shipped classes, and files with something wrong in them."""

import pytest

from singlerail_nb.circuit.opamp_figures import FIGURES
from singlerail_nb.circuit.opamp_library import load_opamps, opamp, opamps, read_opamp
from singlerail_nb.errors import QuantityError, UnknownNameError

MINE = """
[mine]
title = "The one on the bench"
gbw = "1.2 MHz"
supply_min = "3 V"
supply_max = "16 V"
dc_gain = "100 dB"
offset_voltage = { typ = "2 mV", max = "6 mV", condition = "25 degC" }
bias_current = { typ = "-40 nA", min = "-200 nA" }
swing = [{ load = "10k", low = "0.1 V", high = "1.5 V" }]
notes = ["soldered by hand"]
"""


def test_shipped_classes_are_labelled_invented():
    assert opamps() == ("GPB", "LNB", "JFT", "MPC", "PRC")
    for name in opamps():
        assert "invented" in opamp(name).source
        assert len(opamp(name).swing) == 2
        assert opamp(name).is_given("noise_voltage")


def test_figures_arrive_in_si_units():
    bipolar = opamp("GPB")
    assert (bipolar.gbw, bipolar.dc_gain, bipolar.supply_max) == (0.9e6, pytest.approx(1e5), 32.0)
    assert bipolar.slew_rate == pytest.approx(0.4e6)
    assert bipolar.noise_current == pytest.approx(0.2e-12)
    assert bipolar.figure("common_mode_high", "worst") == 2.0


def test_own_file(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text(MINE, encoding="utf-8")
    mine = load_opamps(path)["mine"]
    assert mine.gbw == pytest.approx(1.2e6)
    assert mine.figure("offset_voltage", "worst") == pytest.approx(6e-3)
    assert mine.limits[0].condition == "25 degC"
    assert mine.notes == ("soldered by hand",)
    assert mine.source == "entered by the user"


@pytest.mark.parametrize(
    ("line", "error", "named"),
    [
        ("slew_rate = 0.5", QuantityError, "slew_rate"),  # a number has no unit
        ('slew_rate = "0.5"', QuantityError, "slew_rate"),
        ('slew_rate = "0.5 mV"', QuantityError, "slew_rate"),
        ('offset_voltag = "1 mV"', UnknownNameError, "offset_voltage"),
        ('slew_rate = { max = "1 V/us" }', QuantityError, "slew_rate"),
        ('slew_rate = { typ = "1 V/us", mx = "2 V/us" }', QuantityError, "slew_rate"),
        ('slew_rate = { typ = "3 V/us", max = "2 V/us" }', QuantityError, "min <= typ <= max"),
        ('slew_rate = { typ = "3 V/us", condition = 25 }', QuantityError, "slew_rate"),
        ('reversal = "no"\nnoise_voltage = "4 pA/sqrt(Hz)"', QuantityError, "noise_voltage"),
        ("slew_rate = 1 V/us", QuantityError, "TOML"),
        ('supply_min = "3 V"\n', QuantityError, "TOML"),  # given twice
    ],
)
def test_fault_in_a_file_is_named(tmp_path, line, error, named):
    path = tmp_path / "mine.toml"
    path.write_text(f"{MINE}\n{line}\n", encoding="utf-8")
    with pytest.raises(error, match=named) as caught:
        load_opamps(path)
    assert caught.value.remedy


@pytest.mark.parametrize("field", ["gbw", "supply_min", "supply_max"])
def test_missing_field_is_named(field):
    table = {"gbw": "1 MHz", "supply_min": "3 V", "supply_max": "16 V"}
    assert read_opamp("a", table).gbw == 1e6
    del table[field]
    with pytest.raises(QuantityError, match=f"{field}.*no value"):
        read_opamp("a", table)


@pytest.mark.parametrize(
    "fault",
    [
        {"swing": "10k"},
        {"swing": ["10k"]},
        {"swing": [{"load": "10k", "low": "0.1 V"}]},
        {"notes": "one"},
        {"notes": [1]},
        {"title": 3},
    ],
)
def test_wrong_shape_is_named(fault):
    table = {"gbw": "1 MHz", "supply_min": "3 V", "supply_max": "16 V", **fault}
    with pytest.raises(QuantityError, match=next(iter(fault))):
        read_opamp("a", table)
    with pytest.raises(QuantityError, match="op-amp a"):
        read_opamp("a", "1 MHz")


def test_unknown_class_gets_a_suggestion():
    with pytest.raises(UnknownNameError, match="GPB"):
        opamp("GPX")


def test_every_figure_reads_its_own_unit():
    example = {"V": "2 V", "Hz": "2 MHz", "ratio": "2", "dB": "20 dB", "deg": "50 deg", "ohm": "2k",
               "F": "2 pF", "A": "2 uA", "s": "2 us", "V/us": "2 V/us", "V/sqrt(Hz)": "2 nV/sqrt(Hz)",
               "A/sqrt(Hz)": "2 pA/sqrt(Hz)"}  # fmt: skip
    table = {name: example[kind.unit] for name, kind in FIGURES.items() if name != "second_pole"}
    read = read_opamp("a", table | {"supply_min": "1 V", "supply_max": "9 V"})
    assert all(read.is_given(name) for name in table)
