"""Draw a student's circuit from declared stock, again and again until it is fit for the bench.

Targets are drawn at random and met with the nearest values on the shelf; what is then checked is
the circuit itself: headroom, a corner that can be measured, start-up, polarity, and that the
mistakes this goal looks for can be told from the right answers.
"""

from __future__ import annotations

import math
import random
from collections import Counter

from ..analysis.stage import Stage
from ..errors import RequirementError, SingleRailError, UnknownNameError
from .fitness import Difficulty, unfit
from .goals import Goal
from .lab import Lab
from .task import Task

MOST_DRAWS = 2000
"""Circuits drawn for one student before the stock is called too small."""


def draw(goal: Goal, lab: Lab, seed: int, wanted: Difficulty | None = None) -> Task:
    """Return a circuit that is fit for the bench.

    Parameters
    ----------
    goal : Goal
        The goal.
    lab : Lab
        Stock, rails, instruments.
    seed : int
        The same seed gives the same circuit.
    wanted : Difficulty, optional
        What shall bind it; anything unless given.

    Raises
    ------
    RequirementError
        If the stock gives no fit circuit.
    UnknownNameError
        If circuits of this topology are not drawn.
    """
    if lab.topology not in _SIGNAL_PATHS:
        raise UnknownNameError(
            "topology",
            lab.topology,
            allowed=", ".join(_SIGNAL_PATHS),
            remedy="For another stage, give its circuit: handout(goal, stage=...).",
        )
    chance = random.Random(seed)  # noqa: S311 -- seeds come from a keyed hash
    reasons: Counter[str] = Counter()
    for _ in range(MOST_DRAWS):
        try:
            task = Task.of(lab, _drawn(lab, chance))
            reason = unfit(goal, task, wanted)
        except SingleRailError:
            reason = "values that no circuit takes"
        else:
            if not reason:
                return task
        reasons[reason] += 1
    raise RequirementError(
        "stock",
        lab.stock.title,
        allowed="values from which a fit circuit can be made",
        remedy=f"Of {MOST_DRAWS} circuits most had {reasons.most_common(1)[0][0]}: declare more values or "
        "other rails, or change the ripple or the instruments.",
    )


def _drawn(lab: Lab, chance: random.Random) -> Stage:
    """Return a stage with random targets met from stock; nothing is checked yet."""
    values = _divider(lab, chance)
    target = _between(chance, 12.0, 60.0)
    values |= _SIGNAL_PATHS[lab.topology](lab, chance, target)
    load = values["r_load"] = _pick(lab, chance, "r_load", 3e3, 47e3)
    values["c_out"] = _capacitor(lab, "c_out", load, target * _between(chance, 0.08, 0.25))
    supply = lab.supplies[int(chance.random() * len(lab.supplies))]
    return Stage(lab.topology, supply, values, lab.opamp)


def _divider(lab: Lab, chance: random.Random) -> dict[str, float]:
    top = _pick(lab, chance, "r_top", 22e3, 150e3)
    bottom = _nearest(lab, "r_bottom", top * _between(chance, 0.7, 1.4))
    corner = _between(chance, 0.25, 3.0)
    return {
        "r_top": top,
        "r_bottom": bottom,
        "c_bias": _capacitor(lab, "c_bias", top * bottom / (top + bottom), corner),
    }


def _noninverting(lab: Lab, chance: random.Random, target: float) -> dict[str, float]:
    values = _follower(lab, chance, target * _between(chance, 0.5, 0.9))
    leg = _pick(lab, chance, "r_g", 1e3, 4.7e3)
    values["r_g"] = leg
    values["r_f"] = _nearest(lab, "r_f", leg * (_between(chance, 5.0, 30.0) - 1.0))
    values["c_g"] = _capacitor(lab, "c_g", leg, target * _between(chance, 0.5, 0.9))
    return values


def _inverting(lab: Lab, chance: random.Random, target: float) -> dict[str, float]:
    resistance = _pick(lab, chance, "r_in", 6.8e3, 33e3)
    source = _nearest(lab, "r_source", resistance * _between(chance, 0.1, 0.5))
    feedback = _nearest(lab, "r_f", (resistance + source) * _between(chance, 3.0, 20.0))
    values = {"r_in": resistance, "r_source": source, "r_f": feedback}
    return {**values, "c_in": _capacitor(lab, "c_in", resistance + source, target)}


def _follower(lab: Lab, chance: random.Random, target: float) -> dict[str, float]:
    bias = _pick(lab, chance, "r_bias", 33e3, 120e3)
    source = _nearest(lab, "r_source", bias * _between(chance, 0.09, 0.25))
    return {"r_bias": bias, "r_source": source, "c_in": _capacitor(lab, "c_in", bias + source, target)}


_SIGNAL_PATHS = {"noninverting": _noninverting, "inverting": _inverting, "follower": _follower}


def _between(chance: random.Random, low: float, high: float) -> float:
    """Return a number, evenly spread by ratio."""
    return low * math.pow(high / low, chance.random())


def _pick(lab: Lab, chance: random.Random, part: str, low: float, high: float) -> float:
    values = lab.stock.values(part, low, high) or (_nearest(lab, part, math.sqrt(low * high)),)
    return values[int(chance.random() * len(values))]


def _nearest(lab: Lab, part: str, wanted: float) -> float:
    return min(lab.stock.values(part), key=lambda value: abs(math.log(value / wanted)))


def _capacitor(lab: Lab, part: str, resistance: float, corner: float) -> float:
    return _nearest(lab, part, 1.0 / (2.0 * math.pi * resistance * corner))
