"""The schematic of a stage and its text alternative."""

from __future__ import annotations

from ...analysis.operating_point import OperatingPoint, operating_point
from ...analysis.stage import Stage
from ...quantities import write_quantity
from .chains import SUPPLY
from .description import describe, title_of
from .drawing import Wish, draw
from .svg import write_svg

POLARISED_FROM = 0.05
"""Resting voltage in V from which the more positive side of a capacitor is marked."""
NEGLIGIBLE = 1e-6
"""Resting voltages below this, in V, are written as zero."""
DRIFTS, AT_RAIL = "drifts", "at rail"
"""Written instead of a voltage: no DC path; the loop would need more than the rail."""


def schematic_svg(stage: Stage, *, values: bool = True, voltages: bool = False, resting: bool = True) -> str:
    """Return the schematic of a stage as one standalone SVG, drawn from its circuit.

    Lines take the text colour of their surroundings.  Each value is a text element with
    ``data-part``, each node name one with ``data-node``; a capacitor with more than 50 mV across it
    at rest has a + where the + of a polarised part belongs.

    Parameters
    ----------
    stage : Stage
        The stage.
    values : bool
        Whether to write values; without them, the text alternative has none either.
    voltages : bool
        Whether to write the resting voltage beside each node name, in V.
    resting : bool
        Whether its text alternative may state resting voltages; not where a student is to find them.

    Returns
    -------
    str
        The same text for the same stage, always.

    Raises
    ------
    CircuitError
        If the circuit is too tangled for the drawing rules.
    """
    rest = operating_point(stage)
    plus, texts = _plus_terminals(rest), _values(stage) if values else {}
    drawing = draw(stage.circuit, Wish(tuple(texts.items()), tuple(plus.items()), voltages))
    at_rest = _resting(rest)
    description = describe(stage, texts, at_rest if resting and (values or voltages) else {}, plus)
    sources = {source.name for source in stage.circuit.sources}
    beside = {node: volts for node, volts in at_rest.items() if voltages and node not in sources}
    return write_svg(drawing, title_of(stage), description, texts, beside)


def schematic_text(stage: Stage, *, values: bool = True, resting: bool = True) -> str:
    """Return the text alternative of the schematic: topology, parts, values, resting voltages.

    Parameters
    ----------
    stage : Stage
        The stage.
    values : bool
        Whether to state values and resting voltages.
    resting : bool
        Whether to state resting voltages beside the values; not where a student is to find them.
    """
    rest = operating_point(stage)
    texts, at_rest = (_values(stage), _resting(rest)) if values else ({}, {})
    return describe(stage, texts, at_rest if resting else {}, _plus_terminals(rest))


def _values(stage: Stage) -> dict[str, str]:
    parts = {part.name: write_quantity(stage.values[part.name], part.unit) for part in stage.circuit.parts}
    levels = {name: write_quantity(volts, "V") for name, volts in stage.levels.items()}
    return {**parts, **levels, SUPPLY: write_quantity(stage.supply, "V")}


def _plus_terminals(rest: OperatingPoint) -> dict[str, int]:
    """Return the more positive terminal of each capacitor with a clear resting voltage."""
    states = [state for state in rest.capacitors if abs(state.voltage) >= POLARISED_FROM]
    return {state.name: 0 if state.voltage > 0 else 1 for state in states}


def _resting(rest: OperatingPoint) -> dict[str, str]:
    """Return a text for the resting voltage of each node; none where the output cannot get there."""
    circuit, supply = rest.stage.circuit, rest.stage.supply
    texts = {}
    for node in circuit.nodes:
        volts = rest.voltages.get(node)
        texts[node] = DRIFTS if volts is None else write_quantity(_tidy(volts), "V")
    for opamp in circuit.opamps:
        if not -NEGLIGIBLE <= rest.voltages.get(opamp.output, 0.0) <= supply + NEGLIGIBLE:
            for node in _following(rest, opamp.output):
                del texts[node]
            texts[opamp.output] = AT_RAIL
    return texts


def _tidy(volts: float) -> float:
    return 0.0 if abs(volts) < NEGLIGIBLE else volts


def _following(rest: OperatingPoint, output: str) -> set[str]:
    """Return an op-amp output with the nodes that it drives through resistors."""
    circuit = rest.stage.circuit
    held = {"ground", *(s.name for s in circuit.sources), *(o.output for o in circuit.opamps)}
    found, waiting = {output}, [output]
    for node in waiting:
        near = {n for part in circuit.resistors if node in part.nodes for n in part.nodes}
        waiting += sorted(near - held - found)
        found |= near - held
    return found
