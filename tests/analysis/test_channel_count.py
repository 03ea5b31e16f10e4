"""A summer by the number of its channels: hand formulas, and all channels drawn out."""

import math

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.bias_load import bias_load
from singlerail_nb.analysis.channel_count import by_channels, with_channels
from singlerail_nb.analysis.network import Network
from singlerail_nb.analysis.noise import noise
from singlerail_nb.analysis.part_values import present
from singlerail_nb.circuit.nodal_analysis import InputError
from singlerail_nb.circuit.summing import summing_circuit
from singlerail_nb.errors import QuantityError, UnknownNameError

ONE = {"r_source": 1e3, "c_in": 4.7e-6, "r_in": 22e3}
REST = {"r_f": 47e3, "r_top": 33e3, "r_bottom": 33e3, "c_bias": 22e-6, "c_out": 4.7e-6, "r_load": 10e3}
SHARE = 47 / 23


def summer(name="coupled_summer", **changes):
    """Return a summer of three hive channels."""
    three = {f"{part}{n}": value for part, value in ONE.items() for n in ("", "_2", "_3")}
    if name == "summer":
        three = {part: value for part, value in three.items() if not part.startswith("c_in")}
    return sr.stage(name, supply=9, **{**three, **REST, **changes})


@pytest.mark.parametrize("channels", [1, 2, 3, 8, 24])
def test_noise_gain_by_hand(channels):
    (count,) = by_channels(summer(), [channels])
    assert count.noise_gain == pytest.approx(1 + channels * SHARE, rel=1e-6)
    assert count.dc_noise_gain == pytest.approx(1.0, rel=1e-12)
    (direct,) = by_channels(summer("summer"), [channels])
    assert direct.dc_noise_gain == pytest.approx(1 + channels * SHARE, rel=1e-12)


def test_three_of_three_are_the_stage_itself():
    stage = summer(opamp=sr.opamp("GPB"))
    network, f = with_channels(stage, 3), np.geomspace(1, 1e6, 9)
    for source in ("signal", "supply", InputError("opamp")):
        assert network.transfer(source, "output")(f) == pytest.approx(
            stage.transfer(source, "output")(f), rel=1e-9
        )
    assert noise(network).density(1e3) == pytest.approx(noise(stage).density(1e3), rel=1e-9)


def test_five_channels_drawn_out():
    values = REST | {f"{part}{n}": v for part, v in ONE.items() for n in ("", "_2", "_3", "_4", "_5")}
    circuit = present(summing_circuit("five", coupled=True, channels=5), values)
    whole = Network(circuit, values, None, 9.0)
    ours = with_channels(summer(), 5)
    for f in (3.0, 200.0, 15e3):
        assert ours.transfer("signal", "output")(f) == pytest.approx(
            whole.transfer("signal", "output")(f), rel=1e-9
        )
        everyone = sum(whole.transfer(f"signal_{n}", "output")(f) for n in (2, 3, 4, 5))
        assert ours.transfer("signal_2", "output")(f) == pytest.approx(everyone, rel=1e-9)
    assert noise(ours).density(1e3) == pytest.approx(noise(whole).density(1e3), rel=1e-9)


def test_every_channel_costs_the_others_bandwidth_noise_and_ripple():
    table = by_channels(summer(opamp=sr.opamp("GPB")), [1, 2, 4, 8])
    tops = [count.bandwidth for count in table]
    gbw = sr.opamp("GPB").gbw
    assert tops == pytest.approx([gbw / (1 + n * SHARE) for n in (1, 2, 4, 8)], rel=2e-3)
    assert all(np.diff([count.noise for count in table]) > 0)
    # All plugged, the rail's ripple on the bias is amplified by the noise gain.
    r_th, s = 16.5e3, 2j * math.pi * 100.0
    bias = abs(0.5 / (1 + s * r_th * 22e-6))
    assert table[1].ripple == pytest.approx(bias * (1 + 2 * SHARE), rel=0.01)
    assert repr(table).count("\n") == 4
    assert table._repr_markdown_().count("|") > 20


def test_stages_without_channels_and_senseless_numbers():
    with pytest.raises(UnknownNameError, match="channels"):
        with_channels(sr.stage("follower", supply=9, r_source=0, c_in="1u", r_bias="1k", bias="divider",
                               r_top="1k", r_bottom="1k"), 2)  # fmt: skip
    for wrong in (0, -1, 2.0):
        with pytest.raises(QuantityError, match="channels"):
            with_channels(summer(), wrong)


# What a DC current does to the bias node.


def test_a_reference_divider_under_a_converter():
    """6k8 and 10k on 5 V rest at 2.976 V; 75 uA to 300 uA take it to 2.67 V and below (seen on a real board:
    2.99 V sagging to 2.48 V under 75 uA to 300 uA, reported in a public issue thread)."""
    stage = sr.stage("follower", supply=5, r_source=0, c_in="1u", r_bias="100k", r_top="6k8", r_bottom="10k",
                     c_bias="10u")  # fmt: skip
    light, heavy = (bias_load(stage, current) for current in ("75 uA", "300 uA"))
    r_th = 6.8 * 10 / 16.8 * 1e3
    assert light.resting == pytest.approx(5 * 10 / 16.8, rel=1e-12)
    assert light.resistance == pytest.approx(r_th, rel=1e-12)
    assert light.moved == pytest.approx(-75e-6 * r_th, rel=1e-9)
    assert heavy.loaded < 2.48 < light.loaded
    assert light.largest_current("10 mV") == pytest.approx(0.01 / r_th, rel=1e-12)
    assert "75 µA" in repr(light)


def test_a_buffered_node_does_not_move():
    stage = sr.stage("follower", supply=5, bias="buffered_divider", r_source=0, c_in="1u", r_bias="100k",
                     r_top="6k8", r_bottom="10k", c_bias="10u")  # fmt: skip
    load = bias_load(stage, "1 mA")
    assert load.moved == 0.0
    with pytest.raises(QuantityError, match="bias node"):
        load.largest_current(0.1)
    with pytest.raises(QuantityError, match="allowed"):
        bias_load(summer()).largest_current(-1)
