"""Nominal tolerances do not tile the decade from E12 up.

Source: IEC 60063 series with their customary tolerances (20 % for E6, 10 % for E12, 5 % for E24), as
secondary pages give them; the standard itself was not read.  The largest gaps are computed from the series.
"""

from itertools import pairwise

import pytest

from singlerail_nb.analysis.tolerance_inputs import PartTolerance
from singlerail_nb.designing.preferred_values import half_gap, series


def uncovered(name, tolerance):
    """Return the neighbours whose tolerance bands do not meet."""
    low, high = PartTolerance(initial=(-tolerance, tolerance)).factors
    figures = [*series(name), 10 * series(name)[0]]
    return [(a, b) for a, b in pairwise(figures) if a * high < b * low * (1 - 1e-12)]


@pytest.mark.parametrize(("name", "tolerance"), [("E12", 0.1), ("E24", 0.05), ("E48", 0.02), ("E96", 0.01)])
def test_bands_leave_gaps(name, tolerance):
    assert uncovered(name, tolerance)
    assert half_gap(name) > tolerance


@pytest.mark.parametrize(("name", "tolerance"), [("E3", 0.4), ("E6", 0.2)])
def test_bands_of_the_coarse_series_meet(name, tolerance):
    assert not uncovered(name, tolerance)
