"""Every bias source on the same stage, side by side."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import product

from ..analysis.noise import noise
from ..analysis.noise_sources import NoiseSource
from ..analysis.stage import Stage
from ..analysis.startup import startup
from ..analysis.supply_rejection import SourceState, SupplyRejection, supply_rejection
from ..circuit.bias_sources import BIAS_TITLES, bias_circuit, bias_names
from ..circuit.circuit import closest
from ..circuit.nodal_analysis import Injection
from ..errors import QuantityError, UnknownNameError
from .bias_conditions import BiasConditions, BiasRow
from .bias_problems import bias_problems
from .bias_sizing import BiasChoice
from .bias_table import plain_table, spoken, table_lines, typeset_table
from .usual_bias import usual_choices

MODEL_PARTS = frozenset({"r_buffer"})
"""Resistances inside another part, which is counted already."""


@dataclass(frozen=True, repr=False)
class BiasComparison:
    """All bias sources on one stage; shows itself as a table.

    Attributes
    ----------
    conditions : BiasConditions
        What they were compared at.
    rows : tuple of BiasRow
        One per choice.
    impossible : mapping of str to str
        Bias sources that could not even be sized, each with the reason.
    """

    conditions: BiasConditions
    rows: tuple[BiasRow, ...]
    impossible: Mapping[str, str] = field(default_factory=dict)

    def row(self, name: str) -> BiasRow:
        """Return the row of a choice.

        Parameters
        ----------
        name : str
            Its name.

        Raises
        ------
        UnknownNameError
            If there is none.
        """
        for row in self.rows:
            if row.name == name:
                return row
        names = [row.name for row in self.rows]
        raise UnknownNameError("bias source", name, allowed="a row of the table", remedy=closest(name, names))

    def __repr__(self) -> str:
        return "\n".join([plain_table(table_lines(self.conditions, self.rows)), *self.notes])

    def _repr_markdown_(self) -> str:
        table = typeset_table(table_lines(self.conditions, self.rows))
        return "\n".join([table, "", *(f"- {note}" for note in self.notes)]).rstrip()

    @property
    def notes(self) -> tuple[str, ...]:
        """What does not work, one sentence each: problems of the rows, and what could not be sized."""
        problems = [f"{spoken(row.name)}: {problem}" for row in self.rows for problem in row.problems]
        return (
            *problems,
            *(f"{spoken(name)} is not possible: {why}" for name, why in self.impossible.items()),
        )


def bias_comparison(
    stage: Stage, conditions: BiasConditions, choices: Mapping[str, BiasChoice] | None = None
) -> BiasComparison:
    """Return every bias source on the same stage, side by side.

    Parameters
    ----------
    stage : Stage
        The stage; its own bias source is exchanged.
    conditions : BiasConditions
        Rail, lines, band and figures of parts.
    choices : mapping of str to BiasChoice, optional
        Name of the row -> bias source with values; all of `usual_choices` unless given.

    Raises
    ------
    CircuitError
        If a bias source cannot work at the nominal rail at all.
    QuantityError
        If it is no stage, or a condition makes no sense.
    """
    for name, given, wanted in (("stage", stage, Stage), ("conditions", conditions, BiasConditions)):
        if not isinstance(given, wanted):
            raise QuantityError(
                name,
                type(given).__name__,
                allowed=f"a {wanted.__name__}",
                remedy="Write bias_comparison(design.stage, BiasConditions.on(supply_rail)), or with a rail "
                "of your own BiasConditions(RailRange(9, 12, 16)).",
            )
    at = replace(stage, supply=conditions.rail.nominal)
    impossible: Mapping[str, str] = {}
    if choices is None:
        usual = usual_choices(at, conditions)
        choices, impossible = usual.choices, usual.impossible
    rows = [
        _row(name, at.with_bias(choice.bias, **choice.values), conditions) for name, choice in choices.items()
    ]
    return BiasComparison(conditions, tuple(rows), impossible)


def _row(name: str, stage: Stage, conditions: BiasConditions) -> BiasRow:
    impedance = stage.node_impedance("bias")
    current = stage.divider_current() + _own_current(stage, conditions)
    drawn = current + conditions.other_current
    run = startup(
        stage,
        ramp_time=conditions.ramp_time,
        low=conditions.low,
        high=conditions.high,
        dropout=conditions.dropout,
    )
    problems = bias_problems(
        stage,
        conditions.rail,
        knee_current=conditions.knee_current,
        dropout=conditions.dropout,
        sink_current=conditions.sink_current,
        low=conditions.low,
        high=conditions.high,
    )
    return BiasRow(
        name,
        BIAS_TITLES[stage.bias],
        stage,
        volts=_bias_volts(stage),
        error=_error(stage, conditions),
        rejection_db=_rejection_db(stage, conditions, "connected"),
        open_rejection_db=_rejection_db(stage, conditions, "open"),
        impedance=tuple(abs(impedance(f)) for f in (0.0, *conditions.lines)),
        noise=_noise(stage, conditions),
        wake_up=run.settling_time("amp_out", within=conditions.within),
        current=current,
        battery_life=conditions.capacity / drawn if conditions.capacity and drawn else math.inf,
        tracking=stage.transfer("supply", "bias")(0.0).real,
        parts=_number_of_parts(stage),
        problems=problems,
    )


def rejection_on(
    stage: Stage, conditions: BiasConditions, source: SourceState = "connected"
) -> SupplyRejection:
    """Return how the rail reaches the output, with the figures that the conditions give the parts.

    Parameters
    ----------
    stage : Stage
        The stage, such as that of a row.
    conditions : BiasConditions
        Rejection of op-amps and reference.
    source : "connected" or "open"
        Whether the signal source is there.

    Raises
    ------
    QuantityError
        If a rejection makes no sense.
    """
    return supply_rejection(
        stage,
        "output",
        psrr_db=conditions.psrr_db,
        psrr_corner=conditions.psrr_corner,
        reference_db=conditions.reference_db,
        reference_corner=conditions.reference_corner,
        source=source,
    )


def _rejection_db(stage: Stage, conditions: BiasConditions, source: SourceState) -> tuple[float, ...]:
    total = rejection_on(stage, conditions, source).total
    return tuple(-float(total.magnitude_db(f)) for f in conditions.lines)


def _bias_volts(stage: Stage) -> float:
    levels = {"supply": stage.supply, **stage.levels}
    return sum(v * float(stage.transfer(name, "bias")(0.0).real) for name, v in levels.items())


def _error(stage: Stage, conditions: BiasConditions) -> tuple[float, float]:
    """Return the lowest and highest deviation over all corners of the tolerances, V."""
    own = [p.name for p in bias_circuit(stage.bias).resistors if p.name in stage.values]
    dividing = [name for name in own if name in ("r_top", "r_bottom", "r_zener")]
    tolerance = {
        **dict.fromkeys(dividing, conditions.resistor_tolerance),
        "zener": conditions.zener_tolerance,
        "reference": conditions.reference_tolerance,
    }
    now = {**stage.values, **stage.levels}
    varied = [name for name in (*dividing, *stage.levels) if name in tolerance]
    nominal = _bias_volts(stage)
    corners = []
    for signs in product((-1.0, 1.0), repeat=len(varied)):
        changed = {n: now[n] * (1.0 + s * tolerance[n]) for n, s in zip(varied, signs, strict=True)}
        corners.append(_bias_volts(stage.with_parts(**changed)) - nominal)
    more = _input_error(stage)
    return min(corners) - more, max(corners) + more


def _input_error(stage: Stage) -> float:
    """Return what bias currents and the offset of a follower can move the bias node, V."""
    record = stage.opamp
    if record is None:
        return 0.0
    pins = [pin for part in stage.circuit.opamps for pin in (part.plus, part.minus)]
    moved = [float(abs(stage.transfer(Injection(pin), "bias")(0.0))) for pin in pins]
    offset = record.figure("offset_voltage", "worst") if stage.bias == "buffered_divider" else 0.0
    return abs(record.figure("bias_current", "worst")) * sum(moved) + abs(offset)


def _noise(stage: Stage, conditions: BiasConditions) -> float:
    """Return the noise that parts of the bias source leave at the output in the band, Vrms."""
    white = {"zener": conditions.zener_noise, "reference": conditions.reference_noise}
    extra = [NoiseSource(f"{name} noise", name, white[name]) for name in stage.levels if name in white]
    own = {*bias_names(), *(f"{name} noise" for name in white)}
    found = noise(stage, extra=extra).rms_by_source(*conditions.band, "output")
    mine = (value for name, value in found.items() if name.split(" ")[0] in own or name in own)
    return math.sqrt(sum(value**2 for value in mine))


def _own_current(stage: Stage, conditions: BiasConditions) -> float:
    if "reference" in stage.levels:
        return conditions.reference_current
    if not bias_circuit(stage.bias).opamps:
        return 0.0
    given = stage.opamp is not None and stage.opamp.is_given("quiescent_current")
    return stage.opamp.quiescent_current if given and stage.opamp else conditions.follower_current


def _number_of_parts(stage: Stage) -> int:
    own = bias_circuit(stage.bias)
    return len(own.opamps) + sum(p.name in stage.values and p.name not in MODEL_PARTS for p in own.parts)
