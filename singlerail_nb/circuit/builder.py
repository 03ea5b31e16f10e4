"""Collect the parts of a stage into a circuit."""

from __future__ import annotations

from ..errors import CircuitError
from .circuit import Circuit
from .elements import Kind, OpAmpPart, Part, Source, SourceKind, WhenAbsent


class CircuitBuilder:
    """Collects the parts of a stage in the order in which a reader would draw them.

    Parameters
    ----------
    name : str
        Name of the stage.
    path : tuple of str
        Nodes along the signal path, from the source to the output.
    """

    def __init__(self, name: str, path: tuple[str, ...]) -> None:
        self.name = name
        self.path = path
        self._parts: list[Part] = []
        self._sources = [Source("signal", "Signal source"), Source("supply", "Supply rail")]
        self._opamps: list[OpAmpPart] = []

    def _part(self, part: Part) -> None:
        if any(part.name == other.name for other in self._parts):
            raise CircuitError(
                part.name, "named twice", allowed="one part of a name", remedy="Give the part another name."
            )
        self._parts.append(part)

    def add(
        self, kind: Kind, name: str, one: str, other: str, label: str, when_absent: WhenAbsent = "required"
    ) -> None:
        """Add a part between two nodes.

        Parameters
        ----------
        kind : "resistor" or "capacitor"
            What it is.
        name : str
            Argument name.
        one, other : str
            Nodes; of a capacitor, ``one`` is the side expected to be more positive.
        label : str
            Purpose in a few words.
        when_absent : "required", "open" or "short"
            What the circuit becomes without a value.

        Raises
        ------
        CircuitError
            If a part of that name was added before.
        """
        self._part(Part(name, kind, (one, other), label, when_absent))

    def resistor(
        self, name: str, one: str, other: str, label: str, when_absent: WhenAbsent = "required"
    ) -> None:
        """Add a resistor; arguments as in `add`.

        Parameters
        ----------
        name, one, other, label, when_absent
            As in `add`.
        """
        self.add("resistor", name, one, other, label, when_absent)

    def one_way_resistor(self, name: str, one: str, other: str, label: str) -> None:
        """Add a resistance that conducts only from ``one`` to ``other``.

        Parameters
        ----------
        name, one, other, label
            As in `add`.
        """
        self._part(Part(name, "resistor", (one, other), label, one_way=True))

    def source(self, name: str, label: str, kind: SourceKind) -> None:
        """Add a source with a level of its own.

        Parameters
        ----------
        name, label
            Name of the source and of the node it drives; what it stands for.
        kind : "constant" or "regulated"
            As in `Source`.
        """
        self._sources.append(Source(name, label, kind))

    def capacitor(
        self, name: str, one: str, other: str, label: str, when_absent: WhenAbsent = "required"
    ) -> None:
        """Add a capacitor; arguments as in `add`.

        Parameters
        ----------
        name, one, other, label, when_absent
            As in `add`.
        """
        self.add("capacitor", name, one, other, label, when_absent)

    def opamp(
        self, plus: str, minus: str, output: str, name: str = "opamp", label: str = "Amplifier"
    ) -> None:
        """Add an op-amp.

        Parameters
        ----------
        plus, minus, output : str
            Its nodes.
        name, label : str
            Name and purpose.
        """
        self._opamps.append(OpAmpPart(name, plus, minus, output, label))

    def build(self) -> Circuit:
        """Return the finished, frozen circuit."""
        return Circuit(self.name, tuple(self._parts), tuple(self._sources), tuple(self._opamps), self.path)
