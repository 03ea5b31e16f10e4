"""Every public function that asks for a stage or for requirements refuses anything else in one sentence."""

import inspect
from types import SimpleNamespace

import pytest

import singlerail_nb as sr
from tests.sensible_stages import SENSIBLE

STAGE = SENSIBLE["noninverting, GPB"]
ASKS_FOR_STAGE = ("Stage", "Solvable", "Stage | Design | StageModel")


def first_argument(name):
    """Return the annotation of what a public function asks for first; None for anything else."""
    function = getattr(sr, name)
    if not inspect.isfunction(function):
        return None
    return next((p.annotation for p in inspect.signature(function).parameters.values()), None)


def others(name):
    """Return the further arguments that a call needs; of them only the ending of a path is looked at."""
    _, *further = inspect.signature(getattr(sr, name)).parameters.values()
    return [
        "x.html"
        for p in further
        if p.default is p.empty and p.kind in (p.POSITIONAL_ONLY, p.POSITIONAL_OR_KEYWORD)
    ]


ASKERS = [name for name in sr.__all__ if first_argument(name) in ASKS_FOR_STAGE]
DESIGNERS = [name for name in sr.__all__ if first_argument(name) == "Requirements"]


def test_the_askers_are_found():
    assert {"mystery", "schematic", "textbook", "panel", "noise", "startup", "compare"} <= set(ASKERS)
    assert {"design", "select", "guarantee"} == set(DESIGNERS)


@pytest.mark.parametrize("name", ASKERS)
@pytest.mark.parametrize("given", ["follower", "amplifier", None, 9.0, ["follower"]])
def test_what_is_no_stage_is_refused(name, given, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(sr.SingleRailError, match=r"stage: got .*; allowed: a Stage") as caught:
        getattr(sr, name)(given, *others(name))
    shown = "follower" if given == "follower" else "noninverting"
    ways = (f'sr.stage("{shown}"', f"{name}(")  # to a stage, or how this very function is called
    assert any(way in caught.value.remedy for way in ways)


def test_what_has_a_stage_is_told_to_give_it():
    with pytest.raises(sr.SingleRailError, match=r"This SimpleNamespace has one: give its \.stage"):
        sr.textbook(SimpleNamespace(stage=STAGE))


@pytest.mark.parametrize("name", DESIGNERS)
@pytest.mark.parametrize("given", ["9 V", None, STAGE])
def test_what_is_no_requirements_is_refused(name, given):
    with pytest.raises(sr.SingleRailError, match=r"requirements: got .*; allowed: a Requirements") as caught:
        getattr(sr, name)(given)
    assert ("not what it must do" in caught.value.remedy) == (given is STAGE)


def test_what_is_no_mystery_is_refused():
    with pytest.raises(sr.SingleRailError, match=r"mystery: got Stage; .*sr\.mystery"):
        sr.ask_fault(STAGE)


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("window_picture", "window"),
        ("noise_picture", "noise"),
        ("comparison_picture", "comparison"),
        ("level_shift_picture", "level shift"),
        ("crosstalk_picture", "mapping"),
        ("supply_loop_picture", "mapping"),
        ("parts_list", "design"),
        ("recommend", "bias comparison"),
        ("answer_key", "handout"),
    ],
)
@pytest.mark.parametrize("given", [STAGE, None, "follower"])
def test_what_is_not_the_result_of_the_step_before_is_refused(name, kind, given):
    with pytest.raises(sr.SingleRailError, match=rf"allowed: a {kind}\. Give the result: {name}\(") as caught:
        getattr(sr, name)(given, *others(name))
    assert caught.value.quantity == kind


@pytest.mark.parametrize("name", ["load_design", "load_opamps", "read_measurement"])
@pytest.mark.parametrize("given", [STAGE, None, 3.5])
def test_what_is_no_path_is_refused(name, given):
    with pytest.raises(sr.SingleRailError, match="path of a file"):
        getattr(sr, name)(given)
