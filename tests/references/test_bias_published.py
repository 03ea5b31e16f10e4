"""Bias sources against published tables and against a trade table worked by hand."""

import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.supply_rejection import supply_rejection
from singlerail_nb.designing.fixed_bias_sizing import zener_resistor
from singlerail_nb.designing.preferred_values import preferred

# AN-581 (Analog Devices, C. Kitchin), table 3: rail, Zener, current, resistor.
TABLE_3 = [
    (15, 7.5, 0.5e-3, 15e3), (15, 7.5, 5e-3, 1.5e3), (12, 6.2, 0.5e-3, 11.5e3), (12, 6.2, 5e-3, 1.15e3),
    (9, 4.3, 0.5e-3, 9.31e3), (9, 4.3, 5e-3, 931), (5, 2.4, 0.5e-3, 5.23e3), (5, 2.7, 5e-3, 464),
]  # fmt: skip


@pytest.mark.parametrize(("supply", "zener", "current", "printed"), TABLE_3)
def test_zener_resistors_of_an_581(supply, zener, current, printed):
    """All eight rows, rounded to the nearest E96 value."""
    assert preferred(zener_resistor(supply, zener, current), "E96") == pytest.approx(printed, rel=1e-9)


@pytest.mark.parametrize(("supply", "zener", "current", "printed"), TABLE_3)
def test_the_circuit_sends_that_current(supply, zener, current, printed):
    stage = sr.stage(
        "follower", supply=supply, bias="zener", r_source=600, c_in="1u", r_bias="100k",
        zener=zener - 1e-3, r_dynamic=1e-3 / current, r_zener=printed,
    )  # fmt: skip
    assert stage.divider_current() == pytest.approx(current, rel=0.015)


# The input draws nothing, so that the bias source stands alone.
INVERTING = {"supply": 9, "r_source": 0, "c_in": "1u", "r_in": "10k", "r_f": "10k"}
ZENER = {"bias": "zener", "zener": 4.7 - 4.3e-3 * 50, "r_zener": "1k", "r_dynamic": 50}


@pytest.mark.parametrize(
    ("bias", "rejection", "at_dc", "at_100_hz", "current"),
    [
        ({"bias": "divider", "r_top": "100k", "r_bottom": "100k"}, 6, 50e3, 50e3, 45e-6),
        ({"r_top": "100k", "r_bottom": "100k", "c_bias": "10u"}, 56, 50e3, 159, 45e-6),
        ({"r_top": "10k", "r_bottom": "10k", "c_bias": "100u"}, 56, 5e3, 15.9, 450e-6),
        (ZENER, 26, 48, 48, 4.3e-3),
        (ZENER | {"c_bias": "100u"}, 36, 48, 15, 4.3e-3),
        (ZENER | {"r_filter": "10k", "c_bias": "10u"}, 62, 10e3, 158, 4.3e-3),
    ],
)
def test_trade_table_at_9_volts(bias, rejection, at_dc, at_100_hz, current):
    """Worked by hand for this project, two digits: dB at 100 Hz, ohm, A."""
    stage = sr.stage("inverting", **INVERTING, **bias)
    assert -supply_rejection(stage, "bias").total.magnitude_db(100.0) == pytest.approx(rejection, abs=0.6)
    assert abs(stage.node_impedance("bias")(0.0)) == pytest.approx(at_dc, rel=0.02)
    assert abs(stage.node_impedance("bias")(100.0)) == pytest.approx(at_100_hz, rel=0.03)
    assert stage.divider_current() == pytest.approx(current, rel=0.01)


@pytest.mark.parametrize(("supply", "resistor"), [(15, "100k"), (12, "100k"), (5, "42k"), (3.3, "27k")])
def test_divider_currents_behind_a_rule_of_thumb(supply, resistor):
    """AN-581 gives 100k at 15 or 12 V, 42k at 5 V, 27k at 3.3 V: 60 to 75 uA in each."""
    stage = sr.stage(
        "inverting", **INVERTING | {"supply": supply}, bias="divider", r_top=resistor, r_bottom=resistor
    )
    assert 59e-6 <= stage.divider_current() <= 76e-6
