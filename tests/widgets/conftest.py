"""The stage that the panel tests share, and a panel without a browser."""

import pytest

import singlerail_nb as sr
from singlerail_nb.widgets.figures import Limit
from singlerail_nb.widgets.model import StageModel


@pytest.fixture
def stage():
    """Return the input stage of the hive monitor."""
    return sr.stage(
        "noninverting", supply=9, r_source="220", c_in="220n", r_bias="47k", r_top="33k", r_bottom="33k",
        c_bias="10u", r_f="39k", r_g="1k", c_g="4u7", c_out="4u7", r_load="10k",
    )  # fmt: skip


@pytest.fixture
def limits():
    """Return two requirements that the stage keeps."""
    return (Limit("midband_gain", "within", (36.0, 44.0)), Limit("low_cutoff", "at most", 60.0))


@pytest.fixture
def model(stage, limits):
    return StageModel(stage, limits=limits)
