"""Sheets that the tests of handouts, variants and marking share: one circuit, one small class."""

from functools import cache

import singlerail_nb as sr
from singlerail_nb.documents.goals import GOALS
from singlerail_nb.documents.handout import Handout
from singlerail_nb.documents.lab import Lab
from singlerail_nb.documents.task import Task
from singlerail_nb.documents.variants import class_set

SECRET = "honey in the seventh frame"  # noqa: S105 -- of an invented class
CLASS = ("Ada Anther", "Bo Brood", "Cy Comb", "Dé Drone", "Eli Egg", "Fay Forage")

VALUES = {
    "r_source": 4.7e3, "c_in": 220e-9, "r_bias": 47e3, "r_top": 33e3, "r_bottom": 43e3, "c_bias": 10e-6,
    "r_f": 39e3, "r_g": 2.2e3, "c_g": 4.7e-6, "c_out": 4.7e-6, "r_load": 10e3,
}  # fmt: skip


@cache
def task(ideal=False):
    """Return the task of the microphone stage of the hive monitor on 9 V."""
    lab = Lab()
    return Task.of(lab, sr.stage("noninverting", supply=9.0, opamp=None if ideal else lab.opamp, **VALUES))


@cache
def sheet(goal="whole stage"):
    return Handout(GOALS[goal], task(), "Ada Anther", "AB12CD34")


@cache
def small_class(goal="whole stage"):
    return class_set(CLASS, goal, secret=SECRET)


def question(key, ideal=False):
    found = Handout(GOALS["whole stage"], task(ideal)).questions
    return next(q for q in found if q.ask.key == key)


def right_answers(of):
    """Return {question id: right answer as a student would write it}."""
    return {q.id: str(q.formula) if q.ask.is_formula else q.written(q.value) for q in of.questions}
