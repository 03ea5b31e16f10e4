"""Noise at a node: density over frequency, and who contributes how much in a band."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from ..analysis.integration import check_band
from ..analysis.noise import Noise
from ..circuit.typeset import part_label
from ..errors import require_result
from ..quantities import QuantityLike, read_quantity, write_quantity
from .picture import COLOURS, DASHES, INK, Picture, label_logarithmic, new_axes, quantity_axis

Floats = NDArray[np.float64]
POINTS = 300
LARGEST = 4
"""Contributors that are drawn; the rest is in the total."""


@dataclass(frozen=True)
class NoiseData:
    """Noise of a stage at a node.

    Attributes
    ----------
    frequency : array, shape (points,)
        Hz.
    total : array, shape (points,)
        Density of everything, V/sqrt(Hz).
    largest : dict of str to array
        Density of the largest contributors, largest first.
    rms : float
        In the band, Vrms.
    shares : dict of str to float
        Share of each contributor in the squared band noise, largest first; they add up to 1.
    """

    frequency: Floats
    total: Floats
    largest: dict[str, Floats]
    rms: float
    shares: dict[str, float]


def noise_data(noise: Noise, low: float, high: float, node: str = "output") -> NoiseData:
    """Return what a noise picture shows.

    Parameters
    ----------
    noise : Noise
        From `noise`.
    low, high : float
        The band, Hz.
    node : str
        Where.

    Raises
    ------
    QuantityError
        If the band is empty.
    UnknownNameError
        If the node does not exist.
    """
    frequency = np.geomspace(low / 10.0, high * 10.0, POINTS)
    by_source = noise.density_by_source(frequency, node)
    in_band = noise.rms_by_source(low, high, node)
    ordered = sorted(in_band, key=lambda name: -in_band[name])
    rms = noise.rms(low, high, node)
    return NoiseData(
        frequency=frequency,
        total=noise.density(frequency, node),
        largest={name: by_source[name] for name in ordered[:LARGEST]},
        rms=rms,
        shares={name: (in_band[name] / rms) ** 2 for name in ordered},
    )


def draw_density(ax: Axes, data: NoiseData) -> None:
    """Draw noise densities over frequency.

    Parameters
    ----------
    ax : Axes
        Where.
    data : NoiseData
        What.
    """
    ax.set_xscale("log")
    ax.set_yscale("log")
    ax.set_xlim(data.frequency[0], data.frequency[-1])
    curves = [("everything", data.total), *data.largest.items()]
    ends = []
    for i, (name, density) in enumerate(curves):
        (line,) = ax.plot(data.frequency, density, color=COLOURS[i % 5], linewidth=2.2 if i == 0 else 1.6)
        if DASHES[i % 5]:
            line.set_dashes(DASHES[i % 5])
        ends.append((float(density[-1]), part_label(name), COLOURS[i % 5]))
    top = float(data.total.max())
    ax.set_ylim(max(float(data.total.min()), top / 1e4) / 3.0, top * 1.5)
    quantity_axis(ax, "x", "Hz")
    quantity_axis(ax, "y", "V/sqrt(Hz)")
    ax.set_ylabel("noise density", color=INK)
    label_logarithmic(ax, ends)


def draw_shares(ax: Axes, data: NoiseData) -> None:
    """Draw the share of each contributor in the band as bars.

    Parameters
    ----------
    ax : Axes
        Where.
    data : NoiseData
        What.
    """
    names = [name for name, share in data.shares.items() if share >= 0.001]
    heights = [100.0 * data.shares[name] for name in names]
    positions = np.arange(len(names))[::-1]
    ax.barh(positions, heights, color=COLOURS[0], height=0.6)
    ax.set_yticks(positions, [part_label(name) for name in names], fontsize=9)
    for position, height in zip(positions, heights, strict=True):
        ax.annotate(
            f"{height:.3g} %",
            (height, position),
            xytext=(4, 0),
            textcoords="offset points",
            va="center",
            fontsize=9,
            color=INK,
        )
    ax.set_xlim(0.0, 112.0)
    ax.set_xlabel("share of the squared noise in the band, %", color=INK)
    ax.grid(visible=False, axis="y")


def noise_picture(noise: Noise, low: QuantityLike, high: QuantityLike, node: str = "output") -> Picture:
    """Return the noise density at a node, with the largest contributors.

    Parameters
    ----------
    noise : Noise
        From `noise`.
    low, high : float or str
        The band for the numbers, Hz.
    node : str
        Where.

    Raises
    ------
    QuantityError
        If it is no noise, or the band is empty or cannot be read.
    UnknownNameError
        If the node does not exist.
    """
    require_result(noise, Noise, "noise_picture(sr.noise(stage), 20, 20e3)")
    f_low, f_high = _band(low, high)
    data = noise_data(noise, f_low, f_high, node)
    figure, (ax,) = new_axes(1, height=3.6)
    draw_density(ax, data)
    ax.set_xlabel("frequency", color=INK)
    ax.set_title(f"noise at {node}", loc="left", fontsize=10, color=INK)
    return Picture(figure, noise_text(data, f_low, f_high, node))


def noise_shares_picture(
    noise: Noise, low: QuantityLike, high: QuantityLike, node: str = "output"
) -> Picture:
    """Return who contributes how much to the noise in a band.

    Parameters
    ----------
    noise, low, high, node
        As `noise_picture`.

    Raises
    ------
    QuantityError
        If the band is empty.
    UnknownNameError
        If the node does not exist.
    """
    require_result(noise, Noise, "noise_shares_picture(sr.noise(stage), 20, 20e3)")
    f_low, f_high = _band(low, high)
    data = noise_data(noise, f_low, f_high, node)
    shown = sum(share >= 0.001 for share in data.shares.values())
    figure, (ax,) = new_axes(1, height=0.9 + 0.32 * shown)
    draw_shares(ax, data)
    return Picture(figure, noise_text(data, f_low, f_high, node))


def _band(low: QuantityLike, high: QuantityLike) -> tuple[float, float]:
    ends = read_quantity(low, "Hz", name="low"), read_quantity(high, "Hz", name="high")
    check_band(*ends)
    return ends


def noise_text(data: NoiseData, low: float, high: float, node: str) -> str:
    """Return the numbers of a noise picture.

    Parameters
    ----------
    data : NoiseData
        What was drawn.
    low, high : float
        The band, Hz.
    node : str
        Where.
    """
    band = f"{write_quantity(low, 'Hz')} to {write_quantity(high, 'Hz')}"
    shares = ", ".join(f"{name} {100.0 * share:.3g} %" for name, share in list(data.shares.items())[:5])
    return f"noise at {node}, {band}: {write_quantity(data.rms, 'Vrms')}; of its square: {shares}"
