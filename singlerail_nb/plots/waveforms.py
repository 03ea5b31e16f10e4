"""A signal riding on its bias: node voltages over time on one volts axis, rails included."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from ..analysis.network import require_stage
from ..analysis.operating_point import OperatingPoint, operating_point
from ..analysis.settled_wave import SAMPLES, settled_period
from ..analysis.stage import Stage
from ..errors import QuantityError
from ..quantities import QuantityLike, read_quantity, write_quantity
from .picture import COLOURS, DASHES, INK, Picture, label_lines, new_axes, quantity_axis

Floats = NDArray[np.float64]
POINTS = 1401
PERIODS = 1.75
"""Ends in a trough, where the names at the right end of the lines stand apart."""


@dataclass(frozen=True)
class Waveform:
    """The settled voltage of one node.

    Attributes
    ----------
    node : str
        Which node.
    rest : float
        Its resting voltage, V.
    amplitude : float
        Amplitude of the signal on it, Vp, before any limit.
    voltage : array, shape (points,)
        V; cut at the rails where an op-amp drives the node, and what follows from that elsewhere.
    limited : bool
        True if the limits cut it.
    """

    node: str
    rest: float
    amplitude: float
    voltage: Floats
    limited: bool

    @property
    def span(self) -> tuple[float, float]:
        """Lowest and highest voltage drawn, V."""
        return float(self.voltage.min()), float(self.voltage.max())

    @property
    def text(self) -> str:
        """Resting voltage, amplitude and, if it is cut, what remains."""
        rest, amplitude = _volts(self.rest), write_quantity(self.amplitude, "Vp")
        if not self.limited:
            return f"{self.node}: rests at {rest}, carries {amplitude}"
        low, high = (_volts(end) for end in self.span)
        rail = f"moves between {low} and {high}" if low != high else f"stays at {low}"
        return f"{self.node}: would rest at {rest} and carry {amplitude}; cut at the rails, it {rail}"


def _volts(value: float) -> str:
    """Return a voltage as text; below a microvolt it is zero to any reader of a waveform."""
    return write_quantity(0.0 if abs(value) < 1e-6 else value, "V")


def _positive(value: QuantityLike, unit: str, name: str) -> float:
    """Read a quantity that must be more than zero."""
    number = read_quantity(value, unit, name=name) if isinstance(value, str) else float(value)
    if not 0 < number < math.inf:
        raise QuantityError(name, str(value), allowed=f"> 0 {unit}", remedy="Give a positive number.")
    return number


def waveforms(
    stage: Stage,
    amplitude: QuantityLike,
    frequency: QuantityLike,
    nodes: Sequence[str],
    periods: float = PERIODS,
) -> tuple[Floats, tuple[Waveform, ...]]:
    """Return time in seconds and the settled voltage of some nodes for a sine at the source.

    Parameters
    ----------
    stage : Stage
        The stage.
    amplitude : float or str
        Of the signal source, Vp, or text such as ``"50 mVp"``.
    frequency : float or str
        Hz, or text such as ``"1 kHz"``.
    nodes : sequence of str
        Which nodes.
    periods : float
        How many periods.

    Returns
    -------
    time : array, shape (points,)
    waveforms : tuple of Waveform

    Raises
    ------
    QuantityError
        If amplitude or frequency cannot be read or is not positive, or a node has no resting voltage.
    """
    amplitude, frequency = _positive(amplitude, "Vp", "amplitude"), _positive(frequency, "Hz", "frequency")
    time = np.linspace(0.0, periods / frequency, POINTS)
    rest = operating_point(stage)
    found = []
    for node in nodes:
        phasor = amplitude * stage.transfer("signal", node)(frequency)
        free = rest.voltage(node) + (phasor * np.exp(2j * math.pi * frequency * time)).imag
        wave = _limited(stage, rest, amplitude, frequency, node, time)
        cut = not np.allclose(wave, free, rtol=0.0, atol=1e-3 * stage.supply)
        found.append(Waveform(node, rest.voltage(node), abs(phasor), wave if cut else free, cut))
    return time, tuple(found)


def _limited(
    stage: Stage, rest: OperatingPoint, amplitude: float, frequency: float, node: str, time: Floats
) -> Floats:
    """Return the voltage of a node over time when the op-amp output is cut at the rails."""
    cut = stage.circuit.opamps[-1].name
    wave = settled_period(stage, rest.voltage, node, amplitude, frequency, (0.0, stage.supply), cut)
    angle = np.arange(SAMPLES) / SAMPLES
    return np.asarray(np.interp(time * frequency % 1.0, angle, wave, period=1.0))


def draw_waveforms(ax: Axes, stage: Stage, time: Floats, waves: Sequence[Waveform]) -> None:
    """Draw node voltages between the rails.

    Parameters
    ----------
    ax : Axes
        Where.
    stage : Stage
        Gives the rail.
    time : array
        Seconds.
    waves : sequence of Waveform
        What.
    """
    ax.set_xlim(time[0], time[-1])
    low = min(0.0, *(wave.span[0] for wave in waves))
    high = max(stage.supply, *(wave.span[1] for wave in waves))
    ax.set_ylim(low - 0.08 * stage.supply, high + 0.08 * stage.supply)
    where: dict[str, Any] = {"xytext": (3, -10), "textcoords": "offset points", "fontsize": 8, "color": INK}
    where["bbox"] = {"facecolor": "white", "edgecolor": "none", "pad": 1.0}
    for level, name in ((0.0, "ground"), (stage.supply, f"rail {write_quantity(stage.supply, 'V')}")):
        ax.axhline(level, color=INK, linewidth=1.2)
        ax.annotate(name, (time[0], level), **where)
    for i, wave in enumerate(waves):
        (line,) = ax.plot(time, wave.voltage, color=COLOURS[i % 5], linewidth=1.8)
        if DASHES[i % 5]:
            line.set_dashes(DASHES[i % 5])
    quantity_axis(ax, "x", "s")
    ax.set_ylabel("volts to ground", color=INK)
    label_lines(ax, [(float(w.voltage[-1]), w.node, COLOURS[i % 5]) for i, w in enumerate(waves)])


def riding_picture(
    stage: Stage,
    amplitude: QuantityLike,
    frequency: QuantityLike,
    nodes: Sequence[str] = ("signal", "plus", "amp_out"),
) -> Picture:
    """Return a sine at the source and what becomes of it at some nodes, between the rails.

    Op-amp outputs are cut at the rails themselves; a real op-amp stops earlier.

    Parameters
    ----------
    stage : Stage
        The stage.
    amplitude : float or str
        Of the signal source, Vp, or text such as ``"50 mVp"``.
    frequency : float or str
        Hz, or text such as ``"1 kHz"``.
    nodes : sequence of str
        Which nodes.

    Raises
    ------
    QuantityError
        As `waveforms`, or ``stage`` is no stage.
    """
    require_stage(stage)
    amplitude, frequency = _positive(amplitude, "Vp", "amplitude"), _positive(frequency, "Hz", "frequency")
    time, waves = waveforms(stage, amplitude, frequency, nodes)
    figure, (ax,) = new_axes(1, height=3.6)
    draw_waveforms(ax, stage, time, waves)
    ax.set_xlabel("time", color=INK)
    driven = f"{write_quantity(amplitude, 'Vp')} at {write_quantity(frequency, 'Hz')}"
    ax.set_title(f"{stage.title}: {driven}", loc="left", fontsize=10, color=INK)
    return Picture(figure, "\n".join(wave.text for wave in waves))
