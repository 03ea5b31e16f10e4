"""A frozen version stays when another circuit, op-amp or rail is chosen, and can be drawn beside it."""

import pytest

from singlerail_nb.widgets.choosers import bias_chooser, opamp_chooser, topology_chooser
from singlerail_nb.widgets.panel import panel
from tests.widgets.test_panel import Wire
from tests.widgets.view_script import run

BODY = """
  const source = data.frozen ?? data;
  const made = source.programs.map((text) => new Function(`return ${text}`)());
  const functions = view.networkFunctions(made, { ...source.constants, ...data.values });
  return view.measureAll(functions, source.figures);
"""


@pytest.fixture
def bench(stage, limits):
    return panel(stage, limits=limits, controls=[topology_chooser(), bias_chooser(), opamp_chooser(), "c_in"])


@pytest.mark.parametrize(
    ("chooser", "option"),
    [("bias", "Zener"), ("opamp", "GPB, invented"), ("topology", "Inverting stage")],
)
def test_the_browser_can_evaluate_the_frozen_version(node, tmp_path, bench, stage, chooser, option):
    expected = bench.stage_model.figures
    bench.freeze()
    bench.choose(chooser, option)
    assert bench.stage_model.frozen == stage
    frozen = bench.payload["frozen"]
    found = run(node, tmp_path, BODY, {"frozen": frozen, "values": dict(stage.values)})
    for name in ("midband_gain", "low_cutoff", "ripple_output", "rest"):
        assert found[name] == pytest.approx(expected[name], rel=1e-9)
    assert any(view["kind"] == "curves" for view in frozen["views"].values())
    assert frozen["identity"] != bench.payload["identity"]


def test_a_state_from_the_browser_leaves_the_other_version_alone(bench, stage):
    wire = Wire(bench)
    bench.freeze()
    bench.choose("bias", "Zener")
    told = wire.state(c_in=1e-6)
    assert told["errors"] == []
    assert told["state"]["another"] is True
    assert bench.stage_model.frozen == stage
    assert bench.stage.values["c_in"] == 1e-6


def test_releasing_and_freezing_anew_end_the_comparison_of_kinds(bench):
    bench.freeze()
    bench.choose("bias", "Zener")
    bench.freeze()
    assert not bench.stage_model.frozen_is_another
    bench.choose("bias", "Plain divider")
    bench.release()
    assert bench.stage_model.frozen is None
    assert "frozen" not in bench._describe()


def test_pieces_follow_the_topology(bench):
    def titles():
        views = {view["title"]: view for view in bench.payload["views"]}
        return [curve["label"] for curve in views["Pieces"]["plots"][0]["curves"]]

    assert titles() == ["whole stage", "signal to plus", "plus to amp_out", "amp_out to output"]
    bench.freeze()
    bench.choose("topology", "Inverting stage")
    assert "plus to amp_out" not in titles()
    frozen = bench.payload["frozen"]["views"]["curves Pieces"]["plots"][0]
    assert frozen["curves"][2]["label"] == "plus to amp_out"
