"""The few things a single-rail stage is made of."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

GROUND = "ground"

Kind = Literal["resistor", "capacitor"]
WhenAbsent = Literal["required", "open", "short"]
SourceKind = Literal["driven", "constant", "regulated"]


@dataclass(frozen=True, slots=True)
class Part:
    """A resistor or capacitor between two nodes.

    Attributes
    ----------
    name : str
        Argument name, such as ``"c_in"``; also the key of its value.
    kind : "resistor" or "capacitor"
        Values are in ohm or farad.
    nodes : tuple of two str
        The nodes it joins.  Of a capacitor, the first is drawn as the ``+`` side when it
        must be polarised; the sign is confirmed by the operating point.
    label : str
        Its purpose in a few words, for tables and sliders.
    when_absent : "required", "open" or "short"
        What the circuit becomes when no value is given.
    one_way : bool
        A resistance that conducts only from its first node to its second: a Zener, or a
        reference that cannot sink.  Network functions take it as conducting; the operating
        point tells whether it does, and start-up switches it.
    """

    name: str
    kind: Kind
    nodes: tuple[str, str]
    label: str
    when_absent: WhenAbsent = "required"
    one_way: bool = False

    @property
    def unit(self) -> str:
        """Unit of the value: "ohm" or "F"."""
        return "ohm" if self.kind == "resistor" else "F"


@dataclass(frozen=True, slots=True)
class Source:
    """An ideal voltage source from ground to a node (unit: volt).

    Attributes
    ----------
    name : str
        The source and the node it drives have the same name.
    label : str
        What it stands for.
    kind : "driven", "constant" or "regulated"
        Driven from outside (signal, supply); a constant that needs no supply, such as the knee
        voltage of a Zener; or made from the rail, so that it cannot rise above it.  The last
        two have a level of their own in the stage.
    """

    name: str
    label: str
    kind: SourceKind = "driven"


@dataclass(frozen=True, slots=True)
class OpAmpPart:
    """An operational amplifier by its three signal nodes.

    Attributes
    ----------
    name : str
        Name, and prefix of its parameters.
    plus, minus, output : str
        Node of the non-inverting input, the inverting input and the output.
    label : str
        What it does in the circuit.
    """

    name: str
    plus: str
    minus: str
    output: str
    label: str = "Amplifier"

    @property
    def inverse_gain(self) -> str:
        """Parameter name of 1/A_0 (ratio)."""
        return f"{self.name}_inverse_gain"

    @property
    def unity_time(self) -> str:
        """Parameter name of 1/(2 pi GBW), in seconds."""
        return f"{self.name}_unity_time"
