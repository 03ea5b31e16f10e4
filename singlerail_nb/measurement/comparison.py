"""A measurement beside the prediction of the whole network and its tolerance band."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ..analysis.network import require_stage
from ..analysis.stage import Stage
from ..analysis.tolerance import Tolerances
from ..analysis.tolerance_inputs import ToleranceSet, tolerance_set
from ..errors import SingleRailError
from ..quantities import QuantityLike, read_quantity, write_quantity
from .bench_network import on_the_bench
from .fit_models import model_of
from .fit_result import Fit
from .fitting import fit_parts, most_uncertain
from .instruments import Instrument, instrument
from .measured import Floats, MeasuredResponse, MeasuredWaveform
from .prediction import ResponsePrediction, predicted_response
from .startup_prediction import StartupPrediction


@dataclass(frozen=True)
class Comparison:
    """Measured and predicted, point by point.

    Attributes
    ----------
    stage : Stage
        The stage with nominal parts.
    node : str
        Where it was measured.
    probe : Instrument or None
        What it was measured with.
    data : MeasuredResponse or MeasuredWaveform
        The measurement.
    tolerances : ToleranceSet
        Of the parts.
    prediction : ResponsePrediction or StartupPrediction
        What the instrument should show.
    """

    stage: Stage
    node: str
    probe: Instrument | None
    data: MeasuredResponse | MeasuredWaveform
    tolerances: ToleranceSet = field(repr=False)
    prediction: ResponsePrediction | StartupPrediction = field(repr=False)

    @property
    def unit(self) -> str:
        """Unit of measured, predicted and band: "dB" or "V"."""
        return "dB" if isinstance(self.data, MeasuredResponse) else "V"

    @property
    def at(self) -> Floats:
        """Where each point lies: Hz or s, shape (points,)."""
        return self.data.frequency if isinstance(self.data, MeasuredResponse) else self.data.time

    @property
    def measured(self) -> Floats:
        """Measured values in ``unit``, shape (points,)."""
        return self.data.gain_db if isinstance(self.data, MeasuredResponse) else self.data.volts

    @cached_property
    def predicted(self) -> Floats:
        """Predicted values with nominal parts, in ``unit``, shape (points,)."""
        return self.predicted_with({}, self.at)

    def predicted_with(self, values: Mapping[str, float], at: Floats) -> Floats:
        """Return predicted values with other part values, in ``unit``, shape (points,).

        Parameters
        ----------
        values : mapping of str to float
            Parts that differ from the nominal ones, ohm or farad: such as ``fit.values``.
        at : array, shape (points,)
            Hz or s.
        """
        if isinstance(self.prediction, StartupPrediction):
            return self.prediction.volts(at, **values)
        return np.asarray(20.0 * np.log10(np.abs(self.prediction.complex_gain(at, **values))))

    @cached_property
    def band(self) -> tuple[Floats, Floats]:
        """Lowest and highest value at the points that parts and instrument allow, in ``unit``."""
        return self.band_at(self.at)

    def band_at(self, at: Floats) -> tuple[Floats, Floats]:
        """Return lowest and highest value that parts within tolerance and the instrument allow, in ``unit``.

        Parameters
        ----------
        at : array, shape (points,)
            Hz or s, ascending.
        """
        low, high = self.prediction.band(at, self.tolerances)
        error = 0.0 if self.probe is None else self.probe.accuracy
        if isinstance(self.data, MeasuredResponse):
            return 20.0 * np.log10(low * (1.0 - error)), 20.0 * np.log10(high * (1.0 + error))
        return low - error * np.abs(low), high + error * np.abs(high)

    @property
    def difference(self) -> Floats:
        """Measured minus predicted, in ``unit``, shape (points,)."""
        return self.measured - self.predicted

    @property
    def inside(self) -> NDArray[np.bool_]:
        """Which points lie in the band, shape (points,)."""
        low, high = self.band
        return np.asarray((low <= self.measured) & (self.measured <= high))

    @property
    def worst(self) -> int:
        """Which point lies farthest out of its band, or nearest to its edge if all lie in it."""
        low, high = self.band
        return int(np.argmax(np.maximum(low - self.measured, self.measured - high)))

    @property
    def text(self) -> str:
        """How many points lie in the band, the worst one, and what was left out, as plain text."""
        within, i = int(self.inside.sum()), self.worst
        seen = f" by {self.probe.title}" if self.probe else ""
        x = write_quantity(self.at[i], "Hz" if self.unit == "dB" else "s")
        low, high = (end[i] for end in self.band)
        lines = [
            f"{self.node}{seen}: {within} of {self.at.size} points lie in the tolerance band",
            (
                f"{'nearest to its edge' if within == self.at.size else 'farthest out'}: {x} (line "
                f"{self.data.lines[i]}), measured {self.measured[i]:.4g} {self.unit}, predicted "
                f"{self.predicted[i]:.4g} {self.unit}, band {low:.4g} to {high:.4g} {self.unit}"
            ),
        ]
        if self.data.understood.left_out:
            lines.append(f"{len(self.data.understood.left_out)} rows of the file were left out")
        return "\n".join(lines)

    def __repr__(self) -> str:
        return self.text

    def most_uncertain(self, count: int = 2) -> tuple[str, ...]:
        """Return the parts whose tolerance moves this measurement most and that it can tell apart.

        Parameters
        ----------
        count : int
            How many at most.
        """
        names = self._uncertain()
        if not names:
            return ()
        slopes = model_of(self.data, self.prediction, names).slopes({})
        return most_uncertain(slopes, names, self.tolerances, count)

    def _uncertain(self) -> tuple[str, ...]:
        """Return all parts with a tolerance that the prediction depends on."""
        parts = self.stage.circuit.part_names
        return tuple(n for n in self.tolerances.box if n in parts and n in self.prediction.names)

    def fit(self, parts: str | Sequence[str] | None = None, *, confidence: float = 0.95) -> Fit:
        """Return parts fitted to the measurement, with confidence intervals and verdicts.

        Parameters
        ----------
        parts : str or sequence of str, optional
            One name, or several such as ``("c_in", "c_g")``; the two of `most_uncertain` unless given.
        confidence : float
            Of the intervals.

        Raises
        ------
        UnknownNameError
            If there is no such part.
        SingleRailError
            If there are not more points than parts.
        """
        given = (parts,) if isinstance(parts, str) else parts
        names = self.most_uncertain() if given is None else tuple(dict.fromkeys(given))
        others = tuple(name for name in self._uncertain() if name not in names)
        model = model_of(self.data, self.prediction, (*names, *others))
        return fit_parts(model, names, others, self.tolerances, confidence=confidence, unit=self.unit)


def compare(
    stage: Stage,
    data: MeasuredResponse | MeasuredWaveform,
    *,
    node: str = "output",
    tolerance: Tolerances = 0.05,
    probe: str | Instrument | None = None,
    reference: str = "signal",
    ramp_time: QuantityLike = 0.0,
) -> Comparison:
    """Return a measurement beside what the whole network predicts for it, instrument included.

    Parameters
    ----------
    stage : Stage
        The stage with nominal parts.
    data : MeasuredResponse or MeasuredWaveform
        From `read_measurement`; a waveform is a start-up whose time 0 is the rail coming on.
    node : str
        Where it was measured.
    tolerance : float, str, pair or mapping
        Of the parts, as in `analysis.tolerance.worst_case`.
    probe : str or Instrument, optional
        What it was measured with, such as ``"scope_1x"``; its loading enters the prediction and its
        accuracy the band.
    reference : str
        Where the input of a response was measured: ``"signal"`` is in front of ``r_source``; a node
        behind it takes the source resistance out of the comparison.
    ramp_time : float or str
        Rise time of the rail of a start-up, s.

    Returns
    -------
    Comparison
        With ``.text``, ``.band``, ``.inside`` and ``.fit()``.

    Raises
    ------
    UnknownNameError
        If a node, part or instrument does not exist.
    QuantityError
        If a tolerance or the time cannot be used, or ``stage`` is no stage.
    SingleRailError
        If it is no measurement.
    """
    require_stage(stage)
    known = None if probe is None else instrument(probe)
    tolerances = tolerance_set(stage, tolerance)
    prediction: ResponsePrediction | StartupPrediction
    if isinstance(data, MeasuredResponse):
        prediction = predicted_response(stage, node, known, reference)
    elif isinstance(data, MeasuredWaveform):
        rise = read_quantity(ramp_time, "s", name="ramp_time", low=0.0)
        prediction = StartupPrediction(stage, *on_the_bench(stage, node, known), rise)
    else:
        raise SingleRailError(
            "data", type(data).__name__, allowed="a measurement", remedy="Read it with read_measurement(...)."
        )
    return Comparison(stage, node, known, data, tolerances, prediction)
