"""Several amplifiers on one mid-rail bias node: channels side by side, and stages in a row."""

from __future__ import annotations

from .bias_sources import BiasSource, filtered_divider
from .blocks import coupled_input, coupled_output, labelled, numbered
from .builder import CircuitBuilder
from .circuit import Circuit
from .elements import GROUND
from .stage_type import register


@register("Two channels on one bias")
def two_channels(bias: BiasSource = filtered_divider) -> Circuit:
    r"""Return two followers that share a bias node, each with optional decoupling of its own.

        signal---[r_source]---source---[c_in]---plus    >  amp_out   -[c_out]---+-[r_load]---ground
                                                 |                              output
                            bias-[r_local]-local-[r_bias]
                                             |
                                         [c_local]-- ground
        signal_2-[r_source_2]-source_2-[c_in_2]-plus_2  >  amp_out_2 -[c_out_2]-+-[r_load_2]-ground
                                                 |                              output_2
                         bias-[r_local_2]-local_2-[r_bias_2]
                                             |
                                         [c_local_2]-- ground

    What one channel says is heard in the other through the impedance of the bias node.

    Parameters
    ----------
    bias : callable
        Adds the bias source.
    """
    return channels_circuit("two_channels", bias)


def channels_circuit(name: str, bias: BiasSource = filtered_divider, channels: int = 2) -> Circuit:
    """Return any number of followers that share a bias node.

    Parameters
    ----------
    name : str
        Name of the stage.
    bias : callable
        Adds the bias source.
    channels : int
        Number of channels, at least 1.
    """
    circuit = CircuitBuilder(name, ("signal", "plus", "amp_out", "output"))
    every = range(1, channels + 1)
    for channel in every:
        coupled_input(circuit, numbered("local", channel), channel)
    bias(circuit)
    for channel in every:
        _local_decoupling(circuit, channel)
    for channel in every:
        out = numbered("amp_out", channel)
        amplifier = numbered("opamp", channel), labelled("Amplifier", channel)
        circuit.opamp(numbered("plus", channel), out, out, *amplifier)
        coupled_output(circuit, channel)
    return circuit.build()


def _local_decoupling(circuit: CircuitBuilder, channel: int) -> None:
    """Add a resistor from the bias node to a channel and a capacitor behind it, both optional."""
    resistor, capacitor, local = (numbered(name, channel) for name in ("r_local", "c_local", "local"))
    circuit.resistor(resistor, "bias", local, labelled("Local bias resistor", channel), "short")
    circuit.capacitor(capacitor, local, GROUND, labelled("Local bias capacitor", channel), "open")


@register("Two stages in a row")
def two_stages(bias: BiasSource = filtered_divider) -> Circuit:
    r"""Return two non-inverting stages in a row on one bias node, coupled by a capacitor.

        signal-[r_source]-source-[c_in]-plus  >  amp_out -[c_in_2]- plus_2  >  amp_out_2 -[c_out]- output
                                         |      [r_f]                |        [r_f_2]              |
                                      [r_bias]  minus             [r_bias_2]  minus_2          [r_load]
                                         |      [r_g]                |        [r_g_2]              |
                                       bias     leg                bias       leg_2             ground
                                                [c_g]                         [c_g_2]
                                                ground                        ground

    Parameters
    ----------
    bias : callable
        Adds the bias source.
    """
    path = ("signal", "plus", "amp_out", "plus_2", "amp_out_2", "output")
    circuit = CircuitBuilder("two_stages", path)
    coupled_input(circuit)
    bias(circuit)
    _amplifier(circuit, 1)
    circuit.capacitor("c_in_2", "plus_2", "amp_out", "Coupling capacitor between the stages")
    circuit.resistor("r_bias_2", "bias", "plus_2", "Bias resistor, second stage")
    _amplifier(circuit, 2)
    circuit.capacitor("c_out", "amp_out_2", "output", "Output coupling capacitor", when_absent="short")
    circuit.resistor("r_load", "output", GROUND, "Load resistance", when_absent="open")
    return circuit.build()


@register("Two stages in a row, the second inverting")
def two_stages_inverting(bias: BiasSource = filtered_divider) -> Circuit:
    r"""Return a non-inverting stage and an inverting one in a row on one bias node.

        signal-[r_source]-source-[c_in]-plus  >  amp_out -[c_in_2]- drive_2 -[r_in_2]- minus_2 > amp_out_2
                                         |      [r_f]                                 [r_f_2]       |
                                      [r_bias]  minus                                           [c_out]
                                         |      [r_g]                                               |
                                       bias     leg                  bias (+ input, second)      output
                                                [c_g]                                               |
                                                ground                                  ground -[r_load]

    One inversion in all: what the load draws through a soft rail comes back through the bias in phase.

    Parameters
    ----------
    bias : callable
        Adds the bias source.
    """
    path = ("signal", "plus", "amp_out", "amp_out_2", "output")
    circuit = CircuitBuilder("two_stages_inverting", path)
    coupled_input(circuit)
    bias(circuit)
    _amplifier(circuit, 1)
    circuit.capacitor(
        "c_in_2", "drive_2", "amp_out", "Coupling capacitor between the stages", when_absent="short"
    )
    circuit.resistor("r_in_2", "drive_2", "minus_2", "Input resistor, second stage")
    circuit.opamp("bias", "minus_2", "amp_out_2", "opamp_2", "Amplifier, second stage")
    circuit.resistor("r_f_2", "amp_out_2", "minus_2", "Feedback resistor, second stage")
    circuit.capacitor("c_out", "amp_out_2", "output", "Output coupling capacitor", when_absent="short")
    circuit.resistor("r_load", "output", GROUND, "Load resistance", when_absent="open")
    return circuit.build()


def _amplifier(circuit: CircuitBuilder, stage: int) -> None:
    plus, minus, leg, out = (numbered(node, stage) for node in ("plus", "minus", "leg", "amp_out"))
    which = "" if stage == 1 else ", second stage"
    circuit.opamp(plus, minus, out, numbered("opamp", stage), f"Amplifier{which}")
    circuit.resistor(numbered("r_f", stage), out, minus, f"Feedback resistor{which}")
    circuit.resistor(numbered("r_g", stage), minus, leg, f"Gain-leg resistor{which}")
    circuit.capacitor(numbered("c_g", stage), leg, GROUND, f"Gain-leg capacitor{which}")
