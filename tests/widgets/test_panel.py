"""The Python half of the panel: messages in, messages out, no browser."""

import threading

import pytest

import singlerail_nb as sr
from singlerail_nb.errors import QuantityError, UnknownNameError
from singlerail_nb.widgets import choosers
from singlerail_nb.widgets.computed import Computed
from singlerail_nb.widgets.controls import Chooser, Slider
from singlerail_nb.widgets.panel import panel
from singlerail_nb.widgets.views import readouts, response
from tests.circuits_for_tests import FULL_CASES, random_stage


class Wire:
    """Keeps what a panel sends, and speaks to it as the browser does."""

    def __init__(self, shown):
        self.shown = shown
        self.sent = []
        self.done = threading.Event()
        shown.send = self._keep

    def _keep(self, message, buffers=None):  # noqa: ARG002 -- the signature of the widget
        self.sent.append(message)
        if message["type"] in {"result", "failed"}:
            self.done.set()

    def say(self, **content):
        self.shown._wire.received(content)
        return self.sent[-1]

    def state(self, seq=1, **values):
        snapshot = self.shown.stage_model.snapshot()
        snapshot["values"] = {**snapshot["values"], **values}
        return self.say(type="state", origin="view-1", seq=seq, state=snapshot)


@pytest.fixture
def wire(stage, limits):
    return Wire(panel(stage, limits=limits))


def test_a_state_is_taken_over_and_confirmed(wire):
    told = wire.state(seq=7, c_in=1e-6)
    assert wire.shown.stage.values["c_in"] == 1e-6
    assert (told["type"], told["origin"], told["seq"], told["errors"]) == ("confirmed", "view-1", 7, [])
    assert told["figures"]["low_cutoff"] == wire.shown.stage.transfer("signal", "output").low_cutoff()
    assert len(wire.sent) == 1


def test_a_refused_state_leaves_the_stage_and_tells_why(wire, stage):
    told = wire.state(c_in=-1.0)
    assert wire.shown.stage == stage
    assert told["errors"][0]["part"] == "c_in"
    assert told["state"]["values"]["c_in"] == 220e-9


def test_an_unknown_message_is_raised_and_told(wire):
    with pytest.raises(KeyError):
        wire.say(type="sing")
    assert "KeyError" in wire.sent[-1]["errors"][0]["text"]


def test_code_moves_the_browser(wire):
    wire.shown.set("c_in", "1u")
    assert wire.sent[-1]["origin"] == "kernel"
    assert wire.sent[-1]["state"]["values"]["c_in"] == 1e-6
    wire.shown.undo()
    assert wire.sent[-1]["state"]["values"]["c_in"] == 220e-9


def test_another_circuit_sends_a_new_description(wire):
    wire.shown.set("c_f", "100p")
    assert wire.sent[-1]["type"] == "payload"
    assert "c_f" in [part["name"] for part in wire.sent[-1]["payload"]["parts"]]


def test_infinite_figures_do_not_reach_json():
    wire = Wire(panel(sr.stage("follower", supply=5, c_in="1u", r_bias="100k", r_top="10k", r_bottom="10k",
                               c_bias="10u", r_source=0)))  # fmt: skip
    assert wire.state()["errors"] == []
    assert all(value is None or abs(value) < float("inf") for value in wire.sent[-1]["figures"].values())


def test_choosers(stage):
    fast = sr.OpAmp("invented fast one", 50e6, 1e5, source="invented")
    options = {
        "ideal": lambda s: sr.stage(s.name, supply=s.supply, **s.values),
        "fast": lambda s: sr.stage(s.name, supply=s.supply, opamp=fast, **s.values),
    }
    wire = Wire(panel(stage, controls=["c_in", Chooser("opamp", "Op-amp", options)]))
    wire.say(type="choose", name="opamp", option="fast")
    assert wire.shown.stage.opamp == fast
    assert wire.sent[-1]["payload"]["choosers"][0]["value"] == "fast"
    with pytest.raises(UnknownNameError, match="opamp: slow"):
        wire.shown.choose("opamp", "slow")


def test_a_panel_of_ones_own(stage):
    shown = panel(
        stage, controls=[Slider("c_in", series="E6", low="10n", high="1u")], views=[readouts(), response()]
    )
    parts = {part["name"]: part for part in shown.payload["parts"]}
    assert [name for name, part in parts.items() if part["adjustable"]] == ["c_in"]
    assert parts["c_in"]["grid"] == {"mantissas": (10, 15, 22, 33, 47, 68), "min": 1e-8, "max": 1e-6}
    assert [view["kind"] for view in shown.payload["views"]] == ["readouts", "curves"]


def test_a_slider_for_a_part_that_is_not_there_is_refused(stage):
    with pytest.raises(UnknownNameError, match="c_inn"):
        panel(stage, controls=["c_inn"])
    with pytest.raises(UnknownNameError, match="r_in"):
        panel(stage, controls=[Slider("r_in")])


@pytest.mark.parametrize(
    "wrong", [{"views": ["readouts"]}, {"views": [readouts]}, {"controls": [choosers.rail_chooser]}]
)
def test_what_is_no_view_and_no_control_is_refused_with_what_to_write(stage, wrong):
    with pytest.raises(QuantityError, match="Call the function"):
        panel(stage, **wrong)


def test_one_control_and_one_view_need_no_list(stage):
    shown = panel(stage, controls="c_in", views=readouts())
    assert [slider.part for slider in shown.controls] == ["c_in"]
    assert [view["kind"] for view in shown.payload["views"]] == ["readouts"]


def slow(stage, progress):
    for k in range(3):
        progress(k / 3, f"board {k}")
    return {
        "rows": [{"label": "gain", "value": stage.transfer("signal", "output").midband_gain(), "unit": "V/V"}]
    }


def endless(_stage, progress):
    while True:
        progress(0.5, "")


def broken(_stage, progress):
    progress(0.1, "")
    raise ZeroDivisionError("no boards")


def computed(stage, compute):
    view = Computed(title="Boards", compute=compute)
    return Wire(panel(stage, views=[readouts(), view])), view.id


def test_slow_work_reports_progress_and_its_result(stage):
    wire, name = computed(stage, slow)
    wire.say(type="compute", view=name)
    assert wire.done.wait(10)
    assert [message["type"] for message in wire.sent] == ["progress"] * 4 + ["result"]
    assert wire.sent[-1]["data"]["rows"][0]["value"] == pytest.approx(39.81, rel=1e-3)
    assert wire.sent[-1]["view"] == name


def test_slow_work_can_be_cancelled(stage):
    wire, name = computed(stage, endless)
    wire.say(type="compute", view=name)
    wire.say(type="cancel", view=name)
    assert wire.done.wait(10)
    assert wire.sent[-1]["text"] == "Cancelled."


@pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")
def test_a_failure_of_slow_work_is_told(stage):
    wire, name = computed(stage, broken)
    wire.say(type="compute", view=name)
    assert wire.shown._wire.jobs[name].wait(10)
    assert wire.sent[-1]["text"] == "ZeroDivisionError: no boards"


def test_markup_is_made_when_its_tab_is_opened(wire):
    views = {view["kind"]: view for view in wire.shown.payload["views"]}
    assert views["schematic"]["markup"] is None
    told = wire.say(type="open", view=views["schematic"]["id"])
    assert told["markup"].startswith("<svg")
    assert 'data-part="c_in"' in told["markup"]
    assert "<math" in wire.say(type="open", view=views["derivation"]["id"])["markup"]


def test_the_bundle_reads_well_without_a_script(wire):
    data, metadata = wire.shown._repr_mimebundle_()
    assert set(data) == {"text/plain", "image/png", "application/vnd.jupyter.widget-view+json"}
    assert data["text/plain"] == metadata["image/png"]["alt"] == wire.shown.summary()
    assert "Low-end cut-off: 39.87 Hz" in data["text/plain"]


def test_the_bundle_is_the_same_every_time(stage, limits):
    bundles = [panel(stage, limits=limits)._repr_mimebundle_()[0] for _ in range(2)]
    assert bundles[0]["text/plain"] == bundles[1]["text/plain"]
    assert bundles[0]["image/png"] == bundles[1]["image/png"]


@pytest.mark.parametrize("case", FULL_CASES, ids=str)
def test_every_stage_of_the_registry_has_a_panel(case):
    shown = panel(random_stage(case))
    assert shown.payload["programs"]
    assert "Mid-band gain" in shown.summary()
