"""Second-order filters on a mid-rail bias, in which the bias resistor is part of the filter."""

from __future__ import annotations

from .bias_sources import BiasSource, filtered_divider
from .blocks import coupled_output, signal_source
from .builder import CircuitBuilder
from .circuit import Circuit
from .elements import GROUND
from .stage_type import register


@register("Second-order high-pass")
def highpass(bias: BiasSource = filtered_divider) -> Circuit:
    r"""Return a second-order high-pass around a follower; the bias resistor sets its damping.

        signal-[r_source]-source-[c_in]-middle-[c_link]--+-- plus  >+\
                                           |             |            >--+-- amp_out -[c_out]-+- output
                                        [r_link]     [r_bias]      >-/   |                    |
                                           |             |         +-----+                [r_load]
                                        amp_out        bias                                   |
                                                                                           ground

    With equal capacitors the quality factor is half the root of ``r_bias`` over ``r_link``.

    Parameters
    ----------
    bias : callable
        Adds the bias source.
    """
    circuit = CircuitBuilder("highpass", ("signal", "plus", "amp_out", "output"))
    signal_source(circuit)
    circuit.capacitor("c_in", "middle", "source", "Input coupling capacitor")
    circuit.capacitor("c_link", "plus", "middle", "Second filter capacitor")
    circuit.resistor("r_link", "amp_out", "middle", "Filter resistor, driven by the output")
    circuit.resistor("r_bias", "bias", "plus", "Bias resistor")
    bias(circuit)
    circuit.opamp("plus", "amp_out", "amp_out")
    coupled_output(circuit)
    return circuit.build()


@register("Second-order low-pass")
def lowpass(bias: BiasSource = filtered_divider) -> Circuit:
    r"""Return a second-order low-pass around a follower; the bias resistor loads its input.

        signal-[r_source]-source-[c_in]-drive-[r_in]-middle-[r_link]-+- plus >+\
                                          |            |             |          >-+-amp_out-[c_out]-+- output
                                      [r_bias]      [c_link]      [c_low]     >-/ |                 |
                                          |            |             |        +---+             [r_load]
                                         bias       amp_out        ground                           |
                                                                                                 ground

    Parameters
    ----------
    bias : callable
        Adds the bias source.
    """
    circuit = CircuitBuilder("lowpass", ("signal", "plus", "amp_out", "output"))
    signal_source(circuit)
    circuit.capacitor("c_in", "drive", "source", "Input coupling capacitor")
    circuit.resistor("r_bias", "bias", "drive", "Bias resistor")
    circuit.resistor("r_in", "drive", "middle", "Input resistor")
    circuit.resistor("r_link", "middle", "plus", "Second filter resistor")
    circuit.capacitor("c_link", "middle", "amp_out", "Filter capacitor, driven by the output")
    circuit.capacitor("c_low", "plus", GROUND, "Filter capacitor at the + input")
    bias(circuit)
    circuit.opamp("plus", "amp_out", "amp_out")
    coupled_output(circuit)
    return circuit.build()
