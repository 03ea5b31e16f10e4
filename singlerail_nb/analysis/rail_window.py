"""The limits of a stage at one rail, and the bias point that makes the most of several rails."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

Span = tuple[float, float]
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class RailWindow:
    """The limits at one rail; all voltages in V above ground.

    Attributes
    ----------
    supply : float
        The rail.
    output_range, input_range : (float, float)
        What the op-amp can do.
    output_rest, input_rest : (float, float)
        Resting voltages, lowest and highest with the DC errors.
    gain : float
        Output swing over common-mode swing of the + input in mid-band; infinity if the input
        does not move.
    bias : float
        Resting voltage of the mid-rail bias node.
    """

    supply: float
    output_range: Span
    input_range: Span
    output_rest: Span
    input_rest: Span
    gain: float
    bias: float

    @property
    def limits(self) -> dict[str, float]:
        """Symmetric swing up to each limit, Vpp at the output; negative where the rest is outside."""
        return {
            "output low": 2.0 * (self.output_rest[0] - self.output_range[0]),
            "output high": 2.0 * (self.output_range[1] - self.output_rest[1]),
            "input low": 2.0 * _times(self.gain, self.input_rest[0] - self.input_range[0]),
            "input high": 2.0 * _times(self.gain, self.input_range[1] - self.input_rest[1]),
        }

    @property
    def swing(self) -> float:
        """Largest symmetric swing without clipping, Vpp; 0 if the window is empty."""
        return max(0.0, min(self.limits.values()))

    @property
    def limited_by(self) -> str:
        """The limit that is met first: "output low", "output high", "input low" or "input high"."""
        limits = self.limits
        return min(limits, key=limits.__getitem__)

    @property
    def asymmetry(self) -> float:
        """Room above the resting output over room below; 1 clips on both sides at once."""
        below = self.output_rest[0] - self.output_range[0]
        above = self.output_range[1] - self.output_rest[1]
        return above / below if below else math.inf


@dataclass(frozen=True, slots=True)
class BestBias:
    """The bias point with the largest swing at the worst rail.

    Attributes
    ----------
    fraction : float or None
        Of the rail, for a bias that follows the rail.
    volts : tuple of float
        Bias voltage at each rail, V.
    swing : float
        Swing there, Vpp.
    present : float
        Swing with the bias as it is, Vpp.
    """

    fraction: float | None
    volts: tuple[float, ...]
    swing: float
    present: float

    @property
    def bought(self) -> float:
        """What moving the bias there buys, Vpp."""
        return self.swing - self.present


def best_bias(rails: Sequence[RailWindow], *, follows_rail: bool) -> BestBias:
    """Return the bias point with the largest swing at the worst rail.

    Every limit is a straight line over the bias, so the best point lies where a rising line crosses
    a falling one, or where a resting input reaches the end of its range.

    Parameters
    ----------
    rails : sequence of RailWindow
        The rails to serve.
    follows_rail : bool
        Whether the bias is a fraction of the rail, or fixed in volts.
    """
    scales = [rail.supply if follows_rail else 1.0 for rail in rails]
    pairs = list(zip(rails, scales, strict=True))
    lines = [line for rail, scale in pairs for line in _lines(rail, scale)]
    points = [(d - c) / (m - n) for m, c in lines for n, d in lines if m > 0 > n]
    points += [point for rail, scale in pairs for point in _ends_of_input(rail, scale)]
    present = min(rail.swing for rail in rails)
    allowed = [p for p in points if all(_input_fits(rail, p * scale) for rail, scale in pairs)]
    if not allowed or not lines:
        return BestBias(None, (), 0.0, present)
    best = max(allowed, key=lambda p: min(m * p + c for m, c in lines))
    swing = max(0.0, min(m * best + c for m, c in lines))
    volts = tuple(best * scale for scale in scales)
    return BestBias(best if follows_rail else None, volts, swing, present)


def _lines(rail: RailWindow, scale: float) -> Iterable[Span]:
    """Yield slope and offset of each finite limit over the bias, in units of ``scale`` volts."""
    for name, limit in rail.limits.items():
        of_output = name.startswith("output")
        rest = rail.output_rest if of_output else rail.input_rest
        per_volt = 2.0 * (1.0 if of_output else rail.gain) * _ratio(rest, rail)
        slope = per_volt * scale * (1.0 if name.endswith("low") else -1.0)
        if math.isfinite(limit) and math.isfinite(slope):
            yield slope, limit - slope * rail.bias / scale


def _ratio(rest: Span, rail: RailWindow) -> float:
    """Return how many volts a resting node moves per volt of bias."""
    return (rest[0] + rest[1]) / 2.0 / rail.bias if rail.bias else math.nan


def _ends_of_input(rail: RailWindow, scale: float) -> Iterable[float]:
    """Yield the bias points at which an input that does not move reaches the ends of its range."""
    ratio = _ratio(rail.input_rest, rail)
    if math.isinf(rail.gain) and ratio:
        for rest, end in zip(rail.input_rest, rail.input_range, strict=True):
            yield (rail.bias + (end - rest) / ratio) / scale


def _input_fits(rail: RailWindow, bias: float) -> bool:
    """Return whether an input that does not move rests inside its range at some bias."""
    moved = (bias - rail.bias) * _ratio(rail.input_rest, rail)
    low, high = (rest + moved for rest in rail.input_rest)
    fits = rail.input_range[0] - _ROUNDING <= low and high <= rail.input_range[1] + _ROUNDING
    return fits or math.isfinite(rail.gain)


def _times(gain: float, room: float) -> float:
    """Multiply; an input that does not move is limited only if it rests outside its range."""
    if math.isfinite(gain):
        return gain * room
    return math.inf if room >= 0 else -math.inf
