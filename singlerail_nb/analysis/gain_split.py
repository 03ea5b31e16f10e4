"""A total gain over two stages in a row: what each way of splitting it gives and costs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import CircuitError, RequirementError
from ..quantities import write_quantity
from ..quantities.tables import markdown_table, text_table
from .noise import noise
from .operating_point import operating_point
from .output_load import midband_frequency
from .stage import Stage
from .window import window

_STAGES = ("two_stages", "two_stages_inverting")


@dataclass(frozen=True)
class Split:
    """One way of splitting the gain.

    Attributes
    ----------
    first, second : float
        Gain of each stage, V/V, magnitudes.
    low_cutoff, high_cutoff : float
        Of both together, Hz.
    input_noise : float
        Referred to the signal source, in mid-band, V/sqrt(Hz).
    offset : float
        How far the resting output of the second op-amp may lie from its nominal place, V.
    largest_input : float
        Signal at which the first of the two op-amps clips, Vp.
    """

    first: float
    second: float
    low_cutoff: float
    high_cutoff: float
    input_noise: float
    offset: float
    largest_input: float

    @property
    def row(self) -> tuple[str, ...]:
        """Its cells in a table."""
        top = "none" if math.isinf(self.high_cutoff) else write_quantity(self.high_cutoff, "Hz")
        cells = [(self.low_cutoff, "Hz"), (self.input_noise, "V/sqrt(Hz)"), (self.offset, "V")]
        low, noisy, moved = (write_quantity(value, unit) for value, unit in cells)
        return (
            f"{self.first:.4g}", f"{self.second:.4g}", low, top, noisy, moved,
            f"{write_quantity(self.largest_input, 'V')}p",
        )  # fmt: skip


class SplitTable(tuple[Split, ...]):
    """Several ways of splitting a gain; shows itself as a table."""

    __slots__ = ()

    @property
    def _table(self) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
        header = ("first", "second", "low end", "top end", "noise at the source", "offset", "largest input")
        return header, [split.row for split in self]

    def __repr__(self) -> str:
        return text_table(*self._table)

    def _repr_markdown_(self) -> str:
        return markdown_table(*self._table)


def total_gain(stage: Stage) -> float:
    """Return the product of both ideal gains of two stages in a row, V/V, a magnitude.

    Parameters
    ----------
    stage : Stage
        Two stages in a row.

    Raises
    ------
    CircuitError
        If it is another stage.
    """
    if stage.name not in _STAGES:
        raise CircuitError(
            "stage", stage.name, allowed=" or ".join(_STAGES), remedy="Only two stages in a row share a gain."
        )
    values = stage.values
    second = values["r_f_2"] / values["r_in_2"] if "r_in_2" in values else _gain(stage, "_2")
    return _gain(stage) * second


def _gain(stage: Stage, number: str = "") -> float:
    return 1.0 + stage.values[f"r_f{number}"] / stage.values[f"r_g{number}"]


def with_first_gain(stage: Stage, first: float) -> Stage:
    """Return two stages in a row with the same total gain and another gain of the first.

    The gain legs and input resistors stay as they are; the feedback resistors change.

    Parameters
    ----------
    stage : Stage
        Two stages in a row.
    first : float
        Gain of the first stage, V/V.

    Raises
    ------
    CircuitError
        If it is another stage.
    RequirementError
        If one of the two could not reach its gain: a non-inverting one has more than 1.
    """
    total = total_gain(stage)
    inverts = "r_in_2" in stage.values
    most = math.inf if inverts else total
    if not 1.0 < first < most:
        limit = "above 1" if inverts else f"above 1 and below {total:.4g}"
        raise RequirementError(
            "first", f"{first:.4g}", allowed=f"{limit}: a non-inverting stage has a gain above 1",
            remedy=f"Equal gains would be {math.sqrt(total):.4g} each.",
        )  # fmt: skip
    values, second = stage.values, total / first
    around = second * values["r_in_2"] if inverts else (second - 1.0) * values["r_g_2"]
    return stage.with_parts(r_f=(first - 1.0) * values["r_g"], r_f_2=around)


def gain_split(stage: Stage, first_gains: Sequence[float]) -> SplitTable:
    """Return what several ways of splitting the gain of two stages in a row give.

    Parameters
    ----------
    stage : Stage
        Two stages in a row; their total gain stays.
    first_gains : sequence of float
        Gains of the first stage, V/V.

    Raises
    ------
    CircuitError
        If it is another stage.
    RequirementError
        If a gain cannot be reached.
    """
    total = total_gain(stage)
    return SplitTable(_split(with_first_gain(stage, gain), gain, total / gain) for gain in first_gains)


def _split(stage: Stage, first: float, second: float) -> Split:
    whole = stage.transfer("signal", "output")
    middle = midband_frequency(stage)
    low, high = operating_point(stage, spread="worst").voltage_range("amp_out_2")
    resting = operating_point(stage).voltage("amp_out_2")
    reached = [
        window(stage, amplifier=pins.name).swing / 2.0 / abs(stage.transfer("signal", pins.output)(middle))
        for pins in stage.circuit.opamps
    ]
    return Split(
        first,
        second,
        low_cutoff=whole.low_cutoff(),
        high_cutoff=whole.high_cutoff(),
        input_noise=float(noise(stage).density(middle, "output")) / whole.midband_gain(),
        offset=max(high - resting, resting - low),
        largest_input=min(reached),
    )
