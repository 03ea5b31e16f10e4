"""Stages with several signal inputs on a mid-rail bias: difference and sum."""

from __future__ import annotations

from .bias_sources import BiasSource, filtered_divider
from .blocks import coupled_output, feedback, labelled, numbered, signal_source
from .builder import CircuitBuilder
from .circuit import Circuit
from .elements import WhenAbsent
from .stage_type import register

CHANNELS = 3
"""Inputs of a registered summer."""


@register("Difference stage")
def difference(bias: BiasSource = filtered_divider) -> Circuit:
    r"""Return a difference stage: the output moves about the bias by what ``signal`` exceeds ``signal_2``.

        signal_2-[r_source_2]-source_2-[c_in_2]-drive_2-[r_in_2]--minus--[r_f]--amp_out-[c_out]-+- output
                                                                    |     >-\      |            |
                                                                              >----+        [r_load]
        signal---[r_source]---source---[c_in]---drive---[r_in]--plus ---->+/                    |
                                                                 |                           ground
                                                         bias-[r_ref]

    Without ``c_in`` and ``c_in_2`` it also passes DC differences.

    Parameters
    ----------
    bias : callable
        Adds the bias source.
    """
    circuit = CircuitBuilder("difference", ("signal", "plus", "amp_out", "output"))
    for channel, pin in ((1, "plus"), (2, "minus")):
        _coupled_channel(circuit, channel, pin, when_absent="short")
    circuit.resistor("r_ref", "bias", "plus", "Resistor from the + input to the bias node")
    bias(circuit)
    circuit.opamp("plus", "minus", "amp_out")
    feedback(circuit)
    coupled_output(circuit)
    return circuit.build()


@register("Inverting summer")
def summer(bias: BiasSource = filtered_divider) -> Circuit:
    r"""Return an inverting summer without input capacitors: its sources must rest at the bias voltage.

        signal---[r_source]---source---[r_in]----+
        signal_2-[r_source_2]-source_2-[r_in_2]--+--minus--[r_f]--amp_out-[c_out]-+- output
        signal_3-[r_source_3]-source_3-[r_in_3]--+    |  >-\         |            |
                                                            >--------+        [r_load]
                                 bias (+ input) -------->+/                       |
                                                                               ground

    Sources that rest at 0 V leave the output at the bias voltage times the noise gain.

    Parameters
    ----------
    bias : callable
        Adds the bias source.
    """
    return summing_circuit("summer", bias, coupled=False)


@register("Inverting summer, coupled inputs")
def coupled_summer(bias: BiasSource = filtered_divider) -> Circuit:
    r"""Return an inverting summer with a capacitor in every channel, so that DC levels may differ.

        signal---[r_source]---source---[c_in]---drive---[r_in]----+
        signal_2-[r_source_2]-source_2-[c_in_2]-drive_2-[r_in_2]--+--minus--[r_f]--amp_out-[c_out]-+- output
        signal_3-[r_source_3]-source_3-[c_in_3]-drive_3-[r_in_3]--+    |  >-\         |            |
                                                                             >--------+        [r_load]
                                                  bias (+ input) -------->+/                       |
                                                                                                ground

    Parameters
    ----------
    bias : callable
        Adds the bias source.
    """
    return summing_circuit("coupled_summer", bias, coupled=True)


def summing_circuit(
    name: str, bias: BiasSource = filtered_divider, *, coupled: bool, channels: int = CHANNELS
) -> Circuit:
    """Return an inverting summer with any number of channels.

    Parameters
    ----------
    name : str
        Name of the stage.
    bias : callable
        Adds the bias source.
    coupled : bool
        Whether every channel has a capacitor.
    channels : int
        Number of inputs, at least 1.
    """
    circuit = CircuitBuilder(name, ("signal", "amp_out", "output"))
    for channel in range(1, channels + 1):
        if coupled:
            _coupled_channel(circuit, channel, "minus")
        else:
            signal_source(circuit, channel)
            _input_resistor(circuit, channel, "source", "minus")
    bias(circuit)
    circuit.opamp("bias", "minus", "amp_out")
    feedback(circuit)
    coupled_output(circuit)
    return circuit.build()


def _coupled_channel(
    circuit: CircuitBuilder, channel: int, pin: str, when_absent: WhenAbsent = "required"
) -> None:
    """Add source, capacitor and input resistor of a channel; it ends on an op-amp pin."""
    signal_source(circuit, channel)
    drive, source = numbered("drive", channel), numbered("source", channel)
    circuit.capacitor(
        numbered("c_in", channel), drive, source, labelled("Input coupling capacitor", channel), when_absent
    )
    _input_resistor(circuit, channel, "drive", pin)


def _input_resistor(circuit: CircuitBuilder, channel: int, start: str, pin: str) -> None:
    label = labelled("Input resistor", channel)
    circuit.resistor(numbered("r_in", channel), numbered(start, channel), pin, label)
