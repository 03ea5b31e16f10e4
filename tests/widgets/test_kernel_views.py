"""What the kernel's views tell is what the analysis says, for every stage, in a form that JSON can hold."""

import json

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.startup import brown_out, startup
from singlerail_nb.analysis.tolerance_runs import monte_carlo, worst_case
from singlerail_nb.analysis.window import window
from singlerail_nb.circuit.supplies import supply_rail
from singlerail_nb.errors import QuantityError, UnknownNameError
from singlerail_nb.quantities import write_quantity
from singlerail_nb.widgets import views
from singlerail_nb.widgets.answers import nice_above, plain, thinned
from singlerail_nb.widgets.computed import Choice, Computed, answer_of
from singlerail_nb.widgets.requirements import design_model
from singlerail_nb.widgets.spread_view import QUICK, SEED
from tests.circuits_for_tests import FULL_CASES, random_stage

FOLLOWING = (views.startup, views.volts_axis, views.noise, views.spread)


NEEDED = sr.Requirements(
    supply="9 V", supply_min="6 V", supply_max="9.6 V", gain=40, low_cutoff="60 Hz",
    input_impedance="47 kohm",
    source_resistance="2.2 kohm", load="10 kohm", opamp=sr.opamp("GPB"), output_swing="2 Vpp",
)  # fmt: skip


@pytest.fixture
def real(stage):
    """Return the stage with an op-amp that has every figure."""
    return sr.stage(stage.name, supply=stage.supply, opamp=sr.opamp("GPB"), **stage.values)


def told(view, stage, rail=None, **chosen):
    return view.work(rail, chosen)(stage, lambda *_: None)


def rows(answer):
    return {row["label"]: row["text"] for row in answer["rows"]}


def test_start_up_settles_when_the_analysis_says(real):
    run, answer = startup(real), told(views.startup(), real)
    settled = run.settling_time("output", volts=0.01 * real.supply)
    assert rows(answer)["output"] == f"rests at 0 V, settled after {write_quantity(settled, 's', 3)}"
    (plot,) = answer["plots"]
    curves = {curve["label"]: curve for curve in plot["curves"]}
    assert list(curves) == ["bias", "plus", "amp_out", "output", "rail"]
    bias = curves["bias"]
    assert bias["ys"] == pytest.approx(run.voltage("bias", bias["xs"]), rel=2e-3, abs=2e-3)
    assert plot["x"]["max"] >= max(run.settling_time(n, volts=0.09) for n in ("bias", "plus", "amp_out"))
    (phase,) = run.saturated
    assert plot["spans"] == [{"x0": phase.start, "x1": phase.end, "label": "saturated"}]


def test_start_up_knows_other_events_and_the_rise_of_the_rail(real):
    sag = told(views.startup(), real, event="rail sags to half for 100 ms")
    (plot,) = sag["plots"]
    rail = next(curve for curve in plot["curves"] if curve["label"] == "rail")
    assert min(rail["ys"]) == pytest.approx(4.5)
    run = brown_out(real, sag=4.5, duration=0.1)
    assert write_quantity(run.settling_time("bias", volts=0.09), "s", 3) in rows(sag)["bias"]
    slow = told(views.startup(), real, supply_rail("bench"))
    assert rows(slow)["Peak at the load"] != rows(told(views.startup(), real))["Peak at the load"]


def test_the_volts_axis_shows_every_rail(real):
    answer = told(views.volts_axis(), real, supply_rail("battery"))
    found = window(real, supply_min=6.0, supply_max=9.6)
    groups = answer["columns"][0]["groups"]
    assert [group["top"] for group in groups] == [6.0, 9.0, 9.6]
    assert [group["note"] for group in groups] == [write_quantity(r.swing, "Vpp", 3) for r in found.rails]
    output = groups[1]["columns"][0]["bars"][0]
    assert (output["low"], output["high"]) == found.rails[1].output_range
    assert "output high" in answer["summary"]
    best = found.best_bias
    places = zip((write_quantity(v, "V", 3) for v in best.volts), ("6 V", "9 V", "9.6 V"), strict=True)
    where = ", ".join(f"{volts} on the {rail} rail" for volts, rail in places)
    assert rows(answer)["Best bias point"].startswith(
        f"{where}; {write_quantity(best.swing, 'Vpp', 3)} on the"
    )


def test_a_rail_beyond_the_op_amp_is_told(real):
    answer = told(views.volts_axis(), sr.stage(real.name, supply=28, opamp=sr.opamp("PRC"), **real.values))
    assert any("outside the rails of op-amp PRC" in remark for remark in answer["remarks"])


def test_the_review_is_that_of_the_design_and_knows_mends_when_asked():
    made = sr.design(NEEDED)
    view = next(v for v in views.standard_views(design_model(made)) if v.title == "Review")
    answer = told(view, made.stage)
    (table,) = answer["tables"]
    assert [row[0] for row in table["rows"]] == [row.id for row in made.checks]
    assert [row[-1] for row in table["rows"]] == [row.status for row in made.checks]
    assert all(len(row) == len(table["head"]) for row in table["rows"])
    assert answer["summary"] == f"all {len(made.checks)} requirements hold at every rail"
    worse = made.stage.with_parts(c_in="10n")
    assert told(view, worse)["summary"] == "fails: R3"
    progress = []
    thorough = view.work(None, full=True)(worse, lambda *words: progress.append(words))
    assert thorough["remarks"][0].startswith("R3 would pass with c_in: at least")
    assert progress == [(0.0, "R3 low-end cut-off")]
    assert view.work(None, full=True)(made.stage, lambda *_: None)["remarks"][0].startswith("Nothing fails")


def test_noise_shares_add_up(real):
    answer = told(views.noise(), real, band="0.1 Hz to 10 Hz")
    assert rows(answer)["At output, in the band"] == write_quantity(sr.noise(real).rms(0.1, 10.0), "Vrms", 3)
    shares = [row["value"] for row in answer["bars"][0]["rows"]]
    assert 95.0 < sum(shares) <= 100.0 + 1e-9
    assert shares == sorted(shares, reverse=True)
    (plot,) = answer["plots"]
    total = plot["curves"][0]
    assert total["ys"] == pytest.approx(sr.noise(real).density(total["xs"]), rel=2e-3)


def test_the_spread_is_that_of_the_random_boards(real):
    answer = told(views.spread(), real, resistors="5 %", capacitors="20 %")
    kinds = {"resistor": 0.05, "capacitor": 0.2}
    boards = monte_carlo(real, QUICK, {p.name: kinds[p.kind] for p in real.circuit.parts}, seed=SEED)
    low, high = boards.percentiles("low_cutoff")
    expected = f"{write_quantity(low, 'Hz')} to {write_quantity(high, 'Hz')}"
    assert rows(answer)[f"Low-end cut-off, 98 % of {QUICK} boards"] == expected
    band = answer["plots"][0]["bands"][0]
    assert np.all(np.array(band["low"]) < np.array(band["high"]))


def test_the_slow_spread_reports_and_proves(real):
    shares = []
    work = views.spread().work(None, full=True)
    answer = work(real, lambda share, _text: shares.append(share))
    assert shares == sorted(shares)
    assert len(shares) > 5
    limits = worst_case(
        real, {p.name: {"resistor": 0.01, "capacitor": 0.1}[p.kind] for p in real.circuit.parts}
    )
    shown = rows(answer)["Worst case, low-end cut-off"]
    assert shown.startswith(" to ".join(write_quantity(end, "Hz") for end in limits.low_cutoff))


@pytest.mark.parametrize("make", FOLLOWING, ids=lambda make: make.__name__)
@pytest.mark.parametrize("case", FULL_CASES, ids=str)
def test_every_stage_gives_an_answer(case, make):
    answer = answer_of(make(), random_stage(case), None)
    assert answer["summary"]
    json.dumps(answer, allow_nan=False)
    for plot in answer.get("plots", ()):
        assert all(len(curve["xs"]) == len(curve["ys"]) > 1 for curve in plot["curves"])
        assert all(np.all(np.diff(curve["xs"]) >= 0) for curve in plot["curves"])


def test_an_unknown_choice_is_refused():
    with pytest.raises(UnknownNameError, match="1 Hz to 2 Hz"):
        views.noise().work(None, {"band": "1 Hz to 2 Hz"})


def test_a_view_without_computation_is_refused():
    with pytest.raises(QuantityError, match="no computation"):
        Computed(title="Empty")


def test_choices_reach_the_computation(stage):
    def follow(_stage, _progress, *, colour, rail):
        return {"summary": f"{colour}, {rail.name}"}

    view = Computed(
        title="Own", follow=follow, choices=(Choice("colour", "Colour", ("red", "blue")),), on_rail=True
    )
    assert told(view, stage, supply_rail("usb"), colour="blue") == {"summary": "blue, usb"}
    assert told(view, stage, supply_rail("usb")) == {"summary": "red, usb"}


def test_plain_data_has_no_infinity():
    given = {"a": (1, np.float64(2.0), float("inf")), "b": [1.5, float("nan")], "c": np.int64(3)}
    assert plain(given) == {"a": [1, 2.0, None], "b": [1.5, None], "c": 3}


@pytest.mark.parametrize(("value", "above"), [(1.0, 1.0), (1.01, 1.5), (0.031, 0.05), (7.5e-6, 1e-5)])
def test_axes_end_at_nice_numbers(value, above):
    assert nice_above(value) == pytest.approx(above)


def test_thinning_keeps_ends_and_corners():
    places = thinned(10_000, [17, -1, 20_000])
    assert places[0] == 0
    assert places[-1] == 9_999
    assert 17 in places
    assert len(places) < 200
