"""The units that bench files are written in."""

from __future__ import annotations

from functools import lru_cache

from ..quantities.units import UNITS

_READ = ("Hz", "s", "V", "Vpp", "Vp", "Vrms", "dB", "V/V", "%", "deg")
_SUFFIXES = {
    suffix: (name, power)
    for name in _READ
    for suffix, (_, power) in UNITS[name].suffixes.items()
    if suffix not in ("", "V/mV")
}
_SUFFIXES |= {"x": ("V/V", 0), "ratio": ("V/V", 0), "volt": ("V", 0), "volts": ("V", 0), "sec": ("s", 0)}
_SUFFIXES |= {"degrees": ("deg", 0), "seconds": ("s", 0)}


@lru_cache(maxsize=1024)
def unit_of(suffix: str) -> tuple[str, int] | None:
    """Return unit and power of ten of what stands behind a number, or None if it is not known.

    Parameters
    ----------
    suffix : str
        Such as "kHz"; capitals count only where they make a difference.
    """
    bare = suffix.strip()
    if bare in _SUFFIXES:
        return _SUFFIXES[bare]
    alike = {found for known, found in _SUFFIXES.items() if known.casefold() == bare.casefold()}
    return alike.pop() if len(alike) == 1 else None  # "MV" may be two things, and is neither
