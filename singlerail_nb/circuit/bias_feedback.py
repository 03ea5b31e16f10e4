"""Stages whose signal works back on the bias: a bootstrapped bias, a gain leg on the bias node."""

from __future__ import annotations

from .bias_sources import BiasSource, filtered_divider
from .blocks import coupled_input, coupled_output, feedback
from .builder import CircuitBuilder
from .circuit import Circuit
from .stage_type import register


@register("Follower with bootstrapped bias")
def bootstrapped_follower(bias: BiasSource = filtered_divider) -> Circuit:
    r"""Return a follower that lifts the far end of its bias resistor with the signal.

        signal-[r_source]-source-[c_in]--+-- plus >+\
                                         |          >-+- amp_out -[c_out]-+- output
                     bias-[r_boost]-boost-[r_bias]  >-/ |   |             |
                                      |           +-----+   |         [r_load]
                                      +------[c_boost]------+             |
                                                                       ground

    The bias resistor carries almost no signal, so the input impedance is high; below the low-end
    cut-off the stage peaks.

    Parameters
    ----------
    bias : callable
        Adds the bias source.
    """
    circuit = CircuitBuilder("bootstrapped_follower", ("signal", "plus", "amp_out", "output"))
    coupled_input(circuit, bias="boost")
    circuit.resistor("r_boost", "bias", "boost", "Bias resistor, lower half")
    circuit.capacitor("c_boost", "amp_out", "boost", "Bootstrap capacitor")
    bias(circuit)
    circuit.opamp("plus", "amp_out", "amp_out")
    coupled_output(circuit)
    return circuit.build()


@register("Gain leg on the bias node")
def leg_on_bias(bias: BiasSource = filtered_divider) -> Circuit:
    r"""Return a non-inverting stage whose gain leg ends on the bias node instead of ground.

        ... as the non-inverting stage, but   minus -[r_g]- bias

    It saves the gain-leg capacitor, but the bias node's impedance is then part of the gain leg,
    and the signal current moves the bias of everything that shares it.

    Parameters
    ----------
    bias : callable
        Adds the bias source.
    """
    circuit = CircuitBuilder("leg_on_bias", ("signal", "plus", "amp_out", "output"))
    coupled_input(circuit)
    bias(circuit)
    circuit.opamp("plus", "minus", "amp_out")
    feedback(circuit)
    circuit.resistor("r_g", "minus", "bias", "Gain-leg resistor")
    coupled_output(circuit)
    return circuit.build()
