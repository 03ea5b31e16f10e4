"""What results say of themselves at a prompt: a few lines, each figure from the analysis."""

from dataclasses import replace

import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.network import Network
from singlerail_nb.analysis.startup_reports import thump
from singlerail_nb.circuit.builder import CircuitBuilder

PARTS = {"r_source": 600, "c_in": 330e-9, "r_bias": 100e3, "r_top": 100e3, "r_bottom": 100e3, "c_bias": 10e-6,
         "r_f": 100e3, "r_g": 10e3, "c_g": 10e-6, "c_out": 10e-6, "r_load": 10e3}  # fmt: skip


def monitor(amplifier="GPB"):
    return sr.stage("noninverting", supply=9, opamp=amplifier and sr.opamp(amplifier), **PARTS)


def lines_of(found):
    assert repr(found) == found.text
    return found.text.splitlines()


def test_noise_gives_the_audio_band_and_three_contributors():
    found = sr.noise(monitor())
    head, *rest = lines_of(found)
    assert f"{found.rms(20, 20e3) * 1e6:.4g} µVrms at the output, 20 Hz to 20 kHz" in head
    assert [line.split(":")[0].strip() for line in rest] == list(found.rms_by_source(20, 20e3))[:3]
    largest = max(found.rms_by_source(20, 20e3).values())
    assert f"{100 * largest**2 / found.rms(20, 20e3) ** 2:.3g} % of the power" in rest[0]


def test_noise_of_a_network_without_an_output_asks_for_a_node():
    b = CircuitBuilder("divider", ("signal", "tap"))
    b.resistor("r_one", "signal", "tap", "upper")
    b.resistor("r_two", "tap", "ground", "lower")
    found = sr.noise(Network(b.build(), {"r_one": 1e3, "r_two": 1e3}, None, 9.0))
    assert found.text == "Noise of 2 contributors at 300 K; ask for a node: noise.rms(20, 20e3, node)"


def test_startup_gives_each_node_its_time_the_peak_and_the_phases_at_a_limit():
    run = sr.startup(monitor(), ramp_time=1.0)
    head, _, *rows, peak, limits = lines_of(run)
    assert head == "Start-up of Non-inverting stage on 9 V"
    assert [row.split()[0] for row in rows] == ["bias", "amp_out", "output"]
    assert rows[0].endswith(f"{run.settling_time('bias'):.4g} s")
    assert rows[2].endswith(f"10 mV   {run.settling_time('output', volts=0.01):.4g} s")
    assert f"{thump(run).peak.volts * 1e3:.4g} mV" in peak
    assert limits.startswith("at a limit: opamp low from 0 s to ")
    assert limits.count(" from ") == len(run.saturated) == 2
    assert lines_of(sr.startup(monitor(None)))[-1] == "at a limit: no op-amp output"


def test_window_gives_swing_and_first_limit_at_every_rail():
    found = sr.window(monitor(), supply_min=6, supply_max=10)
    head, _, *rows, best = lines_of(found)
    assert head == "Output swing of opamp (GPB), mid-band load 9.17 kΩ"
    for row, rail in zip(rows, found.rails, strict=True):
        assert row.startswith(f"{rail.supply:g} V")
        assert f"{rail.swing:.4g} Vpp" in row
        assert row.endswith(rail.limited_by)
    assert best == f"Best bias point {found.best_places()}: {found.best_bias.swing:.4g} Vpp"
    assert found._repr_markdown_().count("|") == 5 * (2 + 3)


def test_window_that_is_shut_says_none_and_that_no_bias_helps():
    *_, row, best = lines_of(sr.window(replace(monitor(), supply=1.0)))
    assert "none" in row
    assert best == "No bias point serves every rail."


def test_rejection_gives_both_paths_at_mains_and_twice_mains():
    found = sr.supply_rejection(monitor())
    head, _, *rows = lines_of(found)
    assert head == "Supply rejection from the rail to output, source connected"
    for row, f in zip(rows, (50.0, 100.0), strict=True):
        paths = (found.bias_path, found.opamp_path, found.total)
        assert row.startswith(f"{f:g} Hz")
        assert all(f"{-path.magnitude_db(f):.4g} dB" in row for path in paths)
    assert found._repr_markdown_().startswith(f"**{head}**\n\n| line |")
    assert "nothing passes" in sr.supply_rejection(monitor(None)).text


def test_loop_gain_gives_crossover_margin_and_verdict():
    found = sr.loop_gain(monitor())
    first, last = lines_of(found)
    assert (
        f"crosses 1 at {found.crossover / 1e3:.4g} kHz with a phase margin of {found.phase_margin:.3g}°"
        in first
    )
    assert last.strip() == "closed loop: stable"


@pytest.mark.parametrize(
    "ask", [sr.noise, sr.startup, sr.window, sr.supply_rejection, sr.loop_gain, sr.operating_point]
)
def test_no_result_shows_its_data_class(ask):
    text = repr(ask(monitor()))
    assert 2 <= len(text.splitlines()) <= 12
    assert "(stage=" not in text
    assert "function=" not in text
