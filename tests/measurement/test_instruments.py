"""What an instrument does to what it measures, against hand formulas."""

import math

import pytest

import singlerail_nb as sr
from singlerail_nb.errors import QuantityError, UnknownNameError
from singlerail_nb.measurement.instruments import INSTRUMENTS, PROBE, Instrument, instrument, loaded

STAGE = sr.stage(
    "noninverting", supply=9, r_source="1k", c_in="220n", r_bias="47k", r_top="1M", r_bottom="1M",
    c_bias="10u", r_f="39k", r_g="1k", c_g="4u7", c_out="4u7", r_load="10k",
)  # fmt: skip


@pytest.mark.parametrize(("name", "low_by"), [("meter", 0.5 / 10.5), ("scope_1x", 0.5 / 1.5)])
def test_a_node_of_500_kilohm_is_pulled_down(name, low_by):
    seen = loaded(STAGE, "bias", name).transfer("supply", PROBE)(0.0).real
    assert seen == pytest.approx(0.5 * (1.0 - low_by), rel=1e-9)


def test_an_ac_coupled_input_hides_dc_and_adds_its_corner():
    known = INSTRUMENTS["scope_1x_ac"]
    seen = loaded(STAGE, "amp_out", known)
    corner = 1.0 / (2.0 * math.pi * known.resistance * known.coupling)
    assert seen.transfer("supply", PROBE)(0.0) == 0
    at = seen.transfer("signal", PROBE)(corner) / STAGE.transfer("signal", "amp_out")(corner)
    assert abs(at) == pytest.approx(math.sqrt(0.5), rel=0.01)  # its capacitance divides a little as well
    assert corner == pytest.approx(10.0, rel=0.01)


def test_the_circuit_keeps_its_own_nodes():
    seen = loaded(STAGE, "output", "scope_10x")
    assert seen.transfer("signal", "output")(1e3) == seen.transfer("signal", PROBE)(1e3)
    assert STAGE.transfer("signal", "output")(1e3) != seen.transfer("signal", "output")(1e3)


def test_wrong_instruments_are_refused():
    with pytest.raises(UnknownNameError, match="scope_10x"):
        instrument("scope_10")
    with pytest.raises(QuantityError, match="accuracy"):
        Instrument("own", "own", 1e6, accuracy=3.0)
    with pytest.raises(UnknownNameError, match="node"):
        loaded(STAGE, "nowhere", "meter")
