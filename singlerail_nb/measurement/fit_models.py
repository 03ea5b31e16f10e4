"""What a fit needs to know about a measurement: residuals and their slopes."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from ..errors import SingleRailError
from .measured import Floats, MeasuredResponse, MeasuredWaveform
from .prediction import ResponsePrediction
from .startup_prediction import StartupPrediction

_DECIBELS = 20.0 / math.log(10.0)
_STEP = 1e-4


class Model(Protocol):
    """Residuals and slopes of a measurement."""

    def residuals(self, values: Mapping[str, float]) -> Floats:
        """Return prediction minus measurement, shape (numbers,).

        Parameters
        ----------
        values : mapping of str to float
            Values of some parts, SI units; the others are nominal.
        """

    def slopes(self, values: Mapping[str, float]) -> Floats:
        """Return the slope of each residual over the logarithm of each part, shape (numbers, parts).

        Parameters
        ----------
        values : mapping of str to float
            Values of some parts, SI units; the others are nominal.
        """


@dataclass(frozen=True)
class ResponseModel:
    """Residuals in dB; a measured phase counts as 8.686 dB per radian, as the logarithm of H does.

    Attributes
    ----------
    data : MeasuredResponse
        The measurement.
    prediction : ResponsePrediction
        What it should have been.
    names : tuple of str
        Over which parts slopes are taken.
    """

    data: MeasuredResponse
    prediction: ResponsePrediction
    names: tuple[str, ...]

    def residuals(self, values: Mapping[str, float]) -> Floats:
        """Return prediction minus measurement, dB, shape (numbers,): magnitudes, then phases.

        Parameters
        ----------
        values : mapping of str to float
            Values of some parts, SI units; the others are nominal.
        """
        ratio = self.prediction.complex_gain(self.data.frequency, **values) / self.data.gain
        if self.data.phase is not None:
            ratio = ratio * np.exp(-1j * np.radians(self.data.phase))
        return self._stacked(np.log(ratio))

    def slopes(self, values: Mapping[str, float]) -> Floats:
        """Return exact slopes over the logarithm of each part, dB, shape (numbers, parts).

        Parameters
        ----------
        values : mapping of str to float
            Values of some parts, SI units; the others are nominal.
        """
        return self._stacked(self.prediction.log_slopes(self.data.frequency, self.names, **values))

    def _stacked(self, logarithms: Any) -> Floats:
        halves = [logarithms.real] if self.data.phase is None else [logarithms.real, logarithms.imag]
        return np.asarray(_DECIBELS * np.concatenate(halves))


@dataclass(frozen=True)
class StartupModel:
    """Residuals in volts; slopes by central differences.

    Attributes
    ----------
    data : MeasuredWaveform
        The measurement.
    prediction : StartupPrediction
        What it should have been.
    names : tuple of str
        Over which parts slopes are taken.
    """

    data: MeasuredWaveform
    prediction: StartupPrediction
    names: tuple[str, ...]

    def residuals(self, values: Mapping[str, float]) -> Floats:
        """Return prediction minus measurement, V, shape (points,).

        Parameters
        ----------
        values : mapping of str to float
            Values of some parts, SI units; the others are nominal.
        """
        return self.prediction.volts(self.data.time, **values) - self.data.volts

    def slopes(self, values: Mapping[str, float]) -> Floats:
        """Return slopes over the logarithm of each part, V, shape (points, parts).

        Parameters
        ----------
        values : mapping of str to float
            Values of some parts, SI units; the others are nominal.
        """
        columns = []
        for name in self.names:
            middle = {**self.prediction.network.values, **values}[name]
            ends = [{**values, name: middle * math.exp(sign * _STEP)} for sign in (1.0, -1.0)]
            above, below = (self.residuals(end) for end in ends)
            columns.append((above - below) / (2.0 * _STEP))
        return np.array(columns).reshape(len(self.names), self.data.time.size).T


def model_of(
    data: MeasuredResponse | MeasuredWaveform,
    prediction: ResponsePrediction | StartupPrediction,
    names: tuple[str, ...],
) -> Model:
    """Return the model of a measurement.

    Parameters
    ----------
    data : MeasuredResponse or MeasuredWaveform
        The measurement.
    prediction : ResponsePrediction or StartupPrediction
        What it should have been.
    names : tuple of str
        Over which parts slopes are taken.

    Raises
    ------
    SingleRailError
        If a response is paired with a start-up.
    """
    if isinstance(data, MeasuredResponse) and isinstance(prediction, ResponsePrediction):
        return ResponseModel(data, prediction, names)
    if isinstance(data, MeasuredWaveform) and isinstance(prediction, StartupPrediction):
        return StartupModel(data, prediction, names)
    raise SingleRailError(
        "data",
        type(data).__name__,
        allowed="a response with a predicted response, a waveform with a predicted start-up",
        remedy="Use compare(stage, data), which pairs them.",
    )
