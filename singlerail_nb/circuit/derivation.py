"""The algebra of a stage, step by step, as a reader would follow it on paper.

No formula is typed in: every step solves a piece of the circuit, writes the result in
standard form and proves that it is identical to what the whole network says in the limit in
which the piece stands alone.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from itertools import pairwise

import sympy

from .bias_sources import bias_names
from .branches import branches_between, impedance_between
from .circuit import Circuit
from .derivation_steps import Derivation, DerivationStep, Equation, Identity
from .elements import GROUND
from .network_functions import node_ratio, transfer_function
from .standard_forms import StandardForm, limit_large, standard_form
from .symbols import GAIN, S, part_symbol


@lru_cache(maxsize=64)
def derivation(circuit: Circuit) -> Derivation:
    """Return the derivation of a circuit with ideal op-amps.

    Parameters
    ----------
    circuit : Circuit
        Sound circuit, absent parts removed (``stage.circuit``).
    """
    divided = [part for part in circuit.parts if part.nodes == ("supply", "bias")]
    steps = [_bias_step(circuit)] if divided else []
    ideal = with_ideal_bias(circuit)
    for start, end in pairwise(ideal.path):
        amplifier = [opamp for opamp in ideal.opamps if opamp.output == end]
        if amplifier:
            steps.append(_amplifier_step(circuit, ideal, start, end))
        else:
            steps.append(_coupling_step(circuit, ideal, start, end))
    if _is_equal_pole_case(ideal):
        steps.append(_cascade_step(ideal))
    steps.append(_whole_step(circuit, ideal))
    return Derivation(steps)


def with_ideal_bias(circuit: Circuit) -> Circuit:
    """Return the circuit whose bias node is held firmly: for signals it is ground.

    Parameters
    ----------
    circuit : Circuit
        Any circuit; without a bias node it is returned as it is.
    """
    bias = dict(circuit.aliases).get("bias", "bias")
    if bias not in circuit.nodes:
        return circuit
    own = bias_alone(circuit)
    gone = {opamp.name for opamp in own.opamps}
    kept = tuple(opamp for opamp in circuit.opamps if opamp.name not in gone)
    return replace(circuit.opened(*own.part_names), opamps=kept).merged(bias, GROUND)


def bias_alone(circuit: Circuit) -> Circuit:
    """Return the bias source with its filter and nothing else.

    Parameters
    ----------
    circuit : Circuit
        A circuit with a bias source.
    """
    names = bias_names()
    parts = tuple(part for part in circuit.parts if part.name in names)
    opamps = tuple(opamp for opamp in circuit.opamps if opamp.name in names)
    return replace(circuit, parts=parts, opamps=opamps, path=("supply", "bias"))


def _bias_step(circuit: Circuit) -> DerivationStep:
    alone = bias_alone(circuit)
    function = transfer_function(alone, "supply", "bias").expression
    form = standard_form(function)
    equations = [Equation("k", form.constant, "V/V")]
    remark = "Without a capacitor the divider passes its share of every ripple on the rail."
    if form.shape == "low-pass":
        thevenin = sympy.factor(form.pole / part_symbol("c_bias"))
        equations += [
            Equation("R_{th}", thevenin, "ohm"),
            Equation(r"\tau_b", form.pole, "s"),
            Equation("f_b", form.pole_frequency, "Hz"),
            Equation("H_b(s)", form.expression, "V/V", shown=form.shown("k", "f_b")),
        ]
        remark = "The capacitor sees both divider resistors in parallel, not one of them and not their sum."
    isolated = transfer_function(_without_loading(circuit), "supply", "bias").expression
    return DerivationStep(
        "bias",
        "The mid-rail divider",
        "What part of the rail, and of its ripple, reaches the bias node?",
        remark,
        tuple(equations),
        (Identity("the whole network with nothing drawing on the bias node", form.expression, isolated),),
    )


def _without_loading(circuit: Circuit) -> Circuit:
    """Return the circuit with every part that could load the bias node taken away."""
    inside = {"supply", "bias", GROUND}
    loading = [p.name for p in circuit.parts if "bias" in p.nodes and not set(p.nodes) <= inside]
    return circuit.opened(*loading)


def _coupling_step(circuit: Circuit, ideal: Circuit, start: str, end: str) -> DerivationStep:
    form = standard_form(node_ratio(ideal, "signal", end, start).expression)
    at_input = start == "signal"
    key = "input" if at_input else "output"
    equations = _form_equations(form, "in" if at_input else "out")
    whole = _bias_limit(circuit, node_ratio(circuit, "signal", end, start).expression)
    return DerivationStep(
        key,
        "The input coupling" if at_input else "The output coupling",
        f"What does the way from {start} to {end} do to a signal?",
        "Every resistance in series with the capacitor counts, on both of its sides.",
        equations,
        (Identity("the whole network with a firm bias node", form.expression, whole),),
    )


def _amplifier_step(circuit: Circuit, ideal: Circuit, start: str, end: str) -> DerivationStep:
    opamp = next(o for o in ideal.opamps if o.output == end)
    function = node_ratio(ideal, "signal", end, start).expression
    form = standard_form(function)
    equations: list[Equation] = []
    identities = [
        Identity(
            "the whole network with a firm bias node",
            form.expression,
            _bias_limit(circuit, node_ratio(circuit, "signal", end, start).expression),
        )
    ]
    far = GROUND if start == opamp.plus else start
    if opamp.minus != end:
        first, second = _leg_and_feedback(ideal, opamp.minus, end, far)
        equations += [Equation("Z_1", first, "ohm"), Equation("Z_2", second, "ohm")]
        stated = 1 + second / first if far == GROUND else -second / first
        identities.append(Identity("the gain from the two impedances", stated, function))
    equations += _form_equations(form, "a")
    return DerivationStep(
        "amplifier",
        "The amplifier",
        f"What does the op-amp make of the voltage at {start}?",
        _amplifier_remark(form),
        tuple(equations),
        tuple(identities),
    )


def _leg_and_feedback(ideal: Circuit, minus: str, end: str, far: str) -> tuple[sympy.Expr, sympy.Expr]:
    def between(node: str) -> sympy.Expr:
        parts = tuple(p for branch in branches_between(ideal, minus, node) for p in branch.parts)
        return impedance_between(ideal, parts, minus, node)

    return between(far), between(end)


def _amplifier_remark(form: StandardForm) -> str:
    if _rises_from_one(form):
        return "Below its pole the gain falls to 1, so the resting voltage is passed on, not amplified."
    if form.shape == "high-pass":
        return "The input capacitor sees the source resistance and the input resistor in series."
    if form.shape in ("constant", "shelf") and form.constant != 1:
        return "The gain reaches down to DC: whatever rests at the input is amplified as well."
    return "The loop holds the inverting input at the voltage of the other one."


def _rises_from_one(form: StandardForm) -> bool:
    """Return whether the gain is 1 at DC and something else above a pole."""
    return form.shape == "shelf" and form.constant == 1


def _form_equations(form: StandardForm, index: str) -> tuple[Equation, ...]:
    name, constant, pole = f"H_{{{index}}}(s)", f"k_{{{index}}}", f"f_{{{index}}}"
    if form.shape in ("constant", "other"):
        return (Equation(name, form.constant, "V/V"),)
    zero = f"f_{{z,{index}}}"
    equations = [Equation(constant, form.constant, "V/V")]
    if _rises_from_one(form):
        gain = sympy.factor(form.constant * form.zero / form.pole)
        equations = [Equation("G", gain, "V/V")]
    equations.append(Equation(pole, form.pole_frequency, "Hz"))
    if form.shape == "shelf":
        equations.append(Equation(zero, form.zero_frequency, "Hz", shown=_pole_over_gain(form, index)))
    return (
        *equations,
        Equation(name, form.expression, "V/V", shown=form.shown(constant, pole, zero)),
    )


def _pole_over_gain(form: StandardForm, index: str) -> sympy.Expr | None:
    """Return the zero as pole over gain, which it is when the gain at DC is 1."""
    return sympy.Symbol(f"f_{index}") / sympy.Symbol("G") if _rises_from_one(form) else None


def _bias_limit(circuit: Circuit, expression: sympy.Expr) -> sympy.Expr:
    """Return the limit of a firm bias node: a filter capacitor, or divider resistors, out of bounds."""
    if "c_bias" in circuit.part_names:
        return limit_large(expression, part_symbol("c_bias"))
    if "r_top" in circuit.part_names:
        return sympy.cancel(expression.subs(part_symbol("r_bottom"), 0))
    return expression


def _is_equal_pole_case(ideal: Circuit) -> bool:
    return {"c_in", "c_g", "r_bias"} <= set(ideal.part_names)


def _cascade_step(ideal: Circuit) -> DerivationStep:
    """Derive the overall cut-off of input coupling and gain leg with equal poles."""
    output = next(opamp.output for opamp in ideal.opamps)
    whole = transfer_function(ideal.opened(*_present(ideal, "c_f")), "signal", output).expression
    equal = _equal_poles(whole)
    ratio = squared_ratio(equal)
    root = _half_power(ratio)
    factor = sympy.sqrt(root)
    limits = (
        (r"\left. f_c/f_p \right|_{G=1}", "f_c/f_p at G = 1", factor.subs(GAIN, 1)),
        (r"\left. f_c/f_p \right|_{G=2}", "f_c/f_p at G = 2", factor.subs(GAIN, 2)),
        (r"\lim_{G \to \infty} f_c/f_p", "f_c/f_p for large G", sympy.limit(factor, GAIN, sympy.oo)),
    )
    return DerivationStep(
        "cascade",
        "Two equal poles in a row",
        "Input coupling and gain leg have the same pole f_p. Where is the stage really 3 dB down?",
        "The corners do not add and do not stay: the stage cuts off above f_p unless its gain is 1.",
        (
            Equation("f_c/f_p", factor, "ratio"),
            *(Equation(name, v, "ratio", plain=plain) for name, plain, v in limits),
        ),
        (Identity("half the power at that frequency", sympy.Rational(1, 2), ratio.subs(_X, factor)),),
    )


_X = sympy.Symbol("x", positive=True)
_TAU = sympy.Symbol("tau", positive=True)


def _present(circuit: Circuit, *names: str) -> list[str]:
    return [name for name in names if name in circuit.part_names]


def _equal_poles(expression: sympy.Expr) -> sympy.Expr:
    """Put in equal time constants tau, the gain G, and s = j x / tau."""
    source = part_symbol("r_source") if expression.has(part_symbol("r_source")) else sympy.Integer(0)
    series = part_symbol("r_bias") + source
    values = {
        part_symbol("c_in"): _TAU / series,
        part_symbol("c_g"): _TAU / part_symbol("r_g"),
        part_symbol("r_f"): (GAIN - 1) * part_symbol("r_g"),
    }
    return sympy.cancel(expression.subs(values).subs(S, sympy.I * _X / _TAU))


def squared_ratio(response: sympy.Expr) -> sympy.Expr:
    """Return |H|^2 over its limit at high frequency, for a response in the real variable x.

    Parameters
    ----------
    response : sympy expression
        H at s = j x / tau.
    """
    top, bottom = sympy.fraction(sympy.together(response))
    squares = [sympy.expand(part * part.subs(sympy.I, -sympy.I)) for part in (top, bottom)]
    power = sympy.cancel(squares[0] / squares[1])
    return sympy.cancel(power / limit_large(power, _X))


def _half_power(ratio: sympy.Expr) -> sympy.Expr:
    """Return the positive x^2 at which a squared ratio, of second degree in x^2, is one half."""
    top, bottom = (sympy.Poly(part, _X) for part in sympy.fraction(ratio))
    balance = 2 * top - bottom
    a, b, c = (balance.coeff_monomial(_X**power) for power in (4, 2, 0))
    return (-b / 2 + sympy.sqrt(sympy.expand(b**2 / 4 - a * c))) / a


def _whole_step(circuit: Circuit, ideal: Circuit) -> DerivationStep:
    end = circuit.path[-1]
    whole = transfer_function(circuit, "signal", end).expression
    product = sympy.Mul(*(node_ratio(ideal, "signal", b, a).expression for a, b in pairwise(ideal.path)))
    return DerivationStep(
        "whole",
        "The whole network",
        "And with everything connected at once?",
        "With a firm bias node this is exactly the product of the pieces; the bias impedance makes the rest.",
        (Equation("H(s)", whole, "V/V"),),
        (Identity("the product of the pieces with a firm bias node", product, _bias_limit(circuit, whole)),),
    )
