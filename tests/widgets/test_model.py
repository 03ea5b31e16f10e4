"""The stage model: a plain object, no widget and no browser."""

import pytest

import singlerail_nb as sr
from singlerail_nb.designing.verification import verify
from singlerail_nb.errors import QuantityError, UnknownNameError
from singlerail_nb.widgets.figures import Limit
from singlerail_nb.widgets.model import StageModel
from singlerail_nb.widgets.requirements import as_model


def test_a_value_is_read_checked_and_kept(model):
    model.set(c_in="1u")
    assert model.stage.values["c_in"] == 1e-6
    assert model.figures["low_cutoff"] == model.stage.transfer("signal", "output").low_cutoff()


def test_a_refused_value_changes_nothing(model, stage):
    with pytest.raises(QuantityError, match="c_in"):
        model.set(r_f="47k", c_in="4.7")
    assert model.stage == stage
    assert model.past == ()


def test_undo_redo_reset(model, stage):
    model.set(r_f="47k")
    model.set(c_in="1u")
    model.undo()
    assert model.stage == stage.with_parts(r_f="47k")
    model.undo()
    model.undo()
    assert model.stage == stage
    model.redo()
    model.redo()
    assert model.stage == stage.with_parts(r_f="47k", c_in="1u")
    model.reset()
    assert model.stage == stage
    model.undo()
    assert model.stage == stage.with_parts(r_f="47k", c_in="1u")


def test_a_new_step_ends_what_was_undone(model):
    model.set(r_f="47k")
    model.undo()
    model.set(c_in="1u")
    assert model.future == ()
    assert len(model.past) == 1


def test_the_same_value_is_no_step(model):
    model.set(c_in="220n")
    assert model.past == ()


def test_an_added_part_starts_a_new_history(model, stage):
    model.set(r_f="47k")
    model.set(c_f="100p")
    assert model.past == ()
    model.reset()
    assert model.stage == stage


def test_observers_hear_one_change_per_step(model):
    heard = []
    model.observe(heard.append, names=["stage"])
    model.set(r_f="47k", c_in="1u")
    assert [change["new"] for change in heard] == [model.stage]


def test_freeze_and_release(model, stage):
    model.freeze()
    model.set(r_f="47k")
    assert model.frozen == stage
    model.release()
    assert model.frozen is None


def test_snapshot_and_load(model, stage, limits):
    model.set(r_f="47k")
    model.freeze()
    other = StageModel(stage, limits=limits)
    other.load(model.snapshot())
    assert (other.stage, other.frozen, other.past) == (model.stage, model.frozen, model.past)
    other.undo()
    assert other.stage == stage


def test_checks_follow_the_stage(model):
    assert [check.passes for check in model.checks] == [True, True]
    model.set(c_in="10n")
    assert [check.passes for check in model.checks] == [True, False]
    cutoff = model.stage.transfer("signal", "output").low_cutoff()
    assert f"Check. Low-end cut-off: {cutoff:.4g} Hz, at most 60 Hz: FAIL" in model.summary()


def test_a_limit_on_an_unknown_figure_is_refused(stage):
    with pytest.raises(UnknownNameError, match="low_cutof"):
        StageModel(stage, limits=[Limit("low_cutof", "at most", 60.0)])


@pytest.mark.parametrize(
    ("limit", "value", "verdict"),
    [
        (Limit("x", "at most", 5.0), 5.0 * (1 + 1e-15), True),
        (Limit("x", "at most", 5.0), 5.1, False),
        (Limit("x", "at least", 5.0), 4.9, False),
        (Limit("x", "at least", 5.0), 1e9, True),
        (Limit("x", "at most", -40.0), -46.0, True),
        (Limit("x", "at least", -40.0), -46.0, False),
        (Limit("x", "within", (1.0, 2.0)), 2.1, False),
        (Limit("x", "within", (1.0, 2.0)), 1.0, True),
        (Limit("x", "at most", 5.0), None, None),
    ],
)
def test_limits(limit, value, verdict):
    assert limit.keeps(value) is verdict


NEEDED = {
    "noninverting": sr.Requirements(
        "9 V", "40", "47k", low_cutoff="50 Hz", droop=("1 dB", "100 Hz"), source_resistance="220R", load="10k"
    ),
    "inverting": sr.Requirements("12 V", "-10", "10k", low_cutoff="30 Hz", rumble_floor="1 Hz"),
}


@pytest.mark.parametrize("topology", NEEDED)
def test_checks_of_a_design_are_those_of_its_verification(topology):
    design = sr.design(NEEDED[topology], topology=topology)
    model = as_model(design)
    for change in ({}, {"c_in": "10n"}, {"r_f": "100k"}, {"r_top": "1k"}):
        model.set(**change)
        rows = verify(model.stage, design.requirements)
        own = {check.text: check.passes for check in model.checks}
        assert own == {row.requirement: row.status == "pass" for row in rows}


def test_what_no_panel_can_show_is_refused():
    with pytest.raises(QuantityError, match="a Stage, a Design or a StageModel"):
        as_model(42)


def test_an_output_that_amplifies_dc_must_rest_on_the_rail():
    parts = {"r_source": "2k2", "c_in": "1u", "r_bias": "100k", "r_top": "100k", "r_bottom": "100k",
             "c_bias": "10u", "r_f": "39k", "r_g": "1k"}  # fmt: skip
    model = StageModel(sr.stage("leg_without_capacitor", supply=9, **parts))
    (check,) = model.checks
    assert check.passes is False
    assert "180 V" in str(check)
    model.replace(model.stage.with_parts(r_f="470"))
    assert model.checks[0].passes
    model.replace(sr.stage("noninverting", supply=9, c_g="10u", **parts))
    assert model.checks == ()
