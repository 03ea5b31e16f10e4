"""Pieces that several stages share: input, feedback, output.  Names carry the number of the channel."""

from __future__ import annotations

from .builder import CircuitBuilder
from .elements import GROUND


def numbered(name: str, channel: int = 1) -> str:
    """Return the name of a part or node in a channel: ``r_in``, ``r_in_2``, ``r_in_3`` ...

    Parameters
    ----------
    name : str
        Its name in the first channel.
    channel : int
        Counted from 1.
    """
    return name if channel == 1 else f"{name}_{channel}"


def labelled(label: str, channel: int = 1) -> str:
    """Return the label of a part in a channel.

    Parameters
    ----------
    label : str
        Its label in the first channel.
    channel : int
        Counted from 1.
    """
    return label if channel == 1 else f"{label}, channel {channel}"


def signal_source(circuit: CircuitBuilder, channel: int = 1) -> None:
    """Add a signal source with its resistance; the node behind it is ``source``.

        signal --[r_source]-- source

    Parameters
    ----------
    circuit : CircuitBuilder
        The stage under construction.
    channel : int
        Counted from 1.
    """
    signal, source = numbered("signal", channel), numbered("source", channel)
    if channel > 1:
        circuit.source(signal, labelled("Signal source", channel), "driven")
    circuit.resistor(numbered("r_source", channel), signal, source, labelled("Source resistance", channel))


def coupled_input(circuit: CircuitBuilder, bias: str = "bias", channel: int = 1) -> None:
    """Add a signal source, a coupling capacitor and a bias resistor at a + input.

        signal --[r_source]-- source --[c_in]--+-- plus
                                               |
                               bias --[r_bias]-+

    Parameters
    ----------
    circuit : CircuitBuilder
        The stage under construction.
    bias : str
        Node that the bias resistor comes from.
    channel : int
        Counted from 1.
    """
    plus, source = numbered("plus", channel), numbered("source", channel)
    signal_source(circuit, channel)
    circuit.capacitor(numbered("c_in", channel), plus, source, labelled("Input coupling capacitor", channel))
    circuit.resistor(numbered("r_bias", channel), bias, plus, labelled("Bias resistor", channel))


def feedback(circuit: CircuitBuilder) -> None:
    """Add the feedback resistor and its optional capacitor.

        amp_out --[r_f]--+-- minus
                --[c_f]--+

    Parameters
    ----------
    circuit : CircuitBuilder
        The stage under construction.
    """
    circuit.resistor("r_f", "amp_out", "minus", "Feedback resistor")
    circuit.capacitor("c_f", "amp_out", "minus", "Feedback capacitor", when_absent="open")


def coupled_output(circuit: CircuitBuilder, channel: int = 1) -> None:
    """Add an output coupling capacitor and a load, both optional.

        amp_out --[c_out]--+-- output
                           |
                       [r_load]-- ground

    Parameters
    ----------
    circuit : CircuitBuilder
        The stage under construction.
    channel : int
        Counted from 1.
    """
    amp_out, output = numbered("amp_out", channel), numbered("output", channel)
    circuit.capacitor(
        numbered("c_out", channel), amp_out, output, labelled("Output coupling capacitor", channel), "short"
    )
    circuit.resistor(
        numbered("r_load", channel), output, GROUND, labelled("Load resistance", channel), "open"
    )


def direct_output(circuit: CircuitBuilder) -> None:
    """Add what stands between an op-amp and a converter input, all of it optional.

        amp_out --[r_out]--+----------+-- output
                           |          |
                        [c_adc]   [r_load]-- ground

    Parameters
    ----------
    circuit : CircuitBuilder
        The stage under construction.
    """
    circuit.resistor("r_out", "amp_out", "output", "Series resistor at the output", when_absent="short")
    circuit.capacitor("c_adc", "output", GROUND, "Capacitor at the converter input", when_absent="open")
    circuit.resistor("r_load", "output", GROUND, "Load resistance", when_absent="open")
