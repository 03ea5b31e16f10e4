"""The picture of a fault shows what its numbers say."""

import numpy as np
import pytest

from singlerail_nb.errors import UnknownNameError
from singlerail_nb.fault_finding.bench import Bench
from singlerail_nb.fault_finding.catalogue import fault_named
from singlerail_nb.plots.picture import new_axes
from singlerail_nb.plots.symptoms import draw_node_volts, node_volts, screens, symptom_picture
from tests.sensible_stages import SENSIBLE

STAGE = SENSIBLE["noninverting, GPB"]


@pytest.fixture(scope="module")
def bench():
    return Bench.of(STAGE)


def test_every_node_of_the_meter_is_on_the_axis(bench):
    rows = node_volts(bench, fault_named(STAGE, "c_g short"))
    assert [row.node for row in rows] == [n for n in STAGE.circuit.nodes if n != "signal"]
    _, (ax,) = new_axes()
    draw_node_volts(ax, rows, STAGE.supply)
    dots = [line.get_ydata()[0] for line in ax.lines if line.get_marker() == "o"]
    assert dots == [row.broken.value for row in rows]
    moved = [row for row in rows if abs(row.broken.value - row.sound.value) > 0.18]
    assert len(ax.texts) == len(moved)


def test_the_screen_shows_the_sound_wave_and_a_stuck_one(bench):
    time, sound, broken = screens(bench, fault_named(STAGE, "c_g short"), "amp_out")
    assert time.shape == sound.shape == broken.shape
    assert np.ptp(sound) == pytest.approx(1.99, abs=0.02)
    assert np.ptp(broken) == 0.0
    assert broken[0] == pytest.approx(7.59, abs=0.01)


def test_behind_the_output_capacitor_a_cut_wave_has_no_mean(bench):
    _, _, broken = screens(bench, fault_named(STAGE, "r_top is 330 kΩ"), "output")
    assert np.mean(broken) == pytest.approx(0.0, abs=2e-3)
    assert np.ptp(broken) > 0.5


def test_without_a_loop_the_output_is_flat_and_the_input_still_moves(bench):
    fault = fault_named(STAGE, "r_f open")
    assert np.ptp(screens(bench, fault, "amp_out")[2]) < 1e-3
    assert np.ptp(screens(bench, fault, "plus")[2]) == pytest.approx(bench.amplitude, rel=0.05)


def test_the_picture_states_its_numbers():
    picture = symptom_picture(STAGE, "c_g short", node="amp_out")
    assert "amp_out: 4.5 V on the sound board, 7.59 V on this one" in picture.text
    assert picture.text.startswith("The gain leg goes to ground without a capacitor")
    assert picture.png().startswith(b"\x89PNG")
    with pytest.raises(UnknownNameError):
        symptom_picture(STAGE, "c_g shorted")
