"""What one part does to the noise at one frequency."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import ArrayLike, NDArray

from ..analysis.noise import noise
from ..analysis.stage import Stage
from ..circuit.circuit import closest
from ..circuit.typeset import part_label
from ..errors import QuantityError, UnknownNameError
from ..quantities import write_quantity
from .picture import COLOURS, DASHES, INK, Picture, label_logarithmic, new_axes, quantity_axis

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class NoiseSweep:
    """Noise density over the value of one part.

    Attributes
    ----------
    part : str
        Name of the part.
    unit : "ohm" or "F"
        Of its values.
    values : array, shape (n,)
        SI units, ascending.
    density : dict of str to array, shape (n,)
        Name of the stage -> V/sqrt(Hz).
    """

    part: str
    unit: str
    values: Floats
    density: dict[str, Floats]


def noise_sweep(
    stages: Mapping[str, Stage],
    part: str,
    values: ArrayLike,
    f: float,
    node: str = "plus",
    sources: Sequence[str] | None = None,
) -> NoiseSweep:
    """Return the noise density of stages over the value of one part.

    Parameters
    ----------
    stages : mapping of str to Stage
        Stages that have the part, by the name beside their curve; one to five.
    part : str
        Name of the part, such as ``"r_bias"``.
    values : array_like, shape (n,)
        Its values, SI units, ascending.
    f : float
        Hz.
    node : str
        Where.
    sources : sequence of str, optional
        Contributors that count, such as ``["r_bias"]``; all unless given.

    Raises
    ------
    QuantityError
        If there are fewer than two values, or they do not rise.
    UnknownNameError
        If the part, the node or a contributor does not exist.
    """
    rising = np.asarray(values, dtype=np.float64)
    if rising.ndim != 1 or rising.size < 2 or not (np.diff(rising) > 0).all():
        raise QuantityError(
            f"values of {part}", values, allowed="two or more, ascending", remedy="Put them in order."
        )
    density = {
        name: np.array([_density(stage.with_parts(**{part: float(v)}), f, node, sources) for v in rising])
        for name, stage in stages.items()
    }
    return NoiseSweep(part, "F" if part.startswith("c_") else "ohm", rising, density)


def _density(stage: Stage, f: float, node: str, sources: Sequence[str] | None) -> float:
    by_source = noise(stage).density_by_source(f, node)
    counted = list(by_source) if sources is None else sources
    for name in counted:
        if name not in by_source:
            raise UnknownNameError(
                "noise source", name, allowed=", ".join(by_source), remedy=closest(name, by_source)
            )
    return math.hypot(*(float(by_source[name]) for name in counted))


def draw_noise_sweep(ax: Axes, data: NoiseSweep) -> None:
    """Draw noise densities over the value of a part.

    Parameters
    ----------
    ax : Axes
        Where.
    data : NoiseSweep
        What.
    """
    ax.set_xscale("log")
    ax.set_yscale("log")
    ax.set_xlim(data.values[0], data.values[-1])
    ends = []
    for i, (name, density) in enumerate(data.density.items()):
        (line,) = ax.plot(data.values, density, color=COLOURS[i % 5], linewidth=1.9)
        if DASHES[i % 5]:
            line.set_dashes(DASHES[i % 5])
        ends.append((float(density[-1]), name, COLOURS[i % 5]))
    every = np.concatenate(list(data.density.values()))
    ax.set_ylim(float(every.min()) / 1.5, float(every.max()) * 1.5)
    quantity_axis(ax, "x", data.unit)
    quantity_axis(ax, "y", "V/sqrt(Hz)")
    ax.set_xlabel(part_label(data.part), color=INK)
    ax.set_ylabel("noise density", color=INK)
    label_logarithmic(ax, ends)


def noise_sweep_picture(data: NoiseSweep, title: str) -> Picture:
    """Return a picture of noise over the value of a part.

    Parameters
    ----------
    data : NoiseSweep
        From `noise_sweep`.
    title : str
        Above the picture.
    """
    figure, (ax,) = new_axes(1, height=3.2)
    draw_noise_sweep(ax, data)
    ax.set_title(title, loc="left", fontsize=10, color=INK)
    return Picture(figure, noise_sweep_text(data))


def noise_sweep_text(data: NoiseSweep) -> str:
    """Return for each curve its ends and its highest point.

    Parameters
    ----------
    data : NoiseSweep
        What was drawn.
    """
    lines = []
    for name, density in data.density.items():
        places = dict.fromkeys((0, int(np.argmax(density)), len(density) - 1))
        words = [
            f"{write_quantity(density[i], 'V/sqrt(Hz)', 3)} at {write_quantity(data.values[i], data.unit, 3)}"
            for i in places
        ]
        lines.append(f"{name}: {', '.join(words)}")
    return "\n".join(lines)
