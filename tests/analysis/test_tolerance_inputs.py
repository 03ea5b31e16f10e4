"""Tolerances read from numbers, text, pairs and records."""

import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.tolerance_inputs import (
    PartTolerance,
    read_tolerance,
    temperature_limits,
    tolerance_set,
)
from singlerail_nb.errors import QuantityError

STAGE = sr.stage(
    "follower", supply=9, r_source=0, c_in="1u", r_bias="100k", r_top="10k", r_bottom="10k", c_bias="10u"
)


@pytest.mark.parametrize("given", [0.05, "5 %", (-0.05, 0.05), PartTolerance(initial=(-0.05, 0.05))])
def test_ways_to_write_five_per_cent(given):
    assert read_tolerance("c_in", given).factors == pytest.approx((0.95, 1.05))


def test_causes_multiply():
    part = PartTolerance((-0.1, 0.1), (-0.15, 0.15), (-0.04, 0.0), (-0.7, -0.1))
    assert part.factors == pytest.approx((0.9 * 0.85 * 0.96 * 0.3, 1.1 * 1.15 * 0.9))


def test_one_number_means_every_part_but_no_wire():
    assert set(tolerance_set(STAGE, 0.05).parts) == {"c_in", "r_bias", "r_top", "r_bottom", "c_bias"}


def test_groups_and_names():
    parts = tolerance_set(STAGE, {"resistors": 0.01, "r_bias": 0.05, "c_in": 0.0}).parts
    assert {name: round(part.factors[1], 6) for name, part in parts.items()} == {
        "r_bias": 1.05, "r_top": 1.01, "r_bottom": 1.01,
    }  # fmt: skip


def test_temperature_coefficient_over_a_range():
    assert temperature_limits(100e-6, -40, 85) == pytest.approx((-6.5e-3, 6.5e-3))
    with pytest.raises(QuantityError, match="lowest first"):
        temperature_limits(100e-6, 85, -40)


@pytest.mark.parametrize("given", [(0.1, -0.1), (0.1,), "5", "lots"])
def test_unreadable_tolerances(given):
    with pytest.raises(QuantityError):
        read_tolerance("c_in", given)
