"""Results by figure, as attributes: one vocabulary for extremes, sums and random boards."""

from __future__ import annotations

from typing import Generic, TypeVar

T = TypeVar("T")


class ByFigure(Generic[T]):
    """Results by figure, as attributes."""

    def of(self, name: str) -> T:
        """Return the result of one figure.

        Parameters
        ----------
        name : str
            Such as ``"low_cutoff"``.

        Raises
        ------
        NotImplementedError
            In this base class.
        """
        raise NotImplementedError(name)

    @property
    def midband_gain(self) -> T:
        """Mid-band gain, V/V."""
        return self.of("midband_gain")

    @property
    def low_cutoff(self) -> T:
        """Low-end cut-off, Hz."""
        return self.of("low_cutoff")

    @property
    def high_cutoff(self) -> T:
        """Top-end cut-off, Hz."""
        return self.of("high_cutoff")

    @property
    def input_impedance(self) -> T:
        """Mid-band input impedance, ohm."""
        return self.of("input_impedance")

    @property
    def supply_gain(self) -> T:
        """Supply to output at the line frequency by the bias path, V/V."""
        return self.of("supply_gain")

    @property
    def ripple(self) -> T:
        """Supply to output at the line frequency, the op-amp's own supply rejection included, V/V."""
        return self.of("ripple")

    @property
    def bias_voltage(self) -> T:
        """Resting voltage of the mid-rail bias, V."""
        return self.of("bias_voltage")

    @property
    def output_rest(self) -> T:
        """Resting voltage of the op-amp output, V."""
        return self.of("output_rest")

    @property
    def swing(self) -> T:
        """Largest symmetric output swing, Vpp."""
        return self.of("swing")

    @property
    def settling_time(self) -> T:
        """Settling time after power-on, s."""
        return self.of("settling_time")
