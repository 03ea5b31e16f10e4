"""The text alternative of a schematic: topology, parts, values, polarity, resting voltages."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ...analysis.stage import Stage
from ...circuit.bias_sources import BIAS_TITLES
from ...circuit.elements import GROUND, Part
from ...circuit.printed_names import symbol_name
from .chains import SUPPLY, Chain, chains, with_zeners


def title_of(stage: Stage) -> str:
    """Return the title of a schematic.

    Parameters
    ----------
    stage : Stage
        The stage.
    """
    return f"Schematic: {stage.title}"


def describe(
    stage: Stage, values: Mapping[str, str], rest: Mapping[str, str], plus: Mapping[str, int]
) -> str:
    """Return a schematic in words, one sentence for each chain of parts.

    Parameters
    ----------
    stage : Stage
        The stage.
    values : mapping of str to str
        Value texts; empty to describe it without values.
    rest : mapping of str to str
        Text of the resting voltage of each node; empty to leave them out.
    plus : mapping of str to int
        For each capacitor with a resting voltage: the terminal that is more positive.
    """
    return " ".join(_sentences(stage, values, rest, plus))


def _sentences(
    stage: Stage, values: Mapping[str, str], rest: Mapping[str, str], plus: Mapping[str, int]
) -> Iterator[str]:
    rail = f", {symbol_name(SUPPLY)} = {values[SUPPLY]}" if values else f" {symbol_name(SUPPLY)}"
    bias = f"bias: {_inside(BIAS_TITLES[stage.bias])}" if stage.type.uses_bias else "no mid-rail bias"
    yield f"{stage.title} on one supply rail{rail}; {bias}."
    for opamp in stage.circuit.opamps:
        yield (
            f"{opamp.label}, an op-amp between {symbol_name(SUPPLY)} and ground: + input at {opamp.plus}, "
            f"- input at {opamp.minus}, output at {opamp.output}."
        )
    shown, zeners = with_zeners(stage.circuit)
    for source in shown.sources:
        if source.kind == "driven" and source.name != SUPPLY:
            yield f"{source.label} between {source.name} and ground."
    for source in shown.level_sources:
        level = f", {values[source.name]}" if values else ""
        yield f"{source.label} from {symbol_name(SUPPLY)}{level}: drives {source.name}."
    for chain in chains(shown):
        begin = next(
            (s.name for s in shown.sources if s.name in chain.ends), chain.ends[chain.ends[0] == GROUND]
        )
        yield _chain(chain.seen_from(begin), zeners, values, plus)
    wires = [part for part in stage.parts if part.name not in stage.circuit.part_names]
    for part in wires:
        yield f"{symbol_name(part.name)} is 0 and drawn as a wire."
    if rest:
        yield "At rest: " + ", ".join(f"{node} {volts}" for node, volts in rest.items()) + "."


def _chain(
    chain: Chain, zeners: Mapping[str, str], values: Mapping[str, str], plus: Mapping[str, int]
) -> str:
    parts = [_part(part, zeners, values, plus) for part in chain.parts]
    one, other = (symbol_name(SUPPLY) if node == SUPPLY else node for node in chain.ends)
    return f"From {one} to {other}: {', '.join(parts)}."


def _part(part: Part, zeners: Mapping[str, str], values: Mapping[str, str], plus: Mapping[str, int]) -> str:
    value = f" = {values[part.name]}" if values else ""
    notes = [_inside(part.label)]
    if part.name in plus:
        notes.append(f"+ at {part.nodes[plus[part.name]]}")
    if part.name in zeners:
        level = f" = {values[zeners[part.name]]}" if values else ""
        notes.append(f"drawn as a Zener, knee voltage {zeners[part.name]}{level}")
    elif part.one_way:
        notes.append(f"conducts from {part.nodes[0]} only")
    return f"{symbol_name(part.name)}{value} ({', '.join(notes)})"


def _inside(text: str) -> str:
    """Return a label as it stands inside a sentence."""
    return text if text.startswith("Zener") else text[0].lower() + text[1:]
