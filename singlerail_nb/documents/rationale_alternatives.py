"""Section of a design rationale on other topologies and bias sources, and why they were not taken."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

from ..analysis.supply_rejection import supply_rejection
from ..circuit.bias_sources import bias_circuit
from ..designing.bias_comparison import bias_comparison
from ..designing.bias_conditions import BiasConditions
from ..designing.bias_sizing import BiasChoice, RailRange
from ..designing.bias_table import table_lines
from ..designing.synthesis import TOPOLOGIES, Design, design
from ..designing.usual_bias import usual_choices
from ..errors import SingleRailError
from .document import Block, Heading, Items, Table
from .key_figures import RIPPLE_LINE, KeyFigure
from .wording import typeset


def alternatives(made: Design) -> Iterator[Block]:
    """Yield other topologies and bias sources with their figures, and why they were not taken.

    Parameters
    ----------
    made : Design
        The design.
    """
    chosen = _criteria(made)
    rows = []
    for topology in TOPOLOGIES:
        try:
            other = made if topology == made.topology else design(made.requirements, topology)
        except SingleRailError as error:
            why = f"rejected: {error.quantity} {error.value}; possible is {error.allowed}"
            rows.append((topology, *("-" for _ in chosen), why))
            continue
        figures = _criteria(other)
        verdict = "chosen" if other is made else _against(chosen, figures)
        rows.append((topology, *(figure.text for figure in figures), verdict))
    yield Heading("Alternatives")
    header = ("topology", *(figure.name for figure in chosen), "verdict")
    yield Table(header, tuple(rows), "Topologies for the same requirements.")
    yield from _bias_sources(made)


def _criteria(made: Design) -> tuple[KeyFigure, ...]:
    """Return what topologies are compared by: more of the first is better, less of the others."""
    stage = made.stage
    impedance = stage.midband_input_impedance()
    ripple = 20.0 * math.log10(abs(supply_rejection(stage).total(RIPPLE_LINE)))
    capacitance = sum(v for n, v in stage.values.items() if n.startswith("c_"))
    return (
        KeyFigure("input impedance", impedance, "ohm"),
        KeyFigure(f"rail to output, {RIPPLE_LINE:g} Hz", ripple, "dB"),
        KeyFigure("sum of capacitance", capacitance, "F"),
    )


def _against(chosen: tuple[KeyFigure, ...], other: tuple[KeyFigure, ...]) -> str:
    signs = (1.0, -1.0, -1.0)
    gains = {f.name: s * (f.value - c.value) for s, c, f in zip(signs, chosen, other, strict=True)}
    better, worse = [n for n, g in gains.items() if g > 0], [n for n, g in gains.items() if g < 0]
    words = [f"{how} in {', '.join(names)}" for how, names in (("better", better), ("worse", worse)) if names]
    return f"possible, not chosen: {'; '.join(words) or 'no difference'}"


def _bias_sources(made: Design) -> Iterator[Block]:
    needed = made.requirements
    demands = needed.demands
    conditions = BiasConditions(
        RailRange(needed.lowest_supply, needed.supply, needed.highest_supply),
        lines=(RIPPLE_LINE,),
        band=(demands.number("noise_low"), demands.number("noise_high")),
    )
    usual = usual_choices(made.stage, conditions)
    choices = _with_own(made, usual.choices)
    compared = replace(bias_comparison(made.stage, conditions, choices), impossible=usual.impossible)
    head, *lines = table_lines(conditions, compared.rows)
    yield Table(
        ("property", *head[1:]), tuple(tuple(line) for line in lines),
        "Bias sources on the same stage: the chosen one as it is designed, the others sized by their usual "
        "rules. Zener, reference and follower are invented class figures.",
    )  # fmt: skip
    if compared.notes:
        yield Items(tuple(typeset(note) for note in compared.notes))


def _with_own(made: Design, usual: Mapping[str, BiasChoice]) -> dict[str, BiasChoice]:
    """Return the usual choices, with the bias source of the design in place of that of its kind."""
    stage = made.stage
    known = {**stage.values, **stage.levels}
    circuit = bias_circuit(stage.bias)
    names = (*circuit.part_names, *(source.name for source in circuit.level_sources))
    own = BiasChoice(stage.bias, {name: known[name] for name in names if name in known}, ())
    kinds = {choice.bias for choice in usual.values()}
    found = {
        f"{name}, chosen" if choice.bias == stage.bias else name: own if choice.bias == stage.bias else choice
        for name, choice in usual.items()
    }
    return found if stage.bias in kinds else {f"{stage.bias}, chosen": own, **found}
