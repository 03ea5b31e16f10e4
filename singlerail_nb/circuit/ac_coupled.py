"""AC-coupled stages on a mid-rail bias, among them two that are wrong on purpose.

To add a stage, write the function, draw it in its docstring and register it; derivation,
response, design views, panels and the registry-wide tests follow from the circuit.
"""

from __future__ import annotations

from .bias_sources import BiasSource, filtered_divider
from .blocks import coupled_input, coupled_output, feedback, signal_source
from .builder import CircuitBuilder
from .circuit import Circuit
from .elements import GROUND
from .stage_type import register


@register("Non-inverting stage")
def noninverting(bias: BiasSource = filtered_divider) -> Circuit:
    r"""Return an AC-coupled non-inverting stage whose gain leg has a series capacitor.

        signal-[r_source]-source-[c_in]-plus   >+\
                                         |        >-- amp_out -[c_out]-+- output
        supply-[r_top]-bias-[r_bias]-----+    >-/       |              |
                        |                      |---[r_f]+           [r_load]
           [r_bottom] [c_bias]                 |---[c_f]+              |
                                             minus                   ground
                                               |-[r_g]-leg-[c_g]-ground

    Parameters
    ----------
    bias : callable
        Adds the bias source.
    """
    circuit = CircuitBuilder("noninverting", ("signal", "plus", "amp_out", "output"))
    coupled_input(circuit)
    bias(circuit)
    circuit.opamp("plus", "minus", "amp_out")
    feedback(circuit)
    circuit.resistor("r_g", "minus", "leg", "Gain-leg resistor")
    circuit.capacitor("c_g", "leg", GROUND, "Gain-leg capacitor")
    coupled_output(circuit)
    return circuit.build()


@register("Inverting stage")
def inverting(bias: BiasSource = filtered_divider) -> Circuit:
    r"""Return an AC-coupled inverting stage; the + input sits on the bias node.

        signal-[r_source]-source-[c_in]-drive-[r_in]-minus--[r_f]--amp_out-[c_out]-+- output
                                                     |  >-\         |               |
                                                     |     >-------+           [r_load]
                        supply-[r_top]-bias (+ input)   >+/                        |
                                        |                                       ground
                           [r_bottom] [c_bias]

    Parameters
    ----------
    bias : callable
        Adds the bias source.
    """
    circuit = CircuitBuilder("inverting", ("signal", "amp_out", "output"))
    signal_source(circuit)
    circuit.capacitor("c_in", "drive", "source", "Input coupling capacitor")
    circuit.resistor("r_in", "drive", "minus", "Input resistor")
    bias(circuit)
    circuit.opamp("bias", "minus", "amp_out")
    feedback(circuit)
    coupled_output(circuit)
    return circuit.build()


@register("Follower")
def follower(bias: BiasSource = filtered_divider) -> Circuit:
    r"""Return an AC-coupled unity-gain buffer.

        signal-[r_source]-source-[c_in]-plus   >+\
                                         |        >--+-- amp_out -[c_out]-+- output
        supply-[r_top]-bias-[r_bias]-----+    >-/    |                    |
                        |                      +-----+                 [r_load]
           [r_bottom] [c_bias]                                            |
                                                                       ground

    Parameters
    ----------
    bias : callable
        Adds the bias source.
    """
    circuit = CircuitBuilder("follower", ("signal", "plus", "amp_out", "output"))
    coupled_input(circuit)
    bias(circuit)
    circuit.opamp("plus", "amp_out", "amp_out")
    coupled_output(circuit)
    return circuit.build()


@register(
    "Gain leg without its capacitor",
    lesson="The gain leg ends on ground without a capacitor, so the stage amplifies its own bias.",
)
def leg_without_capacitor(bias: BiasSource = filtered_divider) -> Circuit:
    """Return the non-inverting stage with the gain-leg capacitor forgotten (a teaching stage).

        ... as the non-inverting stage, but   minus -[r_g]- ground

    Parameters
    ----------
    bias : callable
        Adds the bias source.
    """
    circuit = CircuitBuilder("leg_without_capacitor", ("signal", "plus", "amp_out", "output"))
    coupled_input(circuit)
    bias(circuit)
    circuit.opamp("plus", "minus", "amp_out")
    feedback(circuit)
    circuit.resistor("r_g", "minus", GROUND, "Gain-leg resistor")
    coupled_output(circuit)
    return circuit.build()


@register(
    "Input without a bias path",
    lesson="The + input hangs on a capacitor alone: its input current has nowhere to go.",
    fault_nodes=("plus",),
)
def input_without_bias_path(bias: BiasSource = filtered_divider) -> Circuit:
    """Return the non-inverting stage with the bias resistor forgotten (a teaching stage).

        ... as the non-inverting stage, but nothing joins bias and plus

    Parameters
    ----------
    bias : callable
        Adds the bias source.
    """
    circuit = CircuitBuilder("input_without_bias_path", ("signal", "plus", "amp_out", "output"))
    signal_source(circuit)
    circuit.capacitor("c_in", "plus", "source", "Input coupling capacitor")
    bias(circuit)
    circuit.opamp("plus", "minus", "amp_out")
    feedback(circuit)
    circuit.resistor("r_g", "minus", "leg", "Gain-leg resistor")
    circuit.capacitor("c_g", "leg", GROUND, "Gain-leg capacitor")
    coupled_output(circuit)
    return circuit.build()
