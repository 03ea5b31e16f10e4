"""The ripple that the browser adds up from its network functions is Python's, way by way."""

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.supply_rejection import supply_rejection
from singlerail_nb.circuit.supplies import supply_rail
from singlerail_nb.widgets.functions import programs
from singlerail_nb.widgets.model import StageModel
from singlerail_nb.widgets.ripple_view import ripple_curves
from singlerail_nb.widgets.views import rail_ripple
from tests.circuits_for_tests import FULL_CASES, random_stage
from tests.widgets.view_script import run

FREQUENCIES = [0.1, 7.0, 50.0, 100.0, 1e3, 2e4, 1e6]
BODY = """
  return data.map(({ made, values, curves, hertz }) => {
    const functions = view.networkFunctions(made.map((text) => new Function(`return ${text}`)()), values);
    return curves.map((terms) => [...view.sampleSum(functions, terms, hertz)]);
  });
"""


def in_browser(node, folder, stages):
    """Return decibels by stage, curve and frequency, as the view script computes them."""
    data = []
    for stage in stages:
        curves = [curve for curve in ripple_curves(stage) if curve.terms]
        names = [name for curve in curves for name in curve.functions]
        terms = [curve.describe()["terms"] for curve in curves]
        data.append(
            {
                "made": programs(stage, names),
                "values": stage.parameters,
                "curves": terms,
                "hertz": FREQUENCIES,
            }
        )
    return run(node, folder, BODY, data)


def test_every_way_is_that_of_the_analysis(node, tmp_path, stage):
    real = sr.stage(stage.name, supply=9, opamp=sr.opamp("GPB"), **stage.values)
    assert [curve.label for curve in ripple_curves(real)] == [
        "bias node", "bias path", "op-amp path", "sum", "sum, source open",
    ]  # fmt: skip
    (shown,) = in_browser(node, tmp_path, [real])
    closed, opened = supply_rejection(real), supply_rejection(real, source="open")
    for found, path in zip(
        shown, [closed.bias_path, closed.opamp_path, closed.total, opened.total], strict=True
    ):
        assert found == pytest.approx(path.magnitude_db(np.array(FREQUENCIES)), abs=1e-7)


def test_every_stage(node, tmp_path):
    stages = [random_stage(case) for case in FULL_CASES]
    for stage, shown in zip(stages, in_browser(node, tmp_path, stages), strict=True):
        expected = np.abs(supply_rejection(stage).total(np.array(FREQUENCIES)))
        place = [c.label for c in ripple_curves(stage) if c.terms].index(
            "sum" if supply_rejection(stage).opamp_path.terms else "output"
        )
        found = [0.0 if value in ("-Infinity", None) else 10 ** (value / 20) for value in shown[place]]
        assert found == pytest.approx(expected, rel=1e-8, abs=1e-18)


def test_lines_of_the_rail_and_words(stage):
    model = StageModel(stage, rail=supply_rail("bench"))
    shown = rail_ripple().describe(model)
    assert shown["lines"] == [{"frequency": 100.0, "volts": 5e-3}, {"frequency": 120.0, "volts": 5e-3}]
    assert shown["plots"][0]["curves"][shown["lines_curve"]]["label"] == "output"
    decibels = supply_rejection(stage).total.magnitude_db(100.0)
    assert f"sum {decibels:.3g} dB" in rail_ripple().sentence(model)
