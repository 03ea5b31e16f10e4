"""The reproducibility record of a design: its inputs, the version, and a checksum of both."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, fields
from typing import Any

from ..circuit.opamp import OpAmp
from ..designing.synthesis import Design
from ..version import __version__


@dataclass(frozen=True)
class Record:
    """What it takes to find every number of a document again.

    Attributes
    ----------
    version : str
        Version of the package.
    inputs : tuple of (str, str)
        Every requirement and every part value, as exact text.
    checksum : str
        First 16 hexadecimal digits of the SHA-256 of version and inputs.
    """

    version: str
    inputs: tuple[tuple[str, str], ...]
    checksum: str

    @property
    def units(self) -> tuple[str, ...]:
        """Unit of each input, in words; empty for a name or a plain number."""
        return tuple(_unit(name) for name, _ in self.inputs)


def record(design: Design) -> Record:
    """Return the record of a design.

    Parameters
    ----------
    design : Design
        The design.
    """
    needed = design.requirements
    inputs = [("topology", design.topology)]
    inputs += [(f.name, _written(getattr(needed, f.name))) for f in fields(needed) if f.name != "demands"]
    demands = needed.demands
    inputs += [(f"demand {f.name}", _written(getattr(demands, f.name))) for f in fields(demands)]
    inputs += [(f"part {name}", repr(value)) for name, value in design.stage.values.items()]
    text = json.dumps([__version__, inputs], ensure_ascii=False)
    return Record(__version__, tuple(inputs), hashlib.sha256(text.encode()).hexdigest()[:16])


_UNITS = (
    (("part r_", "input_impedance", "source_resistance", "load"), "ohm"),
    (("part c_", "load_capacitance"), "farad"),
    (("low_cutoff", "high_cutoff", "rumble_floor", "full_power", "noise_low", "noise_high"), "hertz"),
    (("divider_current", "supply_current"), "ampere"),
    (("supply", "supply_min", "supply_max", "dc_error"), "volt"),
    (("output_swing",), "volt peak to peak"),
    (("noise",), "volt rms"),
    (("phase_margin",), "degree"),
    (("temperature",), "kelvin"),
    (("gain_tolerance", "bias_filter_ratio"), "ratio"),
    (("gain",), "volt per volt"),
)


def _unit(name: str) -> str:
    """Return the unit of an input by its name: equal names first, then names that begin so."""
    bare = name.removeprefix("demand ")
    exact = (unit for names, unit in _UNITS if bare in names)
    beginning = (unit for names, unit in _UNITS if any(bare.startswith(n) for n in names if n[-1] == "_"))
    return next(exact, next(beginning, ""))


def _written(value: Any) -> str:
    if value is None:
        return "not asked"
    if isinstance(value, str):
        return value
    if isinstance(value, OpAmp):
        return f"{value.name} ({value.source})"
    if hasattr(value, "__dataclass_fields__"):
        given = [(f.name, getattr(value, f.name)) for f in fields(value)]
        return ", ".join(f"{name} {number!r}" for name, number in given if number is not None)
    return repr(value)
