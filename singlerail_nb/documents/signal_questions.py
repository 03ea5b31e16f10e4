"""The questions about gain and low end; every value and every wrong value is read from the circuit."""

from __future__ import annotations

import math

import sympy

from ..circuit.symbols import part_symbol
from .asks import ACCEPTED, Ask, Slip
from .expressions import dual
from .task import FIRM, Task

_HALF_VOLTAGE_DB = 20.0 * math.log10(2.0)


def corners(task: Task) -> dict[str, float]:
    """Return the isolated corners of the signal path, Hz, by the name of their equation.

    Parameters
    ----------
    task : Task
        The circuit.
    """
    return {name: task.number(found) for name, found in _corner_formulas(task).items()}


def _corner_formulas(task: Task) -> dict[str, sympy.Expr]:
    wanted = ("f_{in}", "f_{a}", "f_{out}")
    return {
        equation.name: equation.expression
        for step in task.stage.derivation()
        for equation in step.equations
        if equation.name in wanted
    }


def product_cutoff(task: Task) -> float:
    """Return the low-end cut-off of the pieces multiplied, each ideal beside the others, Hz.

    Parameters
    ----------
    task : Task
        The circuit.
    """
    return task.scaled(c_bias=FIRM).whole.low_cutoff()


def input_corner(task: Task) -> sympy.Expr:
    """Return the formula of the corner that C_in makes, Hz.

    Parameters
    ----------
    task : Task
        The circuit.
    """
    found = _corner_formulas(task)
    return found.get("f_{in}", found.get("f_{a}"))


def _seen_by_input(task: Task) -> sympy.Expr:
    """Return the resistance in series with C_in."""
    return sympy.cancel(1 / (2 * sympy.pi * part_symbol("c_in") * input_corner(task)))


def _input_in_parallel(task: Task) -> sympy.Expr:
    series = _seen_by_input(task)
    return input_corner(task) * series / dual(series)


def _no_source(task: Task) -> sympy.Expr:
    return input_corner(task).subs(part_symbol("r_source"), 0)


def _moved_input(task: Task, answer: float) -> Task:
    """Return the task whose input coupling has the answered corner, Hz."""
    return task.scaled(c_in=task.number(input_corner(task)) / answer)


def _leg_gain(task: Task) -> sympy.Expr:
    return task.equation("amplifier", "G")


SIGNAL_QUESTIONS: tuple[Ask, ...] = (
    Ask(
        "input_formula",
        "Write the formula of the corner frequency that $C_{\\mathrm{in}}$ makes, in symbols of the drawing.",
        "formula",
        input_corner,
        (
            Slip(
                "source forgotten",
                "the source resistance R_s is missing: all that is in series counts",
                _no_source,
            ),
            Slip(
                "parallel for series",
                "the resistors on both sides of C_in are in series, not in parallel",
                _input_in_parallel,
            ),
            Slip(
                "radians", "that is in rad/s: divide by 2 pi for Hz", lambda t: 2 * sympy.pi * input_corner(t)
            ),
            Slip("radians", "divided by 2 pi once too often", lambda t: input_corner(t) / (2 * sympy.pi)),
            Slip("inverse", "that is the time constant, not its frequency", lambda t: 1 / input_corner(t)),
            Slip(
                "inverse",
                "that is the time constant, not its frequency",
                lambda t: 1 / (2 * sympy.pi * input_corner(t)),
            ),
        ),
        carry=_moved_input,
        parts=("c_in",),
    ),
    Ask(
        "input_corner",
        "What is that corner frequency in numbers?",
        "Hz",
        lambda t: t.number(input_corner(t)),
        (
            Slip(
                "source forgotten",
                "the source resistance R_s was forgotten",
                lambda t: t.number(_no_source(t)),
            ),
            Slip(
                "parallel for series",
                "R_s and the resistor behind C_in are in series, not in parallel",
                lambda t: t.number(_input_in_parallel(t)),
            ),
        ),
        uses=("input_formula",),
        carry=_moved_input,
        parts=("c_in",),
    ),
    Ask(
        "leg_gain",
        "Which gain has the amplifier itself in mid-band, from its + input to its output?",
        "V/V",
        lambda t: t.number(_leg_gain(t)),
        (
            Slip(
                "the 1 forgotten",
                "R_f/R_g is the gain of an inverting stage; here 1 comes on top",
                lambda t: (
                    t.number(_leg_gain(t)) - t.number(sympy.cancel(_leg_gain(t)).subs(part_symbol("r_f"), 0))
                ),
            ),
            Slip(
                "R_f and R_g exchanged",
                "R_f and R_g are exchanged",
                lambda t: t.number(
                    _leg_gain(t.changed(r_f=t.stage.values["r_g"], r_g=t.stage.values["r_f"]))
                ),
            ),
        ),
        carry=lambda t, answer: t.changed(r_f=t.stage.values["r_g"] * (answer - 1.0)),
        parts=("r_g", "c_g"),
    ),
    Ask(
        "gain",
        "Which mid-band gain does the whole stage have, from the source to the output (with its sign)?",
        "V/V",
        lambda t: t.gain(),
        (
            Slip(
                "source forgotten",
                "the source resistance R_s was forgotten: it takes a share of the signal",
                lambda t: t.changed(r_source=0.0).gain(),
            ),
            Slip(
                "noise gain",
                "that is the noise gain 1 + R_f/R_in, the signal gain of an inverting stage has no 1",
                lambda t: 1.0 + abs(t.gain()) if t.has("r_in") else math.nan,
            ),
        ),
        uses=("leg_gain",),
        within=0.02,
        carry=lambda t, answer: t.scaled(r_f=answer / t.gain()),
    ),
    Ask(
        "leg_corner",
        "Which corner frequency does the gain leg make (the pole)?",
        "Hz",
        lambda t: corners(t)["f_{a}"],
        (
            Slip(
                "R_f in the leg",
                "R_f was used: in mid-band C_g sees R_g alone, the summing node is held",
                lambda t: corners(t.changed(r_g=t.stage.values["r_f"]))["f_{a}"],
            ),
            Slip(
                "R_f in the leg",
                "R_f + R_g was used: that is the zero, at the corner divided by the gain",
                lambda t: t.number(t.equation("amplifier", "f_{z,a}")),
            ),
        ),
        carry=lambda t, answer: t.scaled(c_g=corners(t)["f_{a}"] / answer),
        parts=("r_g", "c_g"),
    ),
    Ask(
        "output_corner",
        "Which corner frequency does the output coupling make?",
        "Hz",
        lambda t: corners(t)["f_{out}"],
        (
            Slip(
                "R_f at the output",
                "the feedback resistor was used: C_out sees the load",
                lambda t: corners(t.changed(r_load=t.stage.values["r_f"]))["f_{out}"],
            ),
        ),
        carry=lambda t, answer: t.scaled(c_out=corners(t)["f_{out}"] / answer),
        parts=("c_out", "r_load"),
    ),
    Ask(
        "low_cutoff",
        "At which low frequency has the gain of the whole stage fallen to half power (-3 dB)?",
        "Hz",
        lambda t: t.whole.low_cutoff(),
        (
            Slip(
                "highest corner alone",
                "the highest corner alone: the others add their loss at the same frequency",
                lambda t: max(corners(t).values()),
            ),
            Slip(
                "corners added",
                "the corner frequencies were added; their losses multiply",
                lambda t: sum(corners(t).values()),
            ),
            Slip(
                "half the voltage",
                "that is where the voltage is halved (-6 dB); half power is -3 dB",
                lambda t: t.whole.low_cutoff(_HALF_VOLTAGE_DB),
            ),
            Slip(
                "source forgotten",
                "the source resistance R_s was forgotten",
                lambda t: t.changed(r_source=0.0).whole.low_cutoff(),
            ),
            Slip(
                "lowest corner",
                "the lowest corner: the highest one matters most",
                lambda t: min(corners(t).values()),
            ),
        ),
        (
            Slip(
                "firm bias",
                "the product of the pieces with a firm bias node: the textbook's answer, accepted",
                product_cutoff,
                ACCEPTED,
            ),
        ),
        uses=("input_corner", "leg_corner", "output_corner", "gain"),
        points=3.0,
    ),
)
