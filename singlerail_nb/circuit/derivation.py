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

from .bias_derivation import bias_alone, bias_steps, with_firm_bias
from .branches import branches_between, impedance_between
from .circuit import Circuit
from .derivation_steps import Derivation, DerivationStep, Equation, Identity, with_unique_keys
from .elements import GROUND
from .equal_poles import cascade_step, is_equal_pole_case
from .network_functions import node_ratio, transfer_function
from .several_inputs import further_inputs, has_line, line_step, with_quiet_sources
from .standard_forms import StandardForm, standard_form


@lru_cache(maxsize=64)
def derivation(circuit: Circuit) -> Derivation:
    """Return the derivation of a circuit with ideal op-amps.

    Parameters
    ----------
    circuit : Circuit
        Sound circuit, absent parts removed (``stage.circuit``).
    """
    steps = bias_steps(circuit)
    ideal = with_quiet_sources(with_ideal_bias(circuit))
    amplifiers = couplings = 0
    for start, end in pairwise(ideal.path):
        if any(opamp.output == end for opamp in ideal.opamps):
            amplifiers += 1
            steps.append(_amplifier_step(circuit, ideal, (start, end), amplifiers))
        else:
            inside = start != "signal" and end != ideal.path[-1]
            couplings += inside
            steps.append(_coupling_step(circuit, ideal, (start, end), couplings))
    if is_equal_pole_case(ideal):
        steps.append(cascade_step(ideal))
    if has_line(circuit):
        steps.append(line_step(circuit))
    steps.append(_whole_step(circuit, ideal))
    return Derivation(with_unique_keys(steps))


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


_COUPLINGS = {
    "input": ("The input", "in"),
    "coupling": ("The coupling between the stages", ""),
    "output": ("The output coupling", "out"),
}


def _counted(index: str, number: int) -> str:
    """Return the index of the symbols of a step: ``a`` for the first amplifier, ``a2`` for the second."""
    return index if number < 2 else f"{index}{number}"


def _coupling_step(circuit: Circuit, ideal: Circuit, piece: tuple[str, str], number: int) -> DerivationStep:
    start, end = piece
    form = standard_form(node_ratio(ideal, "signal", end, start).expression)
    key = "input" if start == "signal" else "output" if end == ideal.path[-1] else "coupling"
    title, index = _COUPLINGS[key]
    index = index or f"{number}{number + 1}"
    if key == "input" and ideal.capacitors:
        title = "The input coupling"
    whole = with_firm_bias(circuit, node_ratio(circuit, "signal", end, start)).expression
    return DerivationStep(
        key,
        title,
        f"What does the way from {start} to {end} do to a signal?",
        _coupling_remark(form),
        _form_equations(form, index),
        (Identity("the whole network with a firm bias node", form.expression, whole),),
    )


def _coupling_remark(form: StandardForm) -> str:
    if form.shape == "constant":
        return "The resistors divide; a source resistance counts among them."
    if form.natural is not None:
        return "Two poles that may be complex: the frequency f_0, and the quality factor Q as its peaking."
    return "Every resistance in series with the capacitor counts, on both of its sides."


def _amplifier_step(circuit: Circuit, ideal: Circuit, piece: tuple[str, str], number: int) -> DerivationStep:
    (start, end), later = piece, f",{number}" if number > 1 else ""
    opamp = next(o for o in ideal.opamps if o.output == end)
    function = node_ratio(ideal, "signal", end, start).expression
    form = standard_form(function)
    equations: list[Equation] = []
    identities = [
        Identity(
            "the whole network with a firm bias node",
            form.expression,
            with_firm_bias(circuit, node_ratio(circuit, "signal", end, start)).expression,
        )
    ]
    far = GROUND if start == opamp.plus else start
    if opamp.minus != end and _has_leg(ideal, opamp.minus, end, far):
        first, second = _leg_and_feedback(ideal, opamp.minus, end, far)
        equations += [
            Equation(_below("Z", f"1{later}"), first, "ohm"),
            Equation(_below("Z", f"2{later}"), second, "ohm"),
        ]
        stated = 1 + second / first if far == GROUND else -second / first
        identities.append(Identity("the gain from the two impedances", stated, function))
    equations += _form_equations(form, _counted("a", number), _below("G", later[1:]))
    return DerivationStep(
        "amplifier",
        "The amplifier",
        f"What does the op-amp make of the voltage at {start}?",
        _amplifier_remark(form),
        tuple(equations),
        tuple(identities),
    )


def _has_leg(ideal: Circuit, minus: str, end: str, far: str) -> bool:
    """Return whether a branch leads from the summing node to the far end, and one to the output."""
    return all(branches_between(ideal, minus, node) for node in (far, end))


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


def _below(name: str, index: str) -> str:
    """Return a name with an index below it, as LaTeX."""
    return f"{name}_{{{index}}}" if len(index) > 1 else f"{name}_{index}" if index else name


def _form_equations(form: StandardForm, index: str, gain_name: str = "G") -> tuple[Equation, ...]:
    name, constant, pole = f"H_{{{index}}}(s)", f"k_{{{index}}}", f"f_{{{index}}}"
    if form.shape in ("constant", "other"):
        return (Equation(name, form.constant, "V/V"),)
    if form.natural is not None:
        return (
            Equation(constant, form.constant, "V/V"),
            Equation(f"f_{{0,{index}}}", form.natural_frequency, "Hz"),
            Equation(f"Q_{{{index}}}", form.quality, "ratio"),
            Equation(name, form.expression, "V/V"),
        )
    if form.shape == "low-pass":
        pole = f"f_{{h,{index}}}"
    zero = f"f_{{z,{index}}}"
    equations = [Equation(constant, form.constant, "V/V")]
    if _rises_from_one(form):
        gain = sympy.factor(form.constant * form.zero / form.pole)
        equations = [Equation(gain_name, gain, "V/V")]
    equations.append(Equation(pole, form.pole_frequency, "Hz"))
    if form.shape == "shelf":
        equations.append(
            Equation(zero, form.zero_frequency, "Hz", shown=_pole_over_gain(form, index, gain_name))
        )
    return (
        *equations,
        Equation(name, form.expression, "V/V", shown=form.shown(constant, pole, zero)),
    )


def _pole_over_gain(form: StandardForm, index: str, gain_name: str) -> sympy.Expr | None:
    """Return the zero as pole over gain, which it is when the gain at DC is 1."""
    return sympy.Symbol(f"f_{index}") / sympy.Symbol(gain_name) if _rises_from_one(form) else None


def _whole_step(circuit: Circuit, ideal: Circuit) -> DerivationStep:
    end = circuit.path[-1]
    function = transfer_function(circuit, "signal", end)
    whole = function.expression
    firm = with_firm_bias(circuit, function).expression
    product = sympy.Mul(*(node_ratio(ideal, "signal", b, a).expression for a, b in pairwise(ideal.path)))
    return DerivationStep(
        "whole",
        "The whole network",
        "And with everything connected at once?",
        "With a firm bias node this is exactly the product of the pieces; the bias impedance makes the rest.",
        (Equation("H(s)", whole, "V/V"), *further_inputs(circuit)),
        (Identity("the product of the pieces with a firm bias node", product, firm),),
    )
