"""Bias sources side by side: the picture shows what the table and the network say."""

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.designing.bias_table import spoken
from singlerail_nb.errors import QuantityError
from singlerail_nb.plots.bias_sources import bias_sources_data, bias_sources_picture, draw_impedance
from singlerail_nb.plots.picture import new_axes
from tests.referee import solve_numpy


@pytest.fixture(scope="module")
def table():
    """Return the bias sources of the hum channel on the rail of the farm vehicle."""
    stage = sr.stage(
        "noninverting", supply=12, r_source="2k2", c_in="68n", r_bias="47k", r_f="82k", r_g="2k", c_g="6u8",
        r_top="30k", r_bottom="30k", c_bias="2u2", opamp=sr.opamp("GPB"),
    )  # fmt: skip
    return sr.bias_comparison(stage, sr.BiasConditions.on(sr.supply_rail("vehicle")))


@pytest.mark.parametrize("source", ["connected", "open"])
def test_the_curves_go_through_the_numbers_of_the_table(table, source):
    low, high = table.conditions.lines[0], table.conditions.lines[-1]
    data = bias_sources_data(table, source, low, high)
    assert list(data.passed_on.paths) == [spoken(row.name) for row in table.rows]
    for row, height in zip(table.rows, data.passed_on.paths.values(), strict=True):
        rejected = row.rejection_db if source == "connected" else row.open_rejection_db
        assert height[[0, -1]] == pytest.approx([-rejected[0], -rejected[-1]], abs=1e-9)


def test_the_impedance_is_that_of_the_network(table):
    data = bias_sources_data(table, low=10.0, high=1e5)
    for row, ohms in zip(table.rows, data.impedance.values(), strict=True):
        for i in (0, 200, 399):
            volts = solve_numpy(row.stage, data.passed_on.frequency[i], into="bias")["bias"][0]
            assert ohms[i] == pytest.approx(abs(volts), rel=1e-6)


def test_impedances_are_drawn_as_powers_of_ten(table):
    data = bias_sources_data(table)
    _, (ax,) = new_axes()
    draw_impedance(ax, data.passed_on.frequency, data.impedance)
    for line, ohms in zip(ax.lines, data.impedance.values(), strict=True):
        assert 10.0 ** np.asarray(line.get_ydata()) == pytest.approx(ohms)
    assert {text.get_text() for text in ax.texts} == set(data.impedance)
    styles = {(line.get_color(), line.get_linestyle(), str(line._dash_pattern)) for line in ax.lines}
    assert len(styles) == len(table.rows)
    assert all(text.get_text().endswith("Ω") for text in ax.get_yticklabels())


def test_the_words_name_every_source_with_its_numbers(table):
    lines = bias_sources_picture(table, "open").text.splitlines()
    for row, line in zip(table.rows, lines, strict=True):
        assert line.startswith(spoken(row.name))
        assert f"{-row.open_rejection_db[0]:.1f} dB at 100 Hz" in line
        assert "at 2 kHz" in line


def test_an_empty_range_is_refused(table):
    with pytest.raises(QuantityError, match="frequency range"):
        bias_sources_data(table, low=10.0, high=10.0)
