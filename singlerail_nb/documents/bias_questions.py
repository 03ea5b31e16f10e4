"""The questions about bias, headroom, ripple and start-up; every value is read from the circuit."""

from __future__ import annotations

import math

import sympy

from .asks import Ask, Slip
from .expressions import dual, without
from .task import FIRM, Task


def _thevenin(task: Task) -> sympy.Expr:
    return task.equation("bias", "R_{th}")


def _bias_corner(task: Task) -> sympy.Expr:
    return task.equation("bias", "f_b")


def _in_series(task: Task) -> float:
    """Return the corner of the bias filter of a person who adds the divider resistors."""
    parallel = _thevenin(task)
    return task.number(_bias_corner(task) * parallel / dual(parallel))


def _moved_bias(task: Task, answer: float) -> Task:
    """Return the task whose divider gives the answered voltage, with its resistance kept."""
    thevenin, share = task.number(_thevenin(task)), answer / task.stage.supply
    return task.changed(r_top=thevenin / share, r_bottom=thevenin / (1.0 - share))


def _settling(task: Task, share: float) -> float:
    """Return how long the bias filter alone needs to come within a share of its end, s."""
    return task.number(task.equation("bias", r"\tau_b")) * math.log(1.0 / share)


_FIVE_TAU = math.exp(-5.0)


BIAS_QUESTIONS: tuple[Ask, ...] = (
    Ask(
        "bias",
        "Where does the mid-rail bias node rest?",
        "V",
        lambda t: t.rest("bias"),
        (
            Slip(
                "divider swapped",
                "R_A and R_B are exchanged: R_B is the one to ground",
                lambda t: t.changed(r_top=t.stage.values["r_bottom"], r_bottom=t.stage.values["r_top"]).rest(
                    "bias"
                ),
            ),
            Slip(
                "half the rail",
                "half the rail was taken, but the two divider resistors differ",
                lambda t: t.changed(r_bottom=t.stage.values["r_top"]).rest("bias"),
            ),
        ),
        carry=_moved_bias,
        parts=("r_top", "r_bottom"),
        within=0.01,
    ),
    Ask(
        "thevenin",
        "Which resistance does the bias-filter capacitor $C_{\\mathrm{bias}}$ see?",
        "ohm",
        lambda t: t.number(_thevenin(t)),
        (
            Slip(
                "R_A alone",
                "R_A was used instead of R_A || R_B",
                lambda t: t.number(without(_thevenin(t), "r_bottom")),
            ),
            Slip(
                "R_B alone",
                "R_B was used instead of R_A || R_B",
                lambda t: t.number(without(_thevenin(t), "r_top")),
            ),
            Slip(
                "series for parallel",
                "R_A + R_B was used: for the capacitor they are in parallel",
                lambda t: t.number(dual(_thevenin(t))),
            ),
        ),
        carry=lambda t, answer: t.scaled(
            **dict.fromkeys(("r_top", "r_bottom"), answer / t.number(_thevenin(t)))
        ),
        parts=("c_bias",),
    ),
    Ask(
        "bias_corner",
        "Above which frequency does the bias filter attenuate the ripple of the rail?",
        "Hz",
        lambda t: t.number(_bias_corner(t)),
        (
            Slip(
                "R_A alone",
                "R_A was used instead of R_A || R_B",
                lambda t: t.number(without(_bias_corner(t), "r_bottom")),
            ),
            Slip(
                "R_B alone",
                "R_B was used instead of R_A || R_B",
                lambda t: t.number(without(_bias_corner(t), "r_top")),
            ),
            Slip(
                "series for parallel",
                "R_A + R_B was used: for the capacitor they are in parallel",
                _in_series,
            ),
        ),
        uses=("thevenin",),
        parts=("c_bias",),
        carry=lambda t, answer: t.scaled(c_bias=t.number(_bias_corner(t)) / answer),
    ),
    Ask(
        "swing",
        "How large may the op-amp output swing before it clips on one side?",
        "Vpp",
        lambda t: t.swing(),
        (
            Slip(
                "the larger side",
                "twice the larger room: the smaller side clips first",
                lambda t: 2.0 * max(t.rooms()),
            ),
            Slip(
                "both rooms added",
                "the two rooms were added: a symmetric signal clips on the nearer side first",
                lambda t: sum(t.rooms()),
            ),
            Slip(
                "rail to rail",
                "the output was taken to reach both rails",
                lambda t: 2.0 * min(t.rest("amp_out"), t.stage.supply - t.rest("amp_out")),
            ),
        ),
        uses=("bias",),
        points=3.0,
    ),
    Ask(
        "ripple",
        "The rail carries {ripple} at {line}. Which ripple arrives at the output, source connected?",
        "Vpp",
        lambda t: t.rejection(),
        (
            Slip(
                "divider alone",
                "that is the divider without C_bias: the filter was forgotten",
                lambda t: t.scaled(c_bias=1.0 / FIRM).rejection(),
            ),
            Slip(
                "source left out",
                "the full gain was taken: with the source connected, most of the bias ripple "
                "at the + input flows into it",
                lambda t: t.rejection("open"),
            ),
            Slip(
                "at the bias node",
                "that is the ripple of the bias node, not of the output",
                lambda t: abs(t.stage.transfer("supply", "bias")(t.lab.ripple_frequency)) * t.lab.ripple,
            ),
        ),
        uses=("bias_corner", "leg_gain"),
        parts=("c_bias",),
        points=3.0,
        within=0.1,
    ),
    Ask(
        "ready",
        "After which time do the + input and the op-amp output both stay within 1 % of where they rest?",
        "s",
        lambda t: t.ready(),
        (
            Slip(
                "bias filter alone",
                "five time constants of the bias filter alone: the other capacitors charge later",
                lambda t: _settling(t, _FIVE_TAU),
            ),
            Slip(
                "bias filter alone",
                "the time to 1 % of the bias filter alone: the other capacitors charge later",
                lambda t: _settling(t, 0.01),
            ),
            Slip(
                "one time constant", "one time constant leaves 37 %", lambda t: _settling(t, math.exp(-1.0))
            ),
        ),
        parts=("c_bias",),
        points=3.0,
        within=0.1,
    ),
)
