"""Any circuit with values in it: what the analyses ask of a stage, without the registry."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import NoReturn, Protocol

from ..circuit.circuit import Circuit
from ..circuit.network_functions import transfer_function
from ..circuit.nodal_analysis import Excitation, OpAmpModel
from ..circuit.opamp import OpAmp
from ..circuit.stages import stages
from ..errors import QuantityError
from .transfer import Transfer


class Solvable(Protocol):
    """What an analysis needs: a `Stage` has it, and so has a `Network`."""

    @property
    def circuit(self) -> Circuit:
        """The circuit as it is solved."""

    @property
    def supply(self) -> float:
        """Supply voltage, V."""

    @property
    def opamp(self) -> OpAmp | None:
        """The amplifier; None is ideal."""

    @property
    def model(self) -> OpAmpModel:
        """The op-amp model of the network functions."""

    @property
    def parameters(self) -> dict[str, float]:
        """Every number the network functions depend on, SI units."""

    def transfer(self, source: Excitation, node: str) -> Transfer:
        """Return the voltage at a node per unit of an excitation.

        Parameters
        ----------
        source : str, InputError or Injection
            The excitation.
        node : str
            The node.
        """


@dataclass(frozen=True)
class Network:
    """A circuit outside the registry, with values; for models inside an analysis and for checks.

    Attributes
    ----------
    circuit : Circuit
        Sound circuit.
    values : mapping of str to float
        Value of every part, ohm or farad.
    opamp : OpAmp or None
        The amplifier; None is ideal.
    supply : float
        Supply voltage, V.
    """

    circuit: Circuit
    values: Mapping[str, float] = field(default_factory=dict)
    opamp: OpAmp | None = None
    supply: float = 0.0

    @property
    def model(self) -> OpAmpModel:
        """The op-amp model: "ideal" or "single_pole"."""
        return "ideal" if self.opamp is None else "single_pole"

    @cached_property
    def parameters(self) -> dict[str, float]:
        """Every number the network functions depend on, SI units."""
        numbers = {part.name: self.values[part.name] for part in self.circuit.parts}
        if self.opamp is not None:
            for amplifier in self.circuit.opamps:
                numbers[amplifier.inverse_gain] = self.opamp.inverse_gain
                numbers[amplifier.unity_time] = self.opamp.unity_time
        return numbers

    def transfer(self, source: Excitation, node: str) -> Transfer:
        """Return the voltage at a node per unit of an excitation.

        Parameters
        ----------
        source : str, InputError or Injection
            A source of the circuit, the input error of an op-amp or an injected current.
        node : str
            The node.

        Raises
        ------
        UnknownNameError
            If the source or node does not exist.
        """
        function = transfer_function(self.circuit, source, node, self.model)
        name = source if isinstance(source, str) else function.label.removesuffix(f" to {node}")
        return Transfer(function, dict(self.parameters), name, node)


def require_stage(given: object) -> None:
    """Refuse what is neither a stage nor another circuit with values.

    Parameters
    ----------
    given : object
        What a function got where it asks for a stage.

    Raises
    ------
    QuantityError
        If it is none.
    """
    if not _is_solvable(given):
        refuse_as_stage(given)


def refuse_as_stage(given: object, allowed: str = "a Stage") -> NoReturn:
    """Raise the error about something that is no stage, with the way to one.

    Parameters
    ----------
    given : object
        What was given.
    allowed : str
        What would have been accepted.

    Raises
    ------
    QuantityError
        Always.
    """
    name = given if isinstance(given, str) and given in stages() else "noninverting"
    remedy = f'Give a stage: sr.stage("{name}", supply="9 V", ...).'
    if _is_solvable(getattr(given, "stage", None)):
        remedy = f"This {type(given).__name__} has one: give its .stage."
    value = given if isinstance(given, str) else type(given).__name__
    raise QuantityError("stage", value, allowed=allowed, remedy=remedy)


def _is_solvable(given: object) -> bool:
    return isinstance(getattr(given, "circuit", None), Circuit)
