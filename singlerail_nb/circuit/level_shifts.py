"""DC-coupled level shifts, Vout = m Vin + b: one circuit for each pair of signs.

The intercept comes from a reference, a source with a level of its own (``reference="2.5 V"``), so
there is no mid-rail bias node.  The slope and the intercept follow from the circuit; see
`designing.level_shift` for the way from two points to parts.

The four forms: R. Mancini (ed.), Op Amps for Everyone, TI SLOD006, chapter 4.
"""

from __future__ import annotations

from .bias_sources import BiasSource, no_bias_source
from .blocks import direct_output, feedback, signal_source
from .builder import CircuitBuilder
from .circuit import Circuit
from .elements import GROUND
from .stage_type import register


def _shift(name: str, path: tuple[str, ...], bias: BiasSource) -> CircuitBuilder:
    circuit = CircuitBuilder(name, path)
    circuit.source("reference", "Reference voltage", "regulated")
    signal_source(circuit)
    bias(circuit)
    return circuit


def _reference_divider(circuit: CircuitBuilder, tap: str) -> None:
    circuit.resistor("r_ref_top", "reference", tap, "Reference divider, upper resistor")
    circuit.resistor("r_ref_bottom", tap, GROUND, "Reference divider, lower resistor")


@register("Level shift up", uses_bias=False)
def shift_up(bias: BiasSource = no_bias_source) -> Circuit:
    r"""Return a level shift of positive slope and positive intercept: the reference joins the + input.

        signal-[r_source]-source-[r_in]--+-- plus >+\
                          reference-[r_ref]-+        >-- amp_out -[r_out]-- output
                            ground-[r_pull]-+     >-/       |
                                               |-----[r_f]--+
                                               |-----[c_f]--+
                                             minus -[r_g]- ground

    With ``r_pull`` and without ``r_g`` the output spans less than the input.

    Parameters
    ----------
    bias : callable
        Adds nothing: the stage has no mid-rail bias.
    """
    circuit = _shift("shift_up", ("signal", "plus", "amp_out", "output"), bias)
    circuit.resistor("r_in", "source", "plus", "Input resistor")
    circuit.resistor("r_ref", "reference", "plus", "Reference resistor", when_absent="open")
    circuit.resistor("r_pull", "plus", GROUND, "Resistor from the + input to ground", when_absent="open")
    circuit.opamp("plus", "minus", "amp_out")
    circuit.resistor("r_f", "amp_out", "minus", "Feedback resistor", when_absent="short")
    circuit.capacitor("c_f", "amp_out", "minus", "Feedback capacitor", when_absent="open")
    circuit.resistor("r_g", "minus", GROUND, "Gain-leg resistor", when_absent="open")
    direct_output(circuit)
    return circuit.build()


@register("Level shift down", uses_bias=False)
def shift_down(bias: BiasSource = no_bias_source) -> Circuit:
    r"""Return a level shift of positive slope and negative intercept: the gain leg ends on a divider.

        signal-[r_source]-source-[r_in]--+-- plus >+\
                            ground-[r_pull]-+        >-- amp_out -[r_out]-- output
                                                  >-/       |
                                               |-----[r_f]--+
                                               |-----[c_f]--+
        reference-[r_ref_top]-tap-[r_g]------minus
                               |
                       [r_ref_bottom]-- ground

    The divider's own resistance is part of the gain leg.

    Parameters
    ----------
    bias : callable
        Adds nothing: the stage has no mid-rail bias.
    """
    circuit = _shift("shift_down", ("signal", "plus", "amp_out", "output"), bias)
    circuit.resistor("r_in", "source", "plus", "Input resistor", when_absent="short")
    circuit.resistor("r_pull", "plus", GROUND, "Resistor from the + input to ground", when_absent="open")
    circuit.opamp("plus", "minus", "amp_out")
    feedback(circuit)
    circuit.resistor("r_g", "minus", "tap", "Gain-leg resistor")
    _reference_divider(circuit, "tap")
    direct_output(circuit)
    return circuit.build()


@register("Inverting level shift up", uses_bias=False)
def inverting_shift_up(bias: BiasSource = no_bias_source) -> Circuit:
    r"""Return a level shift of negative slope and positive intercept: the divider sets the + input.

        signal-[r_source]-source-[r_in]-minus--[r_f]--amp_out-[r_out]-- output
                                          |----[c_f]-----|
                                          |  >-\         |
                                                >--------+
        reference-[r_ref_top]-plus --------->+/
                                |
             [r_ref_bottom] [c_ref]-- ground

    Parameters
    ----------
    bias : callable
        Adds nothing: the stage has no mid-rail bias.
    """
    circuit = _shift("inverting_shift_up", ("signal", "amp_out", "output"), bias)
    circuit.resistor("r_in", "source", "minus", "Input resistor")
    _reference_divider(circuit, "plus")
    circuit.capacitor("c_ref", "plus", GROUND, "Reference-filter capacitor", when_absent="open")
    circuit.opamp("plus", "minus", "amp_out")
    feedback(circuit)
    direct_output(circuit)
    return circuit.build()


@register("Inverting level shift down", uses_bias=False)
def inverting_shift_down(bias: BiasSource = no_bias_source) -> Circuit:
    r"""Return a level shift of negative slope and negative intercept, for inputs below ground.

        signal-[r_source]-source-[r_in]--+-minus--[r_f]--amp_out-[r_out]-- output
                          reference-[r_ref]-+  |----[c_f]-----|
                                               |  >-\         |
                                                     >--------+
                                     ground ------>+/

    Parameters
    ----------
    bias : callable
        Adds nothing: the stage has no mid-rail bias.
    """
    circuit = _shift("inverting_shift_down", ("signal", "amp_out", "output"), bias)
    circuit.resistor("r_in", "source", "minus", "Input resistor")
    circuit.resistor("r_ref", "reference", "minus", "Reference resistor", when_absent="open")
    circuit.opamp(GROUND, "minus", "amp_out")
    feedback(circuit)
    direct_output(circuit)
    return circuit.build()
