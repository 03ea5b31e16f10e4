"""The algebra of the bias source, whichever it is: what reaches the bias node, and how firm it is.

Nothing here names a bias source.  What drives the node are the rail and every source with a level
of its own; a follower splits the way into what stands in front of it and what stands behind it.
"""

from __future__ import annotations

from collections import deque
from dataclasses import replace

import sympy

from .bias_sources import bias_names
from .circuit import Circuit
from .derivation_steps import DerivationStep, Equation, Identity
from .elements import GROUND, OpAmpPart
from .network_functions import NetworkFunction, node_ratio, transfer_function
from .nodal_analysis import Injection
from .standard_forms import StandardForm, standard_form
from .symbols import S, part_symbol


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


def bias_steps(circuit: Circuit) -> list[DerivationStep]:
    """Return the steps that derive the bias; none for a circuit without a bias source.

    Parameters
    ----------
    circuit : Circuit
        Sound circuit, absent parts removed.
    """
    alone = bias_alone(circuit)
    if not alone.parts:
        return []
    if not alone.opamps:
        return [_source_step(circuit, alone, "bias")]
    follower = alone.opamps[0]
    return [_source_step(circuit, alone, follower.plus), _follower_step(circuit, alone, follower)]


def with_firm_bias(circuit: Circuit, function: NetworkFunction) -> NetworkFunction:
    """Return a network function in the limit of a firm bias node.

    Parameters
    ----------
    circuit : Circuit
        The circuit it belongs to.
    function : NetworkFunction
        Any function of the circuit with ideal op-amps.
    """
    for part in _firming_parts(circuit):
        function = function.with_firm(part)
    return function


def _firming_parts(circuit: Circuit) -> list[str]:
    """Return what to make firm: a capacitor at the bias node, or the resistors on the way to one held."""
    alone = bias_alone(circuit)
    if not alone.parts:
        return []
    bias = circuit.node("bias")
    across = [part.name for part in alone.capacitors if set(part.nodes) == {bias, GROUND}]
    if across:
        return across[:1]
    held = {GROUND, *(s.name for s in alone.sources)}
    held |= {node for opamp in alone.opamps for node in (opamp.minus, opamp.output)}
    return _shortest_way(alone, bias, held)


def _shortest_way(alone: Circuit, start: str, ends: set[str]) -> list[str]:
    """Return the resistors on the shortest way from a node to one of some others, to ground if possible."""
    ways: dict[str, list[str]] = {start: []}
    waiting = deque([start])
    while waiting:
        node = waiting.popleft()
        if node in ends:
            continue
        for part in alone.resistors:
            if node in part.nodes:
                other = next(n for n in part.nodes if n != node)
                if other not in ways:
                    ways[other] = [*ways[node], part.name]
                    waiting.append(other)
    reached = [way for node, way in sorted(ways.items(), key=lambda item: item[0] != GROUND) if node in ends]
    return min(reached, key=len, default=[])


def _source_step(circuit: Circuit, alone: Circuit, node: str) -> DerivationStep:
    """Return the step from the rail and every level to a node that nothing loads."""
    forms = {name: form for name in _drives(alone) if (form := _form(alone, name, node)).constant != 0}
    resistance = _resistance(alone, node)
    equations = [Equation(_constant(name), form.constant, "V/V") for name, form in forms.items()]
    if list(forms) != ["supply"]:
        equations.append(_resting(forms))
    if resistance != 0:
        equations.append(Equation("R_{th}", resistance, "ohm"))
    name, form = next(iter(forms.items()))
    if form.shape == "low-pass":
        equations += [
            Equation(r"\tau_b", form.pole, "s"),
            Equation("f_b", form.pole_frequency, "Hz"),
            Equation("H_b(s)", form.expression, "V/V", shown=form.shown(_constant(name), "f_b")),
        ]
    unloaded = _without_loading(circuit, alone)
    isolated = {name: transfer_function(unloaded, name, node).expression for name in forms}
    return DerivationStep(
        "bias",
        "The mid-rail divider" if list(forms) == ["supply"] else "The mid-rail bias",
        f"What part of the rail, and of its ripple, reaches the {node} node?",
        _source_remark(forms),
        tuple(equations),
        tuple(
            Identity(
                f"{name} in the whole network with nothing drawing on it", form.expression, isolated[name]
            )
            for name, form in forms.items()
        ),
    )


def _drives(alone: Circuit) -> tuple[str, ...]:
    return ("supply", *(source.name for source in alone.level_sources))


def _form(alone: Circuit, source: str, node: str) -> StandardForm:
    return standard_form(transfer_function(alone, source, node).expression)


def _resistance(alone: Circuit, node: str) -> sympy.Expr:
    """Return the resistance of a node at DC, with all sources at zero."""
    impedance = transfer_function(alone, Injection(node), node).expression
    return sympy.factor(sympy.cancel(impedance).subs(S, 0))


def _constant(source: str) -> str:
    return "k" if source == "supply" else f"k_{{{_letter(source)}}}"


def _letter(source: str) -> str:
    return str(part_symbol(source)).partition("_")[2]


def _resting(forms: dict[str, StandardForm]) -> Equation:
    """Return where the node rests: the sum of what each source brings."""
    terms = [(form.constant, _constant(name), part_symbol(name)) for name, form in forms.items()]
    plain = (sympy.Symbol(name.replace("{", "").replace("}", "")) for _, name, _ in terms)
    shown = sympy.Add(*(k * level for k, (_, _, level) in zip(plain, terms, strict=True)))
    return Equation("V_b", sympy.Add(*(k * level for k, _, level in terms)), "V", shown=shown)


def _source_remark(forms: dict[str, StandardForm]) -> str:
    form = next(iter(forms.values()))
    if "supply" not in forms:
        return (
            "The rail is not in the formula: what gets through is the finite rejection of the part itself, "
            "and the node does not follow a rail that sags."
        )
    if list(forms) != ["supply"]:
        return (
            "The small resistance of the fixed source holds the node against the larger one from the rail: "
            "little ripple passes, and the node follows a sagging rail as little."
        )
    if form.shape == "low-pass":
        return "The capacitor sees both divider resistors in parallel, not one of them and not their sum."
    return "Without a capacitor the divider passes its share of every ripple on the rail."


def _without_loading(circuit: Circuit, alone: Circuit) -> Circuit:
    """Return the circuit with every part that could load the bias node taken away."""
    bias = circuit.node("bias")
    own = set(alone.part_names)
    return circuit.opened(*(p.name for p in circuit.parts if bias in p.nodes and p.name not in own))


def _follower_step(circuit: Circuit, alone: Circuit, follower: OpAmpPart) -> DerivationStep:
    """Return the step from the input of the follower to the bias node."""
    form = standard_form(node_ratio(alone, "supply", "bias", follower.plus).expression)
    equations = [Equation("k_f", form.constant, "V/V")]
    resistance = _resistance(alone, "bias")
    if resistance != 0:
        equations.append(Equation("R_{out}", resistance, "ohm"))
    remark = "The loop holds the bias node at the voltage of the divider, whatever is drawn from it."
    if form.shape == "low-pass":
        remark = "Only the isolation resistor stands between the loop and the capacitor at the bias node."
        equations += [
            Equation("f_f", form.pole_frequency, "Hz"),
            Equation("H_f(s)", form.expression, "V/V", shown=form.shown("k_f", "f_f")),
        ]
    unloaded = _without_loading(circuit, alone)
    isolated = node_ratio(unloaded, "supply", "bias", follower.plus).expression
    return DerivationStep(
        "follower",
        "The bias follower",
        "What does the follower make of the divider?",
        remark,
        tuple(equations),
        (Identity("the whole network with nothing drawing on the bias node", form.expression, isolated),),
    )
