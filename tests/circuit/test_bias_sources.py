"""Every bias source plugs into every stage, and says what is missing or impossible."""

import pickle

import pytest

import singlerail_nb as sr
from singlerail_nb.circuit.bias_sources import BIAS_SOURCES, BIAS_TITLES, bias_circuit
from singlerail_nb.circuit.stages import build_circuit
from singlerail_nb.errors import CircuitError, QuantityError, UnknownNameError
from tests.circuits_for_tests import PAIRS

HIVE_INPUT = {
    "supply": 9, "r_source": "2k2", "c_in": "220n", "r_bias": "100k", "r_f": "10k", "r_g": "1k",
    "c_g": "100u", "c_out": "10u", "r_load": "10k",
}  # fmt: skip
VALUES = {
    "divider": {"r_top": "100k", "r_bottom": "100k"},
    "filtered_divider": {"r_top": "100k", "r_bottom": "100k", "c_bias": "10u"},
    "zener": {"zener": 4.45, "r_zener": "1k", "r_dynamic": "50", "r_filter": "10k", "c_bias": "10u"},
    "buffered_divider": {"r_top": "100k", "r_bottom": "100k", "c_bias": "10u", "r_buffer": "300"},
    "reference": {"reference": "2.5 V", "r_reference": "1"},
    "source_only_reference": {"reference": "2.5 V", "r_reference": "1"},
}


def hive_stage(bias, **changes):
    return sr.stage("noninverting", bias=bias, **(HIVE_INPUT | VALUES[bias] | changes))


def test_every_bias_source_has_a_title_and_values_in_this_test():
    assert set(BIAS_SOURCES) == set(BIAS_TITLES) == set(VALUES)


@pytest.mark.parametrize(("stage", "bias"), [pair for pair in PAIRS if pair[1] in BIAS_SOURCES])
def test_a_bias_source_shares_only_supply_and_bias_with_its_stage(stage, bias):
    # Two nodes of one name would be joined by a wire that nobody drew.
    inner = set(bias_circuit(bias).nodes) - {"supply", "bias", "signal"}
    assert not inner & set(build_circuit(stage, "divider").nodes)
    assert inner <= set(build_circuit(stage, bias).nodes)


@pytest.mark.parametrize(
    ("bias", "volts"),
    [
        ("divider", 4.5),
        ("filtered_divider", 4.5),
        ("zener", 4.45 + 50 * (9 - 4.45) / 1050),
        ("buffered_divider", 4.5),
        ("reference", 2.5),
        ("source_only_reference", 2.5),
    ],
)
def test_the_stage_rests_at_the_bias(bias, volts):
    point = sr.operating_point(hive_stage(bias))
    assert point.voltage("bias") == pytest.approx(volts, rel=1e-12)
    assert point.voltage("amp_out") == pytest.approx(volts, rel=1e-12)


def test_a_buffer_carries_what_a_divider_cannot():
    loaded = {"r_isolation": "47", "c_buffer": "1u"}
    bare = hive_stage("filtered_divider").node_impedance("bias")
    buffered = hive_stage("buffered_divider", **loaded).node_impedance("bias")
    assert abs(bare(0)) == pytest.approx(50e3, rel=1e-9)
    assert abs(buffered(0)) == pytest.approx(47, rel=1e-9)  # an ideal follower hides r_buffer


def test_signal_passes_an_inverting_stage_whatever_the_bias():
    parts = {"supply": 9, "r_source": "220", "c_in": "1u", "r_in": "10k", "r_f": "100k"}
    gains = [
        abs(sr.stage("inverting", bias=bias, **parts, **values).transfer("signal", "output")(1e3))
        for bias, values in VALUES.items()
    ]
    assert gains == pytest.approx([gains[0]] * len(gains), rel=1e-12)
    assert gains[0] == pytest.approx(100e3 / 10.22e3, rel=1e-3)


def test_bias_sources_can_be_exchanged():
    stage = hive_stage("filtered_divider")
    other = stage.with_bias("zener", **VALUES["zener"])
    assert other == hive_stage("zener")
    assert other.with_bias("filtered_divider", **VALUES["filtered_divider"]) == stage
    assert pickle.loads(pickle.dumps(other)) == other  # noqa: S301 -- our own bytes
    assert hash(other) == hash(hive_stage("zener"))
    assert other.with_parts(zener="3.3 V").levels["zener"] == 3.3


def test_an_ideal_reference_lets_nothing_through_and_has_no_poles():
    quiet = hive_stage("reference").transfer("supply", "output")
    assert quiet(100.0) == 0
    assert quiet.poles().size == quiet.zeros().size == 0


def test_a_zener_at_or_above_the_rail_is_refused():
    for volts in (9, 12):
        with pytest.raises(CircuitError, match="cannot work at or above the rail"):
            hive_stage("zener", zener=volts)


def test_a_missing_or_foreign_level_is_refused():
    with pytest.raises(CircuitError, match="no level for reference"):
        sr.stage("noninverting", bias="reference", r_reference=1, **HIVE_INPUT)
    with pytest.raises(UnknownNameError):
        hive_stage("divider", reference=2.5)
    with pytest.raises(QuantityError):
        hive_stage("reference", reference=-2.5)
    with pytest.raises(UnknownNameError, match="level"):
        sr.Stage("noninverting", 9.0, dict(hive_stage("divider").values), None, "divider", {"zener": 4.7})
    with pytest.raises(UnknownNameError, match="bias source"):
        bias_circuit("zenner")


@pytest.mark.parametrize(
    ("bias", "amperes"),
    [
        ("divider", 9 / 200e3),
        ("buffered_divider", 9 / 200e3),
        ("zener", (9 - 4.45) / 1050),
        ("reference", 0.0),
    ],
)
def test_what_a_bias_source_draws_from_the_rail(bias, amperes):
    assert hive_stage(bias).divider_current() == pytest.approx(amperes, rel=1e-12)


def test_the_bias_filter_of_every_source():
    """At DC the divider halves; a Zener passes r_dynamic/(r_zener + r_dynamic); c_bias does the rest."""
    zener = hive_stage("zener").bias_filter()
    assert zener(0.0) == pytest.approx(50 / 1050, rel=1e-12)
    assert abs(zener(100.0)) == pytest.approx(
        50 / 1050 / abs(1 + 2j * 3.141592653589793 * 100 * 10e-6 * (10e3 + 1 / (1 / 1e3 + 1 / 50))), rel=1e-9
    )
    assert hive_stage("buffered_divider").bias_filter()(0.0) == pytest.approx(0.5, rel=1e-12)
    assert hive_stage("reference").bias_filter()(100.0) == 0
