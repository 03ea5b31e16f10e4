"""What the rail's ripple does at a node: two paths, added as phasors.

One path leads through the bias source and the whole network.  The other leads through the op-amp:
its finite supply rejection acts like a voltage in series with its + input, so it is amplified by
the noise gain.  The sign of that voltage is not in a data sheet; the sum takes it as positive at
DC, and ``worst`` adds the magnitudes.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike

from ..circuit.nodal_analysis import InputError
from ..circuit.stages import build_circuit
from ..errors import QuantityError, UnknownNameError
from ..quantities import QuantityLike, read_quantity, write_quantity
from ..quantities.grammar import parse, tidy
from ..quantities.tables import markdown_table, text_table
from ..quantities.units import UNITS
from .network import Network, require_stage
from .part_values import present
from .rejection_paths import FiniteRejection, Path
from .stage import Stage
from .transfer import Transfer

SourceState = Literal["connected", "open"]
_MEASURES = ("Vpp", "Vp", "Vrms")
_MAINS = (50.0, 100.0)


@dataclass(frozen=True)
class RippleLine:
    """One line of the rail's ripple, followed to the node; every voltage in the measure given.

    Attributes
    ----------
    frequency : float
        Hz.
    rail : float
        Ripple on the rail, V (Vpp if given as Vpp, and so on).
    bias_path, opamp_path : float
        What each path alone would give, V.
    total : float
        Their phasor sum, V.
    worst : float
        Sum of the magnitudes, V: the sign of the op-amp's part is not known.
    """

    frequency: float
    rail: float
    bias_path: float
    opamp_path: float
    total: float
    worst: float


@dataclass(frozen=True)
class SupplyRejection:
    """From rail to node.

    Attributes
    ----------
    stage : Stage
        The stage.
    node : str
        Where the ripple is looked at.
    source : "connected" or "open"
        Whether the signal source is there.
    bias_path, opamp_path : Path
        The two ways; the first includes what a reference lets through.
    """

    stage: Stage
    node: str
    source: SourceState
    bias_path: Path
    opamp_path: Path

    @property
    def text(self) -> str:
        """Rejection at 50 Hz and 100 Hz: both paths alone, their sum and the worst case, as plain text."""
        return "\n".join([self._headline, text_table(*self._table)])

    def __repr__(self) -> str:
        return self.text

    def _repr_markdown_(self) -> str:
        return "\n\n".join([f"**{self._headline}**", markdown_table(*self._table)])

    @property
    def _headline(self) -> str:
        return f"Supply rejection from the rail to {self.node}, source {self.source}"

    @property
    def _table(self) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
        rows = []
        for f in _MAINS:
            gains = (*(abs(path(f)) for path in (self.bias_path, self.opamp_path, self.total)), self.worst(f))
            rows.append((write_quantity(f, "Hz"), *(_rejection_text(gain) for gain in gains)))
        return ("line", "through the bias", "through the op-amp", "both", "worst case"), rows

    @cached_property
    def total(self) -> Path:
        """Both paths, added as phasors."""
        return Path((*self.bias_path.terms, *self.opamp_path.terms))

    def worst(self, f: ArrayLike) -> Any:
        """Return the sum of both magnitudes, V/V.

        Parameters
        ----------
        f : array_like
            Hz, any shape.

        Raises
        ------
        QuantityError
            If a frequency is negative or not finite.
        """
        return np.abs(self.bias_path(f)) + np.abs(self.opamp_path(f))

    def ripple(
        self,
        rail_ripple: QuantityLike | Mapping[float, float] | Mapping[str, str],
        lines: Sequence[QuantityLike] | None = None,
    ) -> tuple[RippleLine, ...]:
        """Return the ripple at the node for given ripple on the rail.

        Parameters
        ----------
        rail_ripple : float, str or mapping
            Volts on the rail at every line, or frequency (Hz) -> volts.  The result is in the same
            measure: give Vpp to get Vpp.  A text says which: ``"200 mVpp"``, ``"70 mVrms"``.
        lines : sequence of float or str, optional
            Frequencies, Hz or ``"400 Hz"``: mains and its double, switching frequency.  Not with a
            mapping.

        Raises
        ------
        QuantityError
            If a voltage or frequency makes no sense, or the lines are missing.
        """
        if isinstance(rail_ripple, Mapping):
            wanted = [(_line_frequency(f), _ripple_volts(volts)) for f, volts in rail_ripple.items()]
        elif lines is None or isinstance(lines, str) or not isinstance(lines, Iterable):
            raise QuantityError(
                "lines",
                "none" if lines is None else lines,
                allowed="a list of frequencies in Hz",
                remedy='Say at which lines, such as [100.0] or ["400 Hz"].',
            )
        else:
            wanted = [(_line_frequency(f), _ripple_volts(rail_ripple)) for f in lines]
        return tuple(self._line(f, volts) for f, volts in dict(wanted).items())

    def _line(self, f: float, volts: float) -> RippleLine:
        bias, opamp, total = (abs(path(f)) * volts for path in (self.bias_path, self.opamp_path, self.total))
        return RippleLine(f, volts, bias, opamp, total, worst=bias + opamp)

    def sentence(self, f: QuantityLike) -> str:
        """Return what the bias source does at a frequency, in one sentence.

        Parameters
        ----------
        f : float or str
            Hz, or a text such as ``"100 Hz"``.

        Raises
        ------
        QuantityError
            If the frequency is negative, not finite or cannot be read.
        """
        f = read_quantity(f, "Hz", name="f")
        alone = self.stage.bias_filter()
        at = write_quantity(f, "Hz")
        if alone(0.0) == 0:
            return (
                f"At {at} the rail reaches the bias node only through the finite rejection of the reference."
            )
        whole, steady = -alone.magnitude_db(f), -alone.magnitude_db(0.0)
        who = "divider" if "r_top" in self.stage.values else "Zener with its feed resistor"
        return (
            f"At {at} the filter gives {write_quantity(whole, 'dB')}, "
            f"of which {write_quantity(steady, 'dB')} is the {who}."
        )


def _rejection_text(gain: float) -> str:
    return write_quantity(-20.0 * math.log10(gain), "dB") if gain > 0 else "nothing passes"


def _line_frequency(given: QuantityLike) -> float:
    return read_quantity(given, "Hz", name="lines")


def _ripple_volts(given: QuantityLike) -> float:
    """Read ripple; a text must say in which measure it is, a number is in that of its user."""
    if not isinstance(given, str):
        return read_quantity(given, "V", name="rail_ripple", low=0.0)
    unit = next((u for u in _MEASURES if parse(tidy(given), UNITS[u]) is not None), None)
    if unit is None and parse(tidy(given), UNITS["V"]) is not None:
        texts = " or ".join(f'"{given.strip()}{end}"' for end in ("pp", "p", "rms"))
        raise QuantityError(
            "rail_ripple",
            given,
            allowed="a ripple that says Vpp, Vp or Vrms",
            remedy=f"Say which is meant: {texts}.",
        )
    return read_quantity(given, unit or "Vpp", name="rail_ripple", low=0.0)


def supply_rejection(
    stage: Stage,
    node: str = "output",
    *,
    psrr_db: QuantityLike | None = None,
    psrr_corner: QuantityLike | None = None,
    reference_db: QuantityLike | None = None,
    reference_corner: QuantityLike | None = None,
    source: SourceState = "connected",
) -> SupplyRejection:
    """Return how much of the rail's ripple reaches a node of the whole network.

    Parameters
    ----------
    stage : Stage
        The stage.
    node : str
        Where to look.
    psrr_db, psrr_corner : float or str, optional
        Supply rejection of every op-amp, dB at low frequency (input-referred), and the corner above
        which it falls by 20 dB per decade, Hz.  Without them the figures of the stage's op-amp
        record; an ideal op-amp lets nothing through.
    reference_db, reference_corner : float or str, optional
        The same for the reference of the bias source; without them it is ideal.
    source : "connected" or "open"
        "open" takes the signal source and its resistance away, as an open jack does.

    Returns
    -------
    SupplyRejection
        Both paths and their sum.

    Raises
    ------
    UnknownNameError
        If the node does not exist.
    QuantityError
        If a rejection is negative or a corner not positive, or ``stage`` is no stage.
    """
    require_stage(stage)
    if source not in ("connected", "open"):
        raise UnknownNameError(
            "source", source, allowed="connected or open", remedy='"open" is an open jack.'
        )
    network = stage if source == "connected" else _without_source(stage)
    record = stage.opamp
    if psrr_db is None and record is not None:
        psrr_db = record.supply_rejection_db
        psrr_corner = record.supply_rejection_corner if psrr_corner is None else psrr_corner
    opamp = _rejection("psrr", psrr_db, psrr_corner)
    reference = _rejection("reference", reference_db, reference_corner)
    bias_terms: list[tuple[Transfer, FiniteRejection | None]] = [(network.transfer("supply", node), None)]
    if reference is not None:
        regulated = [s.name for s in stage.circuit.level_sources if s.kind == "regulated"]
        bias_terms += [(network.transfer(name, node), reference) for name in regulated]
    errors = [InputError(part.name) for part in stage.circuit.opamps] if opamp is not None else []
    opamp_terms = tuple((network.transfer(error, node), opamp) for error in errors)
    return SupplyRejection(stage, node, source, Path(tuple(bias_terms)), Path(opamp_terms))


def _rejection(
    what: str, level: QuantityLike | None, falls_above: QuantityLike | None
) -> FiniteRejection | None:
    decibels, corner = _number(level, "dB", f"{what}_db"), _number(falls_above, "Hz", f"{what}_corner")
    if math.isinf(decibels):
        return None
    if not decibels >= 0 or not corner > 0:
        raise QuantityError(
            f"{what} rejection",
            f"{decibels:g} dB, corner {corner:g} Hz",
            allowed="0 dB or more, and a corner above 0 Hz",
            remedy="Rejection counts positive: 80 dB means that a ten-thousandth comes through.",
        )
    return FiniteRejection(decibels, corner)


def _number(given: QuantityLike | None, unit: str, name: str) -> float:
    """Read a text or check a number; infinite, also if nothing is given, stands for ideal."""
    if given is None or (not isinstance(given, str) and given == math.inf):
        return math.inf
    return read_quantity(given, unit, name=name, low=-math.inf)


def _without_source(stage: Stage) -> Network:
    """Return the stage with its signal source taken off: an open jack."""
    circuit = build_circuit(stage.name, stage.bias)
    gone = [name for name in circuit.part_names if name.startswith("r_source")]
    values = {name: value for name, value in stage.values.items() if name not in gone}
    return Network(present(circuit.opened(*gone), values), values, stage.opamp, stage.supply)
