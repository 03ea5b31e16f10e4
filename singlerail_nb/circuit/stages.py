"""The registry of stages: each is a function that returns a circuit.

To add one, write the function, draw it in its docstring and register it; derivation,
response, design views, panels and the registry-wide tests follow from the circuit.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from ..errors import UnknownNameError
from .bias_sources import BIAS_SOURCES, BiasSource, filtered_divider
from .builder import CircuitBuilder
from .circuit import Circuit, closest
from .elements import GROUND

Builder = Callable[[BiasSource], Circuit]


@dataclass(frozen=True, slots=True)
class StageType:
    """An entry of the registry.

    Attributes
    ----------
    name : str
        Name in the registry.
    title : str
        Title for headings.
    build : callable
        Takes a bias source, returns the circuit with every optional part present.
    lesson : str
        For a teaching stage that is wrong on purpose: what is wrong.  Empty otherwise.
    fault_nodes : tuple of str
        Nodes at which the graph checks are expected to object.
    """

    name: str
    title: str
    build: Builder
    lesson: str = ""
    fault_nodes: tuple[str, ...] = ()


_REGISTRY: dict[str, StageType] = {}


def register(
    title: str, *, lesson: str = "", fault_nodes: tuple[str, ...] = ()
) -> Callable[[Builder], Builder]:
    """Return a decorator that enters a stage function in the registry under its own name.

    Parameters
    ----------
    title : str
        Title for headings.
    lesson : str
        What is wrong with a teaching stage.
    fault_nodes : tuple of str
        Nodes at which the graph checks are expected to object.
    """

    def enter(build: Builder) -> Builder:
        name = build.__name__
        _REGISTRY[name] = StageType(name, title, build, lesson, fault_nodes)
        return build

    return enter


def stages() -> tuple[str, ...]:
    """Return the names of all registered stages."""
    return tuple(_REGISTRY)


def stage_type(name: str) -> StageType:
    """Return the registry entry of a stage.

    Parameters
    ----------
    name : str
        A name from `stages`.

    Raises
    ------
    UnknownNameError
        If no stage has that name.
    """
    if name not in _REGISTRY:
        raise UnknownNameError("stage", name, allowed="a registered stage", remedy=closest(name, _REGISTRY))
    return _REGISTRY[name]


def build_circuit(name: str, bias: str = "filtered_divider") -> Circuit:
    """Return the full circuit of a stage, every optional part present.

    Parameters
    ----------
    name : str
        A name from `stages`.
    bias : str
        A name from the table of bias sources.

    Raises
    ------
    UnknownNameError
        If the stage or the bias source does not exist.
    """
    if bias not in BIAS_SOURCES:
        raise UnknownNameError(
            "bias source", bias, allowed="a known bias source", remedy=closest(bias, BIAS_SOURCES)
        )
    return stage_type(name).build(BIAS_SOURCES[bias])


def _output_coupling(circuit: CircuitBuilder) -> None:
    circuit.capacitor("c_out", "amp_out", "output", "Output coupling capacitor", when_absent="short")
    circuit.resistor("r_load", "output", GROUND, "Load resistance", when_absent="open")


def _feedback(circuit: CircuitBuilder) -> None:
    circuit.resistor("r_f", "amp_out", "minus", "Feedback resistor")
    circuit.capacitor("c_f", "amp_out", "minus", "Feedback capacitor", when_absent="open")


def _biased_input(circuit: CircuitBuilder, bias: BiasSource) -> None:
    circuit.resistor("r_source", "signal", "source", "Source resistance")
    circuit.capacitor("c_in", "plus", "source", "Input coupling capacitor")
    circuit.resistor("r_bias", "bias", "plus", "Bias resistor")
    bias(circuit)


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
    _biased_input(circuit, bias)
    circuit.opamp("plus", "minus", "amp_out")
    _feedback(circuit)
    circuit.resistor("r_g", "minus", "leg", "Gain-leg resistor")
    circuit.capacitor("c_g", "leg", GROUND, "Gain-leg capacitor")
    _output_coupling(circuit)
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
    circuit.resistor("r_source", "signal", "source", "Source resistance")
    circuit.capacitor("c_in", "drive", "source", "Input coupling capacitor")
    circuit.resistor("r_in", "drive", "minus", "Input resistor")
    bias(circuit)
    circuit.opamp("bias", "minus", "amp_out")
    _feedback(circuit)
    _output_coupling(circuit)
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
    _biased_input(circuit, bias)
    circuit.opamp("plus", "amp_out", "amp_out")
    _output_coupling(circuit)
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
    _biased_input(circuit, bias)
    circuit.opamp("plus", "minus", "amp_out")
    _feedback(circuit)
    circuit.resistor("r_g", "minus", GROUND, "Gain-leg resistor")
    _output_coupling(circuit)
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
    circuit.resistor("r_source", "signal", "source", "Source resistance")
    circuit.capacitor("c_in", "plus", "source", "Input coupling capacitor")
    bias(circuit)
    circuit.opamp("plus", "minus", "amp_out")
    _feedback(circuit)
    circuit.resistor("r_g", "minus", "leg", "Gain-leg resistor")
    circuit.capacitor("c_g", "leg", GROUND, "Gain-leg capacitor")
    _output_coupling(circuit)
    return circuit.build()
