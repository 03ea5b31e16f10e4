"""The reproducibility record of a design: its inputs, the version, and a checksum of both."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, fields
from typing import Any

from ..circuit.opamp import OpAmp
from ..designing.synthesis import Design
from ..errors import RequirementError
from ..version import __version__


@dataclass(frozen=True)
class Record:
    """What it takes to find every number of a document again.

    Attributes
    ----------
    version : str
        Version of the package.
    inputs : tuple of (str, str)
        Every requirement and every part value, as exact text, and a checksum of the op-amp's figures.
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


def require_design(made: object) -> None:
    """Refuse what a document cannot be written of.

    Parameters
    ----------
    made : object
        A design, it is hoped.

    Raises
    ------
    RequirementError
        If it is none.
    """
    if not isinstance(made, Design):
        raise RequirementError(
            "design",
            type(made).__name__,
            allowed="a Design: a stage with its requirements",
            remedy="Make one with design(requirements); a stage that was changed by hand becomes one with "
            "dataclasses.replace(design, stage=stage).",
        )


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
    stage = design.stage
    inputs += [("bias source", str(stage.bias))]
    names = [part.name for part in stage.circuit.parts if part.name in stage.values]
    inputs += [(f"part {name}", repr(stage.values[name])) for name in names]
    inputs += [(f"level {name}", repr(stage.levels[name])) for name in sorted(stage.levels)]
    return Record(__version__, tuple(inputs), _digest([__version__, inputs]))


def _digest(data: list[Any]) -> str:
    text = json.dumps(data, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _given(value: Any) -> list[tuple[str, Any]]:
    """Return the fields of a data class that are given, in the order of the class."""
    found = ((f.name, getattr(value, f.name)) for f in fields(value))
    return [(name, given) for name, given in found if given is not None]


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
        return f"{value.name} ({value.source}), figures {_digest([repr(_given(value))])}"
    if hasattr(value, "__dataclass_fields__"):
        return ", ".join(f"{name} {number!r}" for name, number in _given(value))
    return repr(value)
