"""The table of stages: what a stage is, and how one enters the registry.

A stage is a function that returns a circuit.  The modules of this room that hold such functions
register them here; `stages` imports them all and is the door through which everybody else asks.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from ..errors import CircuitError, UnknownNameError
from .bias_sources import BIAS_SOURCES, BiasSource, no_bias_source
from .circuit import Circuit, closest

Builder = Callable[[BiasSource], Circuit]

NO_BIAS = "none"
"""Name of the bias source of a stage that has none."""
USUAL_BIAS = "filtered_divider"
"""The bias source of every other stage unless another is asked for."""


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
    uses_bias : bool
        Whether the stage rests on a mid-rail bias node; a level shift takes its resting voltage
        from a reference of its own.
    """

    name: str
    title: str
    build: Builder
    lesson: str = ""
    fault_nodes: tuple[str, ...] = ()
    uses_bias: bool = True

    @property
    def bias_sources(self) -> tuple[str, ...]:
        """Names of the bias sources that the stage runs on; the usual one comes first."""
        if not self.uses_bias:
            return (NO_BIAS,)
        return (USUAL_BIAS, *(name for name in BIAS_SOURCES if name != USUAL_BIAS))

    @property
    def usual_bias(self) -> str:
        """Name of the bias source unless another is asked for."""
        return self.bias_sources[0]

    def circuit(self, bias: str | None = None) -> Circuit:
        """Return the full circuit, every optional part present.

        Parameters
        ----------
        bias : str, optional
            Name of a bias source; the usual one unless given.

        Raises
        ------
        UnknownNameError
            If no bias source has that name.
        CircuitError
            If the stage has no mid-rail bias and one is asked for, or the other way round.
        """
        name = self.usual_bias if bias is None else bias
        if name not in self.bias_sources:
            self._refuse(name)
        return self.build(BIAS_SOURCES.get(name, no_bias_source))

    def _refuse(self, bias: str) -> None:
        if bias not in BIAS_SOURCES and bias != NO_BIAS:
            raise UnknownNameError(
                "bias source", bias, allowed="a known bias source", remedy=closest(bias, self.bias_sources)
            )
        if self.uses_bias:
            raise CircuitError(
                "bias source",
                bias,
                allowed=f"one of {', '.join(self.bias_sources)} for the {self.name} stage",
                remedy="This stage rests on a mid-rail bias node: name a bias source, or leave bias out.",
            )
        raise CircuitError(
            "bias source",
            bias,
            allowed=f"none for the {self.name} stage",
            remedy="It has no mid-rail bias node; its level comes from reference=...: leave bias out.",
        )


_REGISTRY: dict[str, StageType] = {}


def register(
    title: str, *, lesson: str = "", fault_nodes: tuple[str, ...] = (), uses_bias: bool = True
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
    uses_bias : bool
        Whether the stage rests on a mid-rail bias node.
    """

    def enter(build: Builder) -> Builder:
        name = build.__name__
        _REGISTRY[name] = StageType(name, title, build, lesson, fault_nodes, uses_bias)
        return build

    return enter


def registered() -> tuple[StageType, ...]:
    """Return every entry of the registry, in the order of registration."""
    return tuple(_REGISTRY.values())


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
