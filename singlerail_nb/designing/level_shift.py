"""From two points to a level shift: Vout = m Vin + b on one supply rail.

Procedure: points -> slope and intercept -> signs -> circuit -> exact values -> preferred values ->
end points in the window at the lowest rail, with tolerances.
The four forms: R. Mancini (ed.), Op Amps for Everyone, TI SLOD006, chapter 4.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ..analysis.stage import Stage
from ..circuit.opamp import OpAmp
from ..quantities import QuantityLike, read_quantity, write_quantity
from ..quantities.tables import markdown_table
from .preferred_values import series as known_series
from .shift_checks import ROUNDING, Wanted, read_wanted
from .shift_ends import EndPoint, end_points
from .shift_forms import Line, Plan
from .shift_opamp import check_opamp
from .shift_parts import find_parts
from .shift_plans import plan_for
from .shift_steps import shift_steps
from .steps import DesignStep

PIN_CURRENT = 1e-3
"""Current into an op-amp pin that no protection diode minds, A (common practice, no published source)."""
_DIODE = 0.6


@dataclass(frozen=True)
class LevelShift:
    """A line, its circuit, and how near the circuit comes to the line.

    Attributes
    ----------
    wanted : Wanted
        The points, the rails and the reference that were asked for.
    slope : float
        m, V/V.
    intercept : float
        b, V.
    form : str
        Signs of the two: "+m +b", "+m -b", "-m +b", "-m -b", or without b.
    stage : Stage
        With preferred values.
    exact : Stage
        With exact values: it meets both points, but for a gain within 0.1 % of 1, which is a follower.
    steps : tuple of DesignStep
        How each part was found.
    ends : tuple of EndPoint
        What comes out at the two points.
    """

    wanted: Wanted
    slope: float
    intercept: float
    form: str
    stage: Stage
    exact: Stage
    steps: tuple[DesignStep, ...]
    ends: tuple[EndPoint, ...]

    @property
    def is_ratiometric(self) -> bool:
        """Whether the rail itself is the reference: then every output follows the rail and its ripple."""
        return self.wanted.reference == self.wanted.supply

    @property
    def fits(self) -> bool:
        """Whether both end points stay in the window at the lowest rail, with all tolerances."""
        return all(end.fits for end in self.ends)

    @property
    def error(self) -> float:
        """Largest error of the chosen parts at an end point, as a ratio of the output span."""
        return max(abs(end.error) for end in self.ends) / self.wanted.span

    @property
    def unpowered_current(self) -> float:
        """Current into the op-amp pin when the rail is off and the source is not, A.

        The farther end point drives a protection diode through the resistors before the pin.
        """
        names = [name for name in ("r_source", "r_in") if name in self.stage.values]
        ohms = sum(self.stage.values[name] for name in names)
        volts = max(max(abs(x) for x in self.wanted.inputs) - _DIODE, 0.0)
        return volts / ohms if ohms else (float("inf") if volts else 0.0)

    @property
    def text(self) -> str:
        """The result as plain text."""
        sign = "+" if self.intercept >= 0 else "-"
        line = f"Vout = {self.slope:.6g} Vin {sign} {abs(self.intercept):.6g} V"
        lines = [f"{line}  ({self.form}: {self.stage.title.lower()})"]
        lines += [f"  {step.symbol:<12} {write_quantity(step.chosen, step.unit):>10}" for step in self.steps]
        lines += [f"  {end}" for end in self.ends]
        lines += [f"  {note}" for note in self.notes]
        return "\n".join(lines)

    @property
    def notes(self) -> tuple[str, ...]:
        """What to know before building it."""
        notes = []
        if self.is_ratiometric:
            notes.append("The rail is the reference: the outputs follow the rail and its ripple.")
        if self.unpowered_current > PIN_CURRENT:
            pushed = write_quantity(self.unpowered_current, "A")
            notes.append(
                f"With the rail off the source can push {pushed} into the op-amp's pin: put a resistor "
                "before it, or larger ones."
            )
        if not self.fits:
            notes.append("With tolerances an end point leaves the window: see the end points.")
        return tuple(notes)

    def __repr__(self) -> str:
        return self.text

    def _repr_markdown_(self) -> str:
        header = ("input", "wanted", "with these parts", "error", "lowest", "highest", "window")
        table = markdown_table(header, [end.row for end in self.ends])
        parts = markdown_table(
            ("part", "value", "code", "exact", "rounding", "gives"), [step.row for step in self.steps]
        )
        sign = "+" if self.intercept >= 0 else "-"
        line = f"$V_{{out}} = {self.slope:.6g}\\,V_{{in}} {sign} {abs(self.intercept):.6g}\\,\\mathrm{{V}}$"
        return "\n\n".join([line, parts, table, *self.notes])


def level_shift(
    *,
    points: Sequence[tuple[QuantityLike, QuantityLike]],
    reference: QuantityLike,
    supply: QuantityLike,
    supply_min: QuantityLike | None = None,
    opamp: OpAmp | None = None,
    source_resistance: QuantityLike = 0.0,
    load: QuantityLike | None = None,
    bandwidth: QuantityLike | None = None,
    accuracy: QuantityLike = 0.01,
    tolerance: QuantityLike = 0.01,
    reference_tolerance: QuantityLike = 0.0,
    series: str = "E24",
    resistance: QuantityLike = 10e3,
) -> LevelShift:
    """Return the level shift through two points.

    Parameters
    ----------
    points : sequence of two (float or str, float or str)
        (input, output), V.
    reference : float or str
        V, at most the lowest rail; equal to the supply, it stands for the rail itself.
    supply, supply_min : float or str
        Nominal and lowest rail, V; the lowest is the nominal one unless given.
    opamp : OpAmp, optional
        The amplifier; ideal, with an output from rail to rail, unless given.
    source_resistance, load : float or str
        Ohm; the source counts with the input resistor, the output swing depends on the load.
    bandwidth : float or str, optional
        Signal bandwidth that is needed, Hz.
    accuracy, tolerance, reference_tolerance : float or str
        Ratios: what the op-amp may add as error to the span; of the resistors; of the reference.
    series, resistance : str, float or str
        IEC 60063 series; start of the decade of the resistors that are free, ohm.

    Raises
    ------
    QuantityError
        If a quantity cannot be read.
    RequirementError
        If the points are equal, an end point lies outside the rail, the reference does not exist
        on this rail or is too low, or the op-amp cannot do it.
    UnknownNameError
        If the series does not exist.
    """
    known_series(series)
    wanted = read_wanted(points, reference, supply, supply_min, source_resistance, load, opamp)
    ratios = {"accuracy": accuracy, "tolerance": tolerance, "reference_tolerance": reference_tolerance}
    limits = tuple(read_quantity(v, "%", name=n, low=0.0, high=0.5) for n, v in ratios.items())
    start = read_quantity(resistance, "ohm", name="resistance", low=100.0, high=1e6)
    band = None if bandwidth is None else read_quantity(bandwidth, "Hz", name="bandwidth", low=1e-3, high=1e8)
    return _made(wanted, series, start, band, limits)


def _made(
    wanted: Wanted, series: str, start: float, band: float | None, limits: tuple[float, ...]
) -> LevelShift:
    """Choose the parts and judge them; ``limits`` are accuracy and the two tolerances, ratios."""
    share, spread, of_reference = limits
    line = line_through(wanted)
    plan = plan_for(line, start)
    found = find_parts(plan, line, wanted.inputs, wanted.source_resistance, series)
    chosen, exact = (_stage(plan, wanted, parts) for parts in (found.chosen, found.exact))
    check_opamp(chosen, wanted, share, band)
    return LevelShift(
        wanted=wanted,
        slope=line.slope,
        intercept=line.intercept,
        form=line.form,
        stage=chosen,
        exact=exact,
        steps=shift_steps(plan, line, found, wanted.source_resistance, series),
        ends=end_points(found.circuit, chosen.parameters, wanted, spread, of_reference),
    )


def _stage(plan: Plan, wanted: Wanted, parts: Mapping[str, float]) -> Stage:
    values = {"r_source": wanted.source_resistance, **parts}
    if wanted.load is not None:
        values["r_load"] = wanted.load
    return Stage(plan.stage, wanted.supply, values, wanted.opamp, levels={"reference": wanted.reference})


def line_through(wanted: Wanted) -> Line:
    """Return the line through the two points.

    Parameters
    ----------
    wanted : Wanted
        What was asked for.
    """
    (x1, y1), (x2, y2) = wanted.points
    slope = (y2 - y1) / (x2 - x1)
    intercept = y1 - slope * x1
    negligible = abs(intercept) < ROUNDING * max(abs(y1), abs(y2))
    return Line(slope, 0.0 if negligible else intercept, wanted.reference)
