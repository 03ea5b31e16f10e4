"""Two paths from the rail to a node, and the questions that make no sense."""

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.supply_rejection import FiniteRejection, supply_rejection
from singlerail_nb.errors import QuantityError, UnknownNameError

HIVE = {
    "supply": 5, "r_source": "2k2", "c_in": "1u", "r_bias": "100k", "r_f": "22k", "r_g": "1k",
    "c_g": "47u", "r_top": "100k", "r_bottom": "100k",
}  # fmt: skip
REJECTION = {"psrr_db": 80.0, "psrr_corner": 100.0}


@pytest.fixture(scope="module")
def stage():
    return sr.stage("noninverting", c_bias="10u", **HIVE)


def test_paths_add_as_phasors(stage):
    found = supply_rejection(stage, **REJECTION)
    f = np.array([10.0, 100.0, 1e3, 1e5])
    assert found.total(f) == pytest.approx(found.bias_path(f) + found.opamp_path(f))
    assert np.all(np.abs(found.total(f)) <= found.worst(f) * (1 + 1e-12))
    assert isinstance(found.total(100.0), complex)


def test_each_path_alone_is_the_network_function(stage):
    found = supply_rejection(stage, **REJECTION)
    assert found.bias_path(100.0) == stage.transfer("supply", "output")(100.0)
    # The noise gain of 23, times a ten-thousandth that has risen by sqrt(2) at its corner.
    assert abs(found.opamp_path(100.0)) == pytest.approx(23e-4 * np.sqrt(2), rel=1e-3)


def test_an_ideal_op_amp_lets_nothing_through(stage):
    assert supply_rejection(stage).opamp_path(1e5) == 0


def test_figures_come_from_the_op_amp_record():
    amplifier = sr.OpAmp(
        "invented", gbw=1e6, supply_rejection_db=80.0, supply_rejection_corner=100.0, source="invented"
    )
    stage = sr.stage("noninverting", opamp=amplifier, c_bias="10u", **HIVE)
    assert supply_rejection(stage).total(1e3) == supply_rejection(stage, **REJECTION).total(1e3)


def test_a_bias_follower_has_a_path_of_its_own():
    stage = sr.stage("noninverting", bias="buffered_divider", c_bias="10u", **HIVE)
    found = supply_rejection(stage, "bias", **REJECTION)
    assert len(found.opamp_path.terms) == 2
    assert abs(found.opamp_path(1.0)) == pytest.approx(1e-4, rel=1e-3)  # a noise gain of one


def test_a_real_reference_lets_some_ripple_through(stage):
    quiet = stage.with_bias("reference", reference=2.5, r_reference=1)
    assert supply_rejection(quiet, "bias").total(100.0) == 0
    real = supply_rejection(quiet, "bias", reference_db=60.0, reference_corner=1e3)
    assert abs(real.total(1.0)) == pytest.approx(1e-3, rel=1e-4)
    assert abs(real.total(1e4)) == pytest.approx(1e-2, rel=2e-2)
    assert "finite rejection" in real.sentence(100.0)


def test_a_zener_has_its_own_sentence(stage):
    zener = stage.with_bias("zener", zener=2.4, r_zener=950, r_dynamic=50, r_filter="10k", c_bias="10u")
    assert (
        supply_rejection(zener, "bias")
        .sentence(100.0)
        .endswith("of which 26.02 dB is the Zener with its feed resistor.")
    )


def test_an_open_jack_is_worse(stage):
    connected = supply_rejection(stage, source="connected")
    jack = supply_rejection(stage, source="open")
    assert jack.total.magnitude_db(100.0) > connected.total.magnitude_db(100.0) + 20
    ideal = supply_rejection(stage.with_parts(r_source=0), source="open")
    assert ideal.total(100.0) == pytest.approx(jack.total(100.0), rel=1e-12)


def test_an_inverting_stage_does_not_care_for_its_source_in_mid_band():
    parts = {"supply": 5, "r_source": 600, "c_in": "100u", "r_in": "10k", "r_f": "100k"}
    stage = sr.stage("inverting", r_top="100k", r_bottom="100k", c_bias="10u", **parts)
    # Its noise gain falls to one when the source is taken off: less ripple, not more.
    assert abs(supply_rejection(stage, source="open").total(100.0)) < abs(
        supply_rejection(stage).total(100.0)
    )


def test_ripple_in_volts(stage):
    found = supply_rejection(stage, **REJECTION)
    rows = found.ripple("50 mVpp", lines=(100.0, 100e3))
    assert [row.frequency for row in rows] == [100.0, 100e3]
    assert all(row.rail == pytest.approx(0.05) for row in rows)
    assert rows[0].total == pytest.approx(0.05 * abs(found.total(100.0)))
    assert rows[0].worst == pytest.approx(rows[0].bias_path + rows[0].opamp_path)
    mixed = found.ripple({100.0: 0.05, 100e3: 0.02})
    assert mixed[0] == rows[0]
    assert mixed[1].total == pytest.approx(0.4 * rows[1].total)
    assert found.ripple("50 mVpp", lines=["100 Hz", "100 kHz"]) == rows
    assert found.ripple({"100 Hz": "50 mVpp", "100 kHz": "50 mVpp"}) == rows
    assert found.ripple("50 mVrms", lines=[100.0, 100e3]) == rows == found.ripple(0.05, lines=[100.0, 100e3])


@pytest.mark.parametrize(
    ("rail_ripple", "lines", "message"),
    [
        ("200 mV", [400.0], 'Say which is meant: "200 mVpp" or "200 mVp" or "200 mVrms"'),
        ({400.0: "200 mV"}, None, "Vpp, Vp or Vrms"),
        ("plenty", [400.0], "rail_ripple: got plenty"),
        ("200 mVpp", ["400"], "lines: got 400"),
        ("200 mVpp", "400 Hz", 'such as .* or \\["400 Hz"\\]'),
        ("200 mVpp", 400.0, "lines: got 400.0"),
        ("200 mVpp", [-400.0], "lines: got -400"),
    ],
)
def test_ripple_says_how_it_is_measured_and_where(stage, rail_ripple, lines, message):
    with pytest.raises(QuantityError, match=message):
        supply_rejection(stage).ripple(rail_ripple, lines)


def test_rejection_through_two_points():
    """60 dB at 100 Hz and 40 dB at 10 kHz: corner near 1 kHz."""
    rejection = FiniteRejection.through([(100.0, 60.0), (10e3, 40.0)])
    assert -20 * np.log10(np.abs(rejection(np.array([100.0, 10e3])))) == pytest.approx([60.0, 40.0])
    assert rejection.corner == pytest.approx(1e3, rel=0.02)
    with pytest.raises(QuantityError, match="at most 20 dB per decade"):
        FiniteRejection.through([(100.0, 60.0), (1e3, 30.0)])
    with pytest.raises(QuantityError, match="falls with frequency"):
        FiniteRejection.through([(100.0, 60.0), (1e3, 70.0)])


def test_senseless_questions_are_refused(stage):
    with pytest.raises(QuantityError, match="psrr"):
        supply_rejection(stage, psrr_db=-80.0)
    with pytest.raises(QuantityError, match="psrr"):
        supply_rejection(stage, psrr_db=80.0, psrr_corner=0.0)
    with pytest.raises(QuantityError, match="psrr_db: got plenty"):
        supply_rejection(stage, psrr_db="plenty")
    with pytest.raises(QuantityError, match="psrr_corner: got 1 V"):
        supply_rejection(stage, psrr_db=80, psrr_corner="1 V")
    with pytest.raises(QuantityError, match="f: got often"):
        supply_rejection(stage).sentence("often")
    with pytest.raises(UnknownNameError, match="open jack"):
        supply_rejection(stage, source="shorted")
    with pytest.raises(UnknownNameError, match="node"):
        supply_rejection(stage, "outputt")
    with pytest.raises(QuantityError, match="lines"):
        supply_rejection(stage).ripple(0.05)
    with pytest.raises(QuantityError):
        supply_rejection(stage).ripple(-0.05, lines=(100.0,))
    with pytest.raises(QuantityError):
        supply_rejection(stage).total(-1.0)


def test_rejections_and_frequencies_may_be_texts(stage):
    texts = supply_rejection(stage, psrr_db="80 dB", psrr_corner="100 Hz")
    numbers = supply_rejection(stage, psrr_db=80.0, psrr_corner=100.0)
    assert texts.opamp_path(1e3) == numbers.opamp_path(1e3)
    assert texts.sentence("100 Hz") == numbers.sentence(100.0)
    ideal = supply_rejection(stage, psrr_db=np.inf)
    assert ideal.opamp_path.terms == ()
