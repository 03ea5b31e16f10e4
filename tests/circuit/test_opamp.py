"""The op-amp record: derived figures, limits, and contradictions that are named."""

import math

import pytest

from singlerail_nb.circuit.opamp import OpAmp
from singlerail_nb.circuit.opamp_figures import FIGURES, Limits, SwingPoint, interpolated_swing
from singlerail_nb.errors import QuantityError

POINTS = (SwingPoint(10e3, 0.65, 1.4), SwingPoint(2e3, 0.9, 1.6))


def test_small_record_still_serves():
    plain = OpAmp("plain", gbw=1e6)
    assert plain.inverse_gain == 1e-5
    assert plain.unity_time == pytest.approx(1 / (2 * math.pi * 1e6), rel=1e-15)
    assert (plain.supply_min, plain.supply_max) == (0.0, math.inf)
    assert not any(plain.is_given(name) for name in FIGURES if name not in {"gbw", "dc_gain"})


def test_record_is_a_key():
    make = {"gbw": 1e6, "swing": POINTS, "limits": (Limits("gbw", lowest=0.7e6),)}
    assert len({OpAmp("a", **make), OpAmp("a", **make), OpAmp("a", gbw=1e6)}) == 2


def test_swing_follows_the_load_current():
    assert interpolated_swing(POINTS, 10e3) == (0.65, 1.4)
    assert interpolated_swing(POINTS, 2e3) == pytest.approx((0.9, 1.6))
    # 1/load half way between the two points: 0.3 mS, 3333 ohm.
    assert interpolated_swing(POINTS[::-1], 1 / 0.3e-3) == pytest.approx((0.775, 1.5))
    assert interpolated_swing(POINTS, math.inf) == (0.65, 1.4)
    # 1 mS lies one and a quarter spans beyond the heavy point: 0.9 + 0.25 * 0.5 / 0.4.
    assert interpolated_swing(POINTS, 1e3) == pytest.approx((1.2125, 1.85))
    assert interpolated_swing((), 1e3) == (0.0, 0.0)
    with pytest.raises(QuantityError, match="load"):
        interpolated_swing(POINTS, 0.0)


def test_ranges_at_a_supply():
    amplifier = OpAmp("a", 1e6, swing=POINTS, linear_margin=0.2, common_mode_low=-0.1, common_mode_high=1.5)
    assert amplifier.output_range(9.0, 10e3) == pytest.approx((0.85, 7.4))
    assert amplifier.output_range(9.0, 10e3, linear=False) == pytest.approx((0.65, 7.6))
    assert amplifier.input_range(9.0) == (-0.1, 7.5)


@pytest.mark.parametrize("margin", [45.0, 60.0, 75.0])
def test_second_pole_gives_the_phase_margin_back(margin):
    amplifier = OpAmp("a", gbw=2e6, phase_margin=margin)
    pole = amplifier.second_pole_frequency
    crossover = amplifier.gbw * math.sin(math.radians(margin))
    assert crossover * math.hypot(1.0, crossover / pole) == pytest.approx(amplifier.gbw, rel=1e-12)
    assert 90.0 - math.degrees(math.atan(crossover / pole)) == pytest.approx(margin, rel=1e-12)


def test_second_pole_as_given():
    assert OpAmp("a", 1e6, second_pole=3e6).second_pole_frequency == 3e6
    assert OpAmp("a", 1e6).second_pole_frequency == math.inf


def test_worst_figure_is_the_limit_far_from_zero():
    amplifier = OpAmp(
        "a", 1e6, bias_current=-40e-9, offset_voltage=2e-3, limits=(Limits("bias_current", lowest=-200e-9),)
    )
    assert amplifier.figure("bias_current") == -40e-9
    assert amplifier.figure("bias_current", "worst") == -200e-9
    assert amplifier.figure("offset_voltage", "worst") == 2e-3


def test_rejection_falls_above_its_corner():
    amplifier = OpAmp("a", 1e6, supply_rejection_db=100.0, supply_rejection_corner=10.0)
    assert amplifier.supply_error(0.0) == pytest.approx(1e-5)
    assert abs(amplifier.supply_error(1e4)) == pytest.approx(1e-2, rel=1e-6)
    assert amplifier.supply_error(1e4, pin="negative") == 0.0
    assert amplifier.common_mode_error(1e3) == 0.0


@pytest.mark.parametrize(
    ("fault", "named"),
    [
        ({"gbw": 0.0}, "gbw"),
        ({"gbw": math.inf}, "gbw"),
        ({"noise_voltage": -1e-9}, "noise_voltage"),
        ({"offset_voltage": math.nan}, "offset_voltage"),
        ({"slew_rate": 0.0}, "slew_rate"),
        ({"supply_min": 8.0, "supply_max": 5.0}, "supply range"),
        ({"supply_max": 5.0, "common_mode_low": 3.0, "common_mode_high": 2.5}, "common-mode range"),
        ({"handover_far": 1.0, "handover_near": 2.0}, "handover zone"),
        ({"phase_margin": 60.0, "second_pole": 2e6}, "second pole"),
        ({"swing": (SwingPoint(10e3, -0.1, 0.1),)}, "output swing"),
        ({"supply_max": 5.0, "swing": (SwingPoint(10e3, 3.0, 2.5),)}, "output swing"),
        ({"limits": (Limits("gbw", lowest=2e6),)}, "limits of gbw"),
        ({"limits": (Limits("gain", lowest=1.0),)}, "limits of gain"),
        ({"limits": (Limits("gbw"), Limits("gbw"))}, "limits of gbw"),
    ],
)
def test_contradiction_is_named_with_a_remedy(fault, named):
    with pytest.raises(QuantityError) as caught:
        OpAmp(**{"name": "a", "gbw": 1e6, **fault})
    assert caught.value.quantity == f"op-amp a, {named}"
    assert caught.value.remedy


def test_record_shows_its_headline_figures():
    full = OpAmp("a", 9e5, supply_min=3.0, supply_max=32.0, title="bipolar", source="invented", slew_rate=4e5)
    assert repr(full) == (
        "op-amp a (bipolar): rail 3 V to 32 V, gain-bandwidth 900 kHz, other figures given: 2; invented"
    )
    assert repr(OpAmp("b", 1e6)).startswith("op-amp b: rail from 0 V, gain-bandwidth 1 MHz")
