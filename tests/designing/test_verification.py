"""Every requirement against the figure of the real circuit."""

import math

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.designing.verification import Check, verify
from tests.referee import solve_numpy

NEEDED = sr.Requirements(
    "9 V", 23, "100k", "25 Hz", ("1 dB", "60 Hz"), rumble_floor="5 Hz", high_cutoff="10 kHz", load="10k",
    opamp=sr.OpAmp("invented", 1e6, source="invented"),
)  # fmt: skip


@pytest.fixture(scope="module")
def design():
    return sr.design(NEEDED)


@pytest.mark.parametrize(
    ("kind", "value", "limit", "band", "status", "margin"),
    [
        ("at least", 11.0, 10.0, 0.0, "pass", 0.1),
        ("at least", 9.0, 10.0, 0.0, "fail", -0.1),
        ("at least", 10.0, 10.0, 0.0, "pass", 0.0),
        ("at least", math.inf, 10.0, 0.0, "pass", math.inf),
        ("at most", 8.0, 10.0, 0.0, "pass", 0.2),
        ("at most", 10.0 * (1 + 1e-6), 10.0, 0.0, "fail", -1e-6),
        ("at most", math.inf, 10.0, 0.0, "fail", -math.inf),
        ("within", 10.4, 10.0, 0.5, "pass", 0.01),
        ("within", 9.4, 10.0, 0.5, "fail", -0.01),
    ],
)
def test_verdict_and_margin(kind, value, limit, band, status, margin):
    check = Check("something", value, limit, kind, "Hz", "by hand", band=band, id="R7")
    assert check.status == status
    assert check.margin == pytest.approx(margin, rel=1e-6, abs=1e-15)
    assert check.row[0] == "R7"
    assert check.row[-1] == status
    assert check.text.endswith(status)


@pytest.mark.parametrize(
    ("value", "kind", "band", "text"),
    [
        (2.79952, "at least", 0.0, "2.7995 Vpp"),  # 2.8 Vpp would read as if it were met
        (2.79952, "at most", 0.0, "2.8 Vpp"),
        (2.71, "at least", 0.0, "2.71 Vpp"),
        (2.90003, "within", 0.1, "2.90003 Vpp"),
    ],
)
def test_a_figure_that_just_misses_shows_that_it_misses(value, kind, band, text):
    check = Check("swing", value, 2.8, kind, "Vpp", "by hand", band=band)
    assert check.figure_text() == text
    assert text in check.text
    assert text in check.row


def test_limits_in_words():
    assert Check("a", 1.0, 20.0, "at most", "Hz", "").limit_text == "at most 20 Hz"
    assert Check("a", 1.0, 20.0, "within", "Hz", "", band=0.5).limit_text == "20 Hz ± 500 mHz" or (
        Check("a", 1.0, 20.0, "within", "Hz", "", band=0.5).limit_text == "20 Hz ± 0.5 Hz"
    )
    assert Check("a", math.inf, 20.0, "at least", "Hz", "").row[4] == "-"


def test_every_requirement_has_its_check(design):
    names = [check.requirement for check in design.checks]
    assert names == [
        "mid-band gain", "input impedance", "top-end cut-off", "low-end cut-off", "droop at 60 Hz",
        "rumble floor", "divider current", "bias-filter corner", "DC gain for the bias",
    ]  # fmt: skip
    assert all(check.method for check in design.checks)
    ideal = sr.design(sr.Requirements("9 V", 23, "100k", "25 Hz"))
    assert len(ideal.checks) == 6


def test_figures_are_those_of_an_independent_solution(design):
    figures = {check.requirement: check.value for check in design.checks}
    stage = design.stage

    def gain(f):
        return np.abs(solve_numpy(stage, f, source="signal")["output"])

    middle = stage.transfer("signal", "output").midband.frequency
    around = np.geomspace(middle / 3, middle * 3, 2001)
    assert figures["mid-band gain"] == pytest.approx(gain(around).max(), rel=1e-6)
    for name in ("low-end cut-off", "top-end cut-off"):
        assert gain(figures[name])[0] == pytest.approx(figures["mid-band gain"] / math.sqrt(2), rel=1e-8)
    drop = 20 * np.log10(figures["mid-band gain"] / gain(60.0)[0])
    assert figures["droop at 60 Hz"] == pytest.approx(drop, rel=1e-8)
    v = stage.values
    at_rest = solve_numpy(stage, 1e-9, error_of=stage.circuit.opamps[0].name)[stage.circuit.opamps[0].output]
    assert figures["DC gain for the bias"] == pytest.approx(abs(at_rest[0]), rel=1e-6)
    assert figures["divider current"] == pytest.approx(9 / (v["r_top"] + v["r_bottom"]))


def test_a_stage_of_other_values_is_judged_as_it_is(design):
    fails = {
        "low-end cut-off": {"c_in": 10e-9},
        "droop at 60 Hz": {"c_in": 33e-9},
        "rumble floor": {"c_in": 10e-6, "c_g": 900e-6, "c_out": 100e-6},
        "mid-band gain": {"r_f": 2 * design.stage.values["r_f"]},
        "input impedance": {"r_bias": 91e3},
        "divider current": {"r_top": 10e3},
        "bias-filter corner": {"c_bias": 100e-9},
        "top-end cut-off": {"r_g": design.stage.values["r_g"] / 10},
    }
    for requirement, change in fails.items():
        checks = {c.requirement: c for c in verify(design.stage.with_parts(**change), NEEDED)}
        assert checks[requirement].status == "fail", requirement
        assert checks[requirement].margin < 0


def test_a_gain_leg_without_its_capacitor_is_found_out():
    parts = dict(sr.design(sr.Requirements("9 V", 23, "100k", "25 Hz")).stage.values)
    del parts["c_g"]
    wrong = sr.stage("leg_without_capacitor", supply=9, **parts)
    checks = {c.requirement: c for c in verify(wrong, sr.Requirements("9 V", 23, "100k", "25 Hz"))}
    assert checks["DC gain for the bias"].status == "fail"
    assert checks["DC gain for the bias"].value == pytest.approx(23, rel=0.01)
