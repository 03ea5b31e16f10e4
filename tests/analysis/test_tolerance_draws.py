"""How values are spread between their limits."""

import numpy as np
import pytest

from singlerail_nb.analysis.tolerance_draws import Binned, TruncatedNormal, Uniform, read_distribution
from singlerail_nb.errors import QuantityError, UnknownNameError

ALL = [Uniform(), TruncatedNormal(), TruncatedNormal(1.0), Binned(0.0), Binned(0.5), Binned(0.9)]


@pytest.mark.parametrize("distribution", ALL, ids=repr)
def test_draws_keep_their_limits_and_their_variance(distribution):
    drawn = distribution.draw(np.random.default_rng(1), 200_000)
    assert np.abs(drawn).max() <= 1.0
    assert drawn.mean() == pytest.approx(0.0, abs=0.01)
    assert drawn.var() == pytest.approx(distribution.variance, rel=0.01)


def test_binned_has_no_middle():
    drawn = Binned(0.5).draw(np.random.default_rng(2), 10_000)
    assert np.abs(drawn).min() >= 0.5


def test_a_wide_cut_is_no_cut():
    assert TruncatedNormal(8.0).variance == pytest.approx(1 / 64, rel=1e-9)
    assert TruncatedNormal(0.01).variance == pytest.approx(1 / 3, rel=1e-3)


def test_bad_distributions():
    with pytest.raises(UnknownNameError, match="Did you mean 'uniform'"):
        read_distribution("unifrom")
    with pytest.raises(QuantityError, match="sigmas"):
        TruncatedNormal(0.0)
    with pytest.raises(QuantityError, match="removed"):
        Binned(1.0)
