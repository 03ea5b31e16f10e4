"""The same stage with another number of channels: what each further one costs all of them."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from ..circuit.bias_sources import BIAS_SOURCES
from ..circuit.circuit import Circuit, closest
from ..circuit.nodal_analysis import InputError
from ..circuit.shared_bias import channels_circuit
from ..circuit.summing import summing_circuit
from ..errors import QuantityError, UnknownNameError
from ..quantities import write_quantity
from ..quantities.tables import markdown_table, text_table
from .network import Network
from .noise import noise
from .output_load import midband_frequency
from .part_values import present
from .stage import Stage

_BUILDERS: dict[str, Callable[..., Circuit]] = {
    "summer": partial(summing_circuit, coupled=False),
    "coupled_summer": partial(summing_circuit, coupled=True),
    "two_channels": channels_circuit,
}
_REST = 2
"""The channel that stands for all but the first."""


def with_channels(stage: Stage, channels: int) -> Network:
    """Return a stage of several inputs with another number of them, each like the first.

    The first channel stays by itself.  All others carry the same signal, so they lie in parallel:
    channel 2 stands for them, its resistances divided by their number and its capacitances times it.
    That is exact for every network function, and for the thermal noise of a summer.

    Parameters
    ----------
    stage : Stage
        A summer, or channels on one bias.
    channels : int
        Number of inputs, at least 1.

    Raises
    ------
    UnknownNameError
        If the stage has no channels to count.
    QuantityError
        If the number is not a whole number from 1 on.
    """
    if stage.name not in _BUILDERS:
        raise UnknownNameError(
            "stage", stage.name, allowed="a stage with channels", remedy=closest(stage.name, _BUILDERS)
        )
    if not (isinstance(channels, int) and channels >= 1):
        raise QuantityError("channels", channels, allowed="1, 2, 3 ...", remedy="Give a whole number.")
    drawn = min(channels, _REST)
    circuit = _BUILDERS[stage.name](stage.name, BIAS_SOURCES[stage.bias], channels=drawn)
    values = {name: stage.values[name] for name in circuit.part_names if name in stage.values}
    for part in circuit.parts if drawn == _REST else ():
        first = part.name.removesuffix(f"_{_REST}")
        if first != part.name and first in stage.values:
            times = float(channels - 1)
            values[part.name] = stage.values[first] * (times if part.kind == "capacitor" else 1.0 / times)
        elif first != part.name:
            values.pop(part.name, None)
    return Network(present(circuit, values), values, stage.opamp, stage.supply)


@dataclass(frozen=True)
class ChannelCount:
    """A summer with some number of channels.

    Attributes
    ----------
    channels : int
        How many.
    noise_gain, dc_noise_gain : float
        From the op-amp's input to its output, in mid-band and at DC, V/V.
    bandwidth : float
        Top-end cut-off from one input to the output, Hz; infinity with an ideal op-amp.
    noise : float
        At the output in mid-band, V/sqrt(Hz).
    ripple : float
        From the rail to the op-amp's output through the bias at ``ripple_frequency``, V/V.
    ripple_frequency : float
        Hz.
    """

    channels: int
    noise_gain: float
    dc_noise_gain: float
    bandwidth: float
    noise: float
    ripple: float
    ripple_frequency: float

    @property
    def row(self) -> tuple[str, ...]:
        """Its cells in a table."""
        top = "none" if math.isinf(self.bandwidth) else write_quantity(self.bandwidth, "Hz")
        return (
            str(self.channels),
            f"{self.noise_gain:.4g}",
            f"{self.dc_noise_gain:.4g}",
            top,
            write_quantity(self.noise, "V/sqrt(Hz)"),
            f"{20.0 * math.log10(self.ripple):.4g} dB" if self.ripple else "nothing",
        )


class ChannelTable(tuple[ChannelCount, ...]):
    """A summer by the number of its channels; shows itself as a table."""

    __slots__ = ()

    @property
    def _table(self) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
        at = write_quantity(self[0].ripple_frequency, "Hz") if self else ""
        header = ("channels", "noise gain", "at DC", "top-end cut-off", "noise at the output")
        return (*header, f"rail to output, {at}"), [count.row for count in self]

    def __repr__(self) -> str:
        return text_table(*self._table)

    def _repr_markdown_(self) -> str:
        return markdown_table(*self._table)


def by_channels(stage: Stage, counts: Sequence[int], ripple_frequency: float = 100.0) -> ChannelTable:
    """Return what a summer does with different numbers of channels, all of them plugged.

    Parameters
    ----------
    stage : Stage
        A summer.
    counts : sequence of int
        Numbers of channels.
    ripple_frequency : float
        Hz.

    Raises
    ------
    UnknownNameError
        If the stage has no channels to count.
    QuantityError
        If a number is out of range.
    """
    return ChannelTable(_counted(stage, channels, ripple_frequency) for channels in counts)


def _counted(stage: Stage, channels: int, ripple_frequency: float) -> ChannelCount:
    network = with_channels(stage, channels)
    ideal = Network(network.circuit, network.values, None, network.supply)
    middle = midband_frequency(ideal)
    error = InputError("opamp")
    return ChannelCount(
        channels,
        noise_gain=float(abs(ideal.transfer(error, "amp_out")(middle))),
        dc_noise_gain=float(abs(ideal.transfer(error, "amp_out")(0.0))),
        bandwidth=network.transfer("signal", "output").high_cutoff(),
        noise=float(noise(network).density(max(middle, 1.0), "output")),
        ripple=float(abs(network.transfer("supply", "amp_out")(ripple_frequency))),
        ripple_frequency=ripple_frequency,
    )
