"""Crosstalk through a shared bias node: hand formulas, the referee, decoupling, open jacks, many channels."""

import math

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.channel_count import with_channels
from singlerail_nb.analysis.crosstalk import crosstalk
from singlerail_nb.errors import QuantityError, UnknownNameError
from tests.referee import solve_numpy

ONE = {"r_source": 2.2e3, "c_in": 150e-9, "r_bias": 82e3, "c_out": 4.7e-6, "r_load": 12e3}
DIVIDER = {"r_top": 56e3, "r_bottom": 47e3, "c_bias": 6.8e-6}
F = np.geomspace(1.0, 20e3, 7)


def hives(**changes):
    """Return two equal channels of a hive monitor on one bias."""
    both = {f"{name}{n}": value for name, value in ONE.items() for n in ("", "_2")}
    return sr.stage("two_channels", supply=9, **{**DIVIDER, **both, **changes})


def by_hand(f, *, channels=2, connected=True, bias=None):
    """Return what is heard when ``channels - 1`` others speak, with the loading of the bias node by all."""
    s = 2j * np.pi * f
    r_th = 56e3 * 47e3 / 103e3
    node = 1 / r_th + s * 6.8e-6 if bias is None else bias(s)
    source = 2.2e3 + 1 / (s * 150e-9)
    own = 1 / (82e3 + source) if connected else 0.0
    v_bias = (channels - 1) / 82e3 / (node + own + (channels - 1) / 82e3)
    return v_bias * (source * own if connected else 1.0)


def test_connected_and_open_by_hand():
    assert crosstalk(hives())(F) == pytest.approx(by_hand(F), rel=1e-9)
    assert crosstalk(hives(), source="open")(F) == pytest.approx(by_hand(F, connected=False), rel=1e-9)


def test_the_independent_equations_agree():
    stage = hives(opamp=sr.opamp("PRC"), c_in_2="330n", r_bias_2="47k")
    volts = solve_numpy(stage, F, source="signal_2")
    assert crosstalk(stage)(F) == pytest.approx(volts["output"] / volts["output_2"], rel=1e-8)
    assert crosstalk(stage, node="plus")(F) == pytest.approx(volts["plus"] / volts["plus_2"], rel=1e-8)


def test_it_goes_both_ways():
    stage = hives(c_in_2="330n")
    other = hives(c_in="330n")
    assert crosstalk(stage, 2, 1)(F) == pytest.approx(crosstalk(other, 1, 2)(F), rel=1e-12)


def test_an_open_jack_hears_more_and_high_notes_are_heard_less():
    levels = {state: crosstalk(hives(), source=state).magnitude_db(F) for state in ("connected", "open")}
    assert (levels["open"] > levels["connected"]).all()
    assert (np.diff(levels["open"]) < 0).all()
    # Connected, both the bias filter and the input capacitor take their share: 40 dB per decade.
    assert crosstalk(hives()).magnitude_db(100.0) - crosstalk(hives()).magnitude_db(10.0) < -26


@pytest.mark.parametrize("channels", [2, 3, 5, 16])
def test_many_channels_by_hand(channels):
    network = with_channels(hives(c_out=None, r_load=None, c_out_2=None, r_load_2=None), channels)
    assert crosstalk(network)(F) == pytest.approx(by_hand(F, channels=channels), rel=1e-9)


def test_three_channels_drawn_out_equal_the_two_in_parallel():
    """The exact circuit of three channels, two of them driven alike."""
    from singlerail_nb.analysis.network import Network
    from singlerail_nb.analysis.part_values import present
    from singlerail_nb.circuit.shared_bias import channels_circuit

    each = {k: v for k, v in ONE.items() if k not in ("c_out", "r_load")}
    values = DIVIDER | {f"{name}{n}": v for name, v in each.items() for n in ("", "_2", "_3")}
    whole = Network(present(channels_circuit("three", channels=3), values), values, None, 9.0)
    heard = sum(whole.transfer(source, "output")(F) for source in ("signal_2", "signal_3"))
    spoken = sum(whole.transfer(source, "output_2")(F) for source in ("signal_2", "signal_3"))
    pair = hives(c_out=None, r_load=None, c_out_2=None, r_load_2=None)
    assert crosstalk(with_channels(pair, 3))(F) == pytest.approx(heard / spoken, rel=1e-9)


def test_local_decoupling_adds_two_poles():
    """r_local 4k7 and c_local 22 uF in both channels: some 43 dB each at 200 Hz."""
    local = {f"{n}{k}": v for n, v in (("r_local", "4k7"), ("c_local", "22u")) for k in ("", "_2")}
    plain, decoupled = crosstalk(hives()), crosstalk(hives(**local))
    one = abs(1 / (1 + 2j * math.pi * 200.0 * 4.7e3 * 22e-6))
    expected = plain.magnitude_db(200.0) + 2 * 20 * math.log10(one)
    assert decoupled.magnitude_db(200.0) == pytest.approx(expected, abs=0.5)


def test_a_buffered_bias_is_deaf():
    both = {f"{name}{n}": value for name, value in ONE.items() for n in ("", "_2")}
    stiff = sr.stage(
        "two_channels", supply=9, bias="buffered_divider", opamp=sr.opamp("PRC"), **both, **DIVIDER
    )
    assert crosstalk(stiff).magnitude_db(20.0) < crosstalk(hives()).magnitude_db(20.0) - 60


def test_bad_input_is_named():
    with pytest.raises(QuantityError, match="speaking"):
        crosstalk(hives(), 1, 1)
    with pytest.raises(UnknownNameError, match="signal_3"):
        crosstalk(hives(), 1, 3)
    with pytest.raises(UnknownNameError, match="connected or open"):
        crosstalk(hives(), source="shorted")
    with pytest.raises(QuantityError, match="r_source"):
        crosstalk(hives(r_source=0), source="open")
