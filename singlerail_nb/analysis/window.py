"""How far the output can swing before something clips: output range, input range, bias point.

Everything on one volts axis, at the lowest, the nominal and the highest rail.  The swing is that of
the op-amp output, Vpp of a symmetric signal about the resting voltage.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

from ..circuit.opamp import OpAmp
from ..circuit.opamp_figures import Spread
from ..errors import CircuitError, QuantityError
from ..quantities import QuantityLike, read_quantity, write_quantity
from ..quantities.tables import markdown_table, text_table
from .network import require_stage
from .operating_point import operating_point
from .output_load import midband_frequency, output_load
from .rail_window import BestBias, RailWindow, best_bias
from .stage import Stage


@dataclass(frozen=True)
class Window:
    """The windows of a stage over its rail.

    Attributes
    ----------
    stage : Stage
        The stage.
    opamp : OpAmp or None
        The amplifier the limits are of; None reaches both rails.
    load : float
        What the output drives in mid-band, ohm.
    rails : tuple of RailWindow
        Ascending: lowest, nominal, highest rail.
    amplifier : str
        Name of the op-amp in the circuit.
    """

    stage: Stage
    opamp: OpAmp | None
    load: float
    rails: tuple[RailWindow, ...]
    amplifier: str

    @property
    def text(self) -> str:
        """Swing and first limit at every rail, and the best bias point, as plain text."""
        return "\n".join([self._headline, text_table(*self._table), self._best])

    def __repr__(self) -> str:
        return self.text

    def _repr_markdown_(self) -> str:
        return "\n\n".join([f"**{self._headline}**", markdown_table(*self._table), self._best])

    @property
    def _headline(self) -> str:
        name = "ideal" if self.opamp is None else self.opamp.name
        load = "no load" if math.isinf(self.load) else write_quantity(self.load, "ohm", 3)
        return f"Output swing of {self.amplifier} ({name}), mid-band load {load}"

    @property
    def _table(self) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
        header = ("rail", "rests at", "largest swing", "first limit")
        return header, [
            (
                write_quantity(rail.supply, "V"),
                write_quantity(sum(rail.output_rest) / 2.0, "V"),
                write_quantity(rail.swing, "Vpp") if rail.swing else "none",
                rail.limited_by,
            )
            for rail in self.rails
        ]

    @property
    def _best(self) -> str:
        best = self.best_bias
        if not best.swing:
            return "No bias point serves every rail."
        return f"Best bias point {self.best_places()}: {write_quantity(best.swing, 'Vpp')}"

    @property
    def worst(self) -> RailWindow:
        """The rail with the smallest swing."""
        return min(self.rails, key=lambda rail: min(rail.limits.values()))

    @property
    def swing(self) -> float:
        """Largest symmetric swing that every rail allows, Vpp."""
        return self.worst.swing

    @cached_property
    def best_bias(self) -> BestBias:
        """The bias point with the largest swing at the worst rail, and what moving there buys."""
        share = self.stage.transfer("supply", "bias")(0.0).real * self.stage.supply
        nominal = next(rail for rail in self.rails if rail.supply == self.stage.supply)
        return best_bias(self.rails, follows_rail=bool(share > 0.5 * nominal.bias))

    def best_places(self, digits: int = 4) -> str:
        """Return where the bias lies best, in words: each voltage with its rail.

        Parameters
        ----------
        digits : int
            Significant digits.
        """
        places = zip(self.best_bias.volts, self.rails, strict=False)  # no voltages: nothing fits
        texts = [[write_quantity(v, "V", digits) for v in (volts, rail.supply)] for volts, rail in places]
        return ", ".join(f"{volts} on the {rail} rail" for volts, rail in texts) or "none on these rails"


def window(
    stage: Stage,
    *,
    supply_min: QuantityLike | None = None,
    supply_max: QuantityLike | None = None,
    amplifier: str | None = None,
    linear: bool = True,
    spread: Spread = "typical",
) -> Window:
    """Return how far the output can swing, at the lowest, the nominal and the highest rail.

    Parameters
    ----------
    stage : Stage
        The stage.
    supply_min, supply_max : float or str, optional
        Range of the rail, V; the nominal supply unless given.
    amplifier : str, optional
        Which op-amp of the stage; the last one of the signal path unless given, which clips first.
    linear : bool
        Whether the output keeps the distance from the rails that full open-loop gain needs.
    spread : "typical" or "worst"
        Which figures make the DC errors.

    Returns
    -------
    Window
        Empty windows are no error; `analysis.window_findings.findings` says what to change.

    Raises
    ------
    QuantityError
        If the range of the rail does not enclose the nominal supply, an input drifts, or this is no stage.
    UnknownNameError
        If the op-amp does not exist.
    CircuitError
        If the stage has no mid-rail bias about which a signal swings.
    """
    _require_bias(stage)
    name = amplifier or _last_amplifier(stage)
    pins, record = stage.circuit.opamp(name), stage.opamp
    f = midband_frequency(stage)
    load = abs(output_load(stage, f, name))
    moves = [abs(stage.transfer("signal", node)(f)) for node in (pins.output, pins.plus)]
    gain = moves[0] / moves[1] if moves[1] > _STILL * moves[0] else math.inf
    found = []
    for volts in _rails(stage.supply, supply_min, supply_max):
        rest, full = operating_point(replace(stage, supply=volts), spread=spread), (0.0, volts)
        found.append(
            RailWindow(
                supply=volts,
                output_range=full if record is None else record.output_range(volts, load, linear=linear),
                input_range=full if record is None else record.input_range(volts),
                output_rest=rest.voltage_range(pins.output),
                input_rest=rest.voltage_range(pins.plus),
                gain=gain,
                bias=rest.voltage("bias"),
            )
        )
    return Window(stage, record, load, tuple(found), name)


def _last_amplifier(stage: Stage) -> str:
    path = stage.circuit.path
    return max((o for o in stage.circuit.opamps if o.output in path), key=lambda o: path.index(o.output)).name


def _require_bias(stage: Stage) -> None:
    require_stage(stage)
    if not stage.circuit.has_node("bias"):
        raise CircuitError(
            "window", f"the {stage.name} stage", allowed="a stage that swings about a mid-rail bias",
            remedy="A level shift has two end points instead: level_shift(...).ends states their window.",
        )  # fmt: skip


_STILL = 1e-3
"""A + input that moves less than this share of the output counts as resting."""


def _rails(nominal: float, lowest: QuantityLike | None, highest: QuantityLike | None) -> list[float]:
    low = nominal if lowest is None else read_quantity(lowest, "V", name="supply_min")
    high = nominal if highest is None else read_quantity(highest, "V", name="supply_max")
    if not 0 < low <= nominal <= high:
        raise QuantityError(
            "rail",
            f"{low:g} V to {high:g} V",
            allowed=f"a range that encloses the nominal {nominal:g} V",
            remedy="Give supply_min <= supply <= supply_max.",
        )
    return sorted({low, nominal, high})
