"""Preferred values: the E series of IEC 60063 and how to move along them.

Every preferred value has a place: the number of steps from the value 1 (10 or 100 in the tables)
along its series, over all decades. Rounding, neighbours and steps are arithmetic on places. Values
are put together from decimal digits, so 4.7 µF is float("4.7e-6") and nothing near it.

A value within one part in 1e9 of a preferred value counts as that value: a computed 47000.00000001
is 47 kΩ, and rounding it up does not skip to the next one.

Source: IEC 60063, Preferred number series for resistors and capacitors; the E24 and E192 figures
were read in public lists, not in the standard itself.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import pairwise
from types import MappingProxyType
from typing import Literal

from ..errors import QuantityError, UnknownNameError

_E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)

_E192 = (
    100, 101, 102, 104, 105, 106, 107, 109, 110, 111, 113, 114, 115, 117, 118, 120, 121, 123, 124, 126,
    127, 129, 130, 132, 133, 135, 137, 138, 140, 142, 143, 145, 147, 149, 150, 152, 154, 156, 158, 160,
    162, 164, 165, 167, 169, 172, 174, 176, 178, 180, 182, 184, 187, 189, 191, 193, 196, 198, 200, 203,
    205, 208, 210, 213, 215, 218, 221, 223, 226, 229, 232, 234, 237, 240, 243, 246, 249, 252, 255, 258,
    261, 264, 267, 271, 274, 277, 280, 284, 287, 291, 294, 298, 301, 305, 309, 312, 316, 320, 324, 328,
    332, 336, 340, 344, 348, 352, 357, 361, 365, 370, 374, 379, 383, 388, 392, 397, 402, 407, 412, 417,
    422, 427, 432, 437, 442, 448, 453, 459, 464, 470, 475, 481, 487, 493, 499, 505, 511, 517, 523, 530,
    536, 542, 549, 556, 562, 569, 576, 583, 590, 597, 604, 612, 619, 626, 634, 642, 649, 657, 665, 673,
    681, 690, 698, 706, 715, 723, 732, 741, 750, 759, 768, 777, 787, 796, 806, 816, 825, 835, 845, 856,
    866, 876, 887, 898, 909, 920, 931, 942, 953, 965, 976, 988,
)  # fmt: skip

#: Each series and its figures for one decade: two digits up to E24, three digits from E48.
SERIES: Mapping[str, tuple[int, ...]] = MappingProxyType(
    {f"E{count}": _E24[:: 24 // count] for count in (3, 6, 12, 24)}
    | {f"E{count}": _E192[:: 192 // count] for count in (48, 96, 192)}
)

Rounding = Literal["nearest", "up", "down"]

_SAME = 1e-9
_LIMITS = (1e-30, 1e30)


def series(name: str) -> tuple[int, ...]:
    """Return the figures of one decade of a series, ascending.

    Parameters
    ----------
    name : str
        "E3", "E6", "E12", "E24", "E48", "E96" or "E192".

    Returns
    -------
    tuple of int
        From 10 to 91 (two digits) up to E24, from 100 to 988 (three digits) from E48.

    Raises
    ------
    UnknownNameError
        There is no such series.
    """
    if name not in SERIES:
        raise UnknownNameError(
            "series", name, allowed=", ".join(SERIES), remedy="E24 suits resistors, E6 or E12 capacitors."
        )
    return SERIES[name]


_figures = series  # the functions below have an argument `series`, which hides that name


def preferred(value: float, series: str = "E24", rounding: Rounding = "nearest") -> float:
    """Round a value to a preferred one.

    Parameters
    ----------
    value : float
        Positive, in SI units.
    series : str
        Name of the series.
    rounding : {"nearest", "up", "down"}
        "nearest" is nearest by ratio, the smaller one if both are equally near.

    Returns
    -------
    float
        In the unit of `value`.

    Raises
    ------
    QuantityError
        The value is not positive and finite.
    UnknownNameError
        There is no such series or rounding.
    """
    if rounding not in ("nearest", "up", "down"):
        raise UnknownNameError(
            "rounding", rounding, allowed="nearest, up, down", remedy="Use one of these words."
        )
    place, exact = _place(value, series)
    below, above = _value_at(place, series), _value_at(place + 1, series)
    if exact or rounding == "down" or (rounding == "nearest" and value / below <= above / value):
        return below
    return above


def is_preferred(value: float, series: str = "E24") -> bool:
    """Tell whether a value is in a series, within one part in 1e9.

    Parameters
    ----------
    value : float
        Positive, in SI units.
    series : str
        Name of the series.

    Raises
    ------
    QuantityError
        The value is not positive and finite.
    UnknownNameError
        There is no such series.
    """
    return _place(value, series)[1]


def neighbours(value: float, series: str = "E24") -> tuple[float, float]:
    """Return the next preferred values strictly below and strictly above a value.

    Parameters
    ----------
    value : float
        Positive, in SI units.
    series : str
        Name of the series.

    Returns
    -------
    below, above : float
        In the unit of `value`.

    Raises
    ------
    QuantityError
        The value is not positive and finite.
    UnknownNameError
        There is no such series.
    """
    return step(value, series, -1), step(value, series, 1)


def step(value: float, series: str = "E24", steps: int = 1) -> float:
    """Move along a series by a number of steps.

    From a value that is not preferred, the first step leads to the next preferred value in that
    direction; no step at all gives the nearest one.

    Parameters
    ----------
    value : float
        Positive, in SI units.
    series : str
        Name of the series.
    steps : int
        Positive towards larger values.

    Returns
    -------
    float
        In the unit of `value`.

    Raises
    ------
    QuantityError
        The value is not positive and finite, or the steps lead beyond 1e-30 or 1e30.
    UnknownNameError
        There is no such series.
    """
    if steps == 0:
        return preferred(value, series)
    place, exact = _place(value, series)
    start = place + 1 if steps < 0 and not exact else place
    return _checked(_value_at(start + steps, series), f"value after {steps} steps")


def values_between(low: float, high: float, series: str = "E24") -> tuple[float, ...]:
    """Return all preferred values from `low` to `high`, ascending, the ends included.

    Parameters
    ----------
    low, high : float
        Positive, in SI units.
    series : str
        Name of the series.

    Returns
    -------
    tuple of float
        Empty if no preferred value lies between.

    Raises
    ------
    QuantityError
        An end is not positive and finite, or `low` is above `high`.
    UnknownNameError
        There is no such series.
    """
    first, exact = _place(low, series)
    last, _ = _place(high, series)
    if low > high:
        raise QuantityError("low", low, allowed=f"at most high ({high!r})", remedy="Exchange the two ends.")
    return tuple(_value_at(place, series) for place in range(first if exact else first + 1, last + 1))


def half_gap(series: str) -> float:
    """Return the worst distance of any value from its series, relative to that value.

    Between neighbours a < b the value farthest from both is their mean, off by (b - a)/(b + a).
    The nominal tolerances of the series do not cover these gaps from E12 up.

    Parameters
    ----------
    series : str
        Name of the series.

    Returns
    -------
    float
        A ratio: 0.0714 for E24.

    Raises
    ------
    UnknownNameError
        There is no such series.
    """
    count = len(_figures(series))
    decade = [_value_at(place, series) for place in range(count + 1)]
    return max((b - a) / (b + a) for a, b in pairwise(decade))


def _value_at(place: int, series: str) -> float:
    """Return the value at a place: place 0 is 1, each series length is one decade."""
    figures = _figures(series)
    decade, index = divmod(place, len(figures))
    return float(f"{figures[index]}e{decade + 1 - len(str(figures[0]))}")


def _place(value: float, series: str) -> tuple[int, bool]:
    """Return the place of the largest preferred value up to `value`, and whether it equals it."""
    count = len(_figures(series))
    place = math.floor(math.log10(_checked(value, "value")) * count)
    # The logarithm is off by a rounding, the series by up to one place from its ideal spacing.
    while _value_at(place + 1, series) <= value * (1 + _SAME):
        place += 1
    while _value_at(place, series) > value * (1 + _SAME):
        place -= 1
    return place, _value_at(place, series) >= value * (1 - _SAME)


def _checked(value: float, name: str) -> float:
    low, high = _LIMITS
    if not low <= value <= high:
        raise QuantityError(
            name, value, allowed=f"a positive number from {low:g} to {high:g}", remedy="Give it in SI units."
        )
    return value
