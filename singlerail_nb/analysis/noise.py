"""Noise of the whole network: every source to every node, density and band, by contributor.

Thermal noise of each resistor (4 k T R), noise voltage of each op-amp in series with its + input,
noise current of each op-amp at each input pin, and whatever else is given.  All are taken as
uncorrelated; powers add.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from numbers import Real

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..circuit.network_functions import transfer_function
from ..errors import QuantityError
from ..quantities import QuantityLike, read_quantity, read_temperature, write_quantity
from .evaluation import compiled, frequencies
from .integration import integral_over_band
from .network import Solvable, require_stage
from .noise_sources import NoiseSource, opamp_sources, thermal_sources
from .rational import horner, roots, trimmed
from .transfer import Transfer

_AUDIO = (20.0, 20e3)
_MOST = 3


@dataclass(frozen=True)
class Noise:
    """The noise of a stage.

    Attributes
    ----------
    stage : Stage or Network
        The network.
    temperature : float
        Of every resistor, K.
    sources : tuple of NoiseSource
        Every contributor.
    """

    stage: Solvable
    temperature: float
    sources: tuple[NoiseSource, ...]

    @property
    def text(self) -> str:
        """Noise at the output from 20 Hz to 20 kHz, and its three largest contributors, as plain text."""
        head = f"Noise of {len(self.sources)} contributors at {self.temperature:.4g} K"
        if not self.stage.circuit.has_node("output"):
            return f"{head}; ask for a node: noise.rms(20, 20e3, node)"
        by_source = self.rms_by_source(*_AUDIO)
        whole = math.hypot(*by_source.values())
        lines = [f"{head}: {write_quantity(whole, 'Vrms')} at the output, 20 Hz to 20 kHz"]
        for name, volts in list(by_source.items())[:_MOST]:
            share = 100.0 * (volts / whole) ** 2 if whole else 0.0
            lines.append(f"  {name}: {write_quantity(volts, 'Vrms')}, {share:.3g} % of the power")
        return "\n".join(lines)

    def __repr__(self) -> str:
        return self.text

    def density(self, f: ArrayLike, node: str = "output") -> NDArray[np.float64]:
        """Return the noise density at a node.

        Parameters
        ----------
        f : array_like
            Hz, above 0, any shape.
        node : str
            The node.

        Returns
        -------
        ndarray, shape of f
            V/sqrt(Hz).

        Raises
        ------
        QuantityError
            If a frequency is not positive.
        UnknownNameError
            If the node does not exist.
        """
        return np.asarray(np.sqrt(self._powers(_positive(f), node).sum(axis=0)))

    def density_by_source(self, f: ArrayLike, node: str = "output") -> dict[str, NDArray[np.float64]]:
        """Return the noise density at a node by contributor, in V/sqrt(Hz).

        Parameters
        ----------
        f : array_like
            Hz, above 0, any shape.
        node : str
            The node.

        Raises
        ------
        QuantityError
            If a frequency is not positive.
        UnknownNameError
            If the node does not exist.
        """
        powers = self._powers(_positive(f), node)
        return {source.name: np.sqrt(p) for source, p in zip(self.sources, powers, strict=True)}

    def rms(
        self,
        f_low: QuantityLike,
        f_high: QuantityLike,
        node: str = "output",
        *,
        referred_by: Transfer | None = None,
    ) -> float:
        """Return the noise voltage in a band, Vrms.

        Parameters
        ----------
        f_low, f_high : float or str
            The band, Hz.
        node : str
            The node.
        referred_by : Transfer, optional
            Divide by this gain at every frequency; ``stage.transfer("signal", node)`` refers the
            noise to the source, ``stage.section("plus", node)`` to the + input.

        Raises
        ------
        QuantityError
            If the band is empty, endless or reaches down to DC.
        UnknownNameError
            If the node does not exist.
        """
        return math.sqrt(float(self._band(f_low, f_high, node, referred_by).sum()))

    def rms_by_source(
        self,
        f_low: QuantityLike,
        f_high: QuantityLike,
        node: str = "output",
        *,
        referred_by: Transfer | None = None,
    ) -> dict[str, float]:
        """Return the noise voltage in a band by contributor, Vrms, the largest first.

        Parameters
        ----------
        f_low, f_high, node, referred_by
            As in `rms`.

        Raises
        ------
        QuantityError
            If the band is empty, endless or reaches down to DC.
        UnknownNameError
            If the node does not exist.
        """
        volts = np.sqrt(self._band(f_low, f_high, node, referred_by))
        pairs = zip((source.name for source in self.sources), volts.tolist(), strict=True)
        return dict(sorted(pairs, key=lambda pair: -pair[1]))

    def signal_to_noise(
        self, signal_rms: QuantityLike, f_low: QuantityLike, f_high: QuantityLike, node: str = "output"
    ) -> float:
        """Return the signal-to-noise ratio in a band, dB.

        Parameters
        ----------
        signal_rms : float or str
            Signal at the node, Vrms.
        f_low, f_high : float or str
            The band, Hz.
        node : str
            The node.

        Raises
        ------
        QuantityError
            If the signal is not positive, or the band makes no sense.
        """
        signal = read_quantity(signal_rms, "Vrms", name="signal_rms")
        if not signal > 0:
            raise QuantityError(
                "signal_rms", signal, allowed="> 0 Vrms", remedy="Give the signal at the node, in Vrms."
            )
        return 20.0 * math.log10(signal / self.rms(f_low, f_high, node))

    def dynamic_range(
        self, swing: QuantityLike, f_low: QuantityLike, f_high: QuantityLike, node: str = "output"
    ) -> float:
        """Return the ratio of the largest undistorted sine to the noise, dB.

        Parameters
        ----------
        swing : float or str
            Largest symmetric swing at the node, Vpp; `window` gives it.
        f_low, f_high : float or str
            The band, Hz.
        node : str
            The node.

        Raises
        ------
        QuantityError
            If the swing is not positive, or the band makes no sense.
        """
        volts = read_quantity(swing, "Vpp", name="swing")
        return self.signal_to_noise(volts / math.sqrt(8.0), f_low, f_high, node)

    def _polynomials(self, node: str) -> tuple[list[NDArray[np.float64]], NDArray[np.float64]]:
        """Return one numerator per source, and the denominator they share."""
        circuit, model = self.stage.circuit, self.stage.model
        functions = [transfer_function(circuit, s.excitation, node, model) for s in self.sources]
        halves = compiled(*functions)(self.stage.parameters)
        return [trimmed(top) for top in halves[0::2]], trimmed(halves[1])

    def _powers(self, f: NDArray[np.float64], node: str) -> NDArray[np.float64]:
        """Return the power densities, V^2/Hz, shape (sources, *f.shape)."""
        tops, bottom = self._polynomials(node)
        s = 2j * math.pi * f
        below = np.abs(horner(bottom, s)) ** 2
        white = [
            np.abs(horner(top, s)) ** 2 * source.white**2
            for top, source in zip(tops, self.sources, strict=True)
        ]
        rise = [1.0 + source.corner / f for source in self.sources]
        return np.asarray(np.array(white) * np.array(rise) / below)

    def _band(
        self, f_low: QuantityLike, f_high: QuantityLike, node: str, by: Transfer | None
    ) -> NDArray[np.float64]:
        """Return the powers in a band, V^2, shape (sources,)."""
        low, high = (_end_of_band(f, name) for f, name in ((f_low, "f_low"), (f_high, "f_high")))
        singular = roots(self._polynomials(node)[1])
        if by is not None:
            singular = np.concatenate([singular, by.zeros()])

        def integrand(f: NDArray[np.float64]) -> NDArray[np.float64]:
            powers = self._powers(f, node)
            return powers if by is None else powers / np.abs(by(f)) ** 2

        return integral_over_band(integrand, singular, low, high)


def _end_of_band(given: QuantityLike, name: str) -> float:
    return float(given) if isinstance(given, Real) else read_quantity(given, "Hz", name=name)


def noise(stage: Solvable, temperature: QuantityLike = 300.0, extra: Iterable[NoiseSource] = ()) -> Noise:
    """Return the noise of a stage.

    Parameters
    ----------
    stage : Stage or Network
        The network.
    temperature : float or str
        Of every resistor, K, or a text such as "27 degC".
    extra : iterable of NoiseSource
        More sources, such as the noise of a reference (excitation: its source name) or of the
        rail (excitation ``"supply"``).

    Raises
    ------
    QuantityError
        If the temperature is not positive, or a contributor is named twice, or ``stage`` is no stage.
    """
    require_stage(stage)
    kelvin = read_temperature(temperature)
    if not (kelvin > 0 and math.isfinite(kelvin)):
        raise QuantityError(
            "temperature",
            f"{kelvin:g} K",
            allowed="> 0 K",
            remedy="Give kelvin: 300 K is about 27 degC.",
        )
    sources = (*thermal_sources(stage, kelvin), *opamp_sources(stage), *extra)
    names = [source.name for source in sources]
    for name in names:
        if names.count(name) > 1:
            raise QuantityError(
                "noise source", name, allowed="every name once", remedy="Give the extra source another name."
            )
    return Noise(stage, kelvin, sources)


def _positive(f: ArrayLike) -> NDArray[np.float64]:
    array = frequencies(f)
    if not (array > 0).all():
        raise QuantityError("f", "0 Hz", allowed="> 0 Hz", remedy="1/f noise has no finite density at 0 Hz.")
    return array
