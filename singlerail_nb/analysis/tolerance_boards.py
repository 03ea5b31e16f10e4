"""Boards as arrays: the responses, resting voltages and swing of the same stage with other values."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..circuit.network_functions import NetworkFunction, transfer_function
from ..circuit.nodal_analysis import Excitation
from ..circuit.opamp import REFERENCE_TEMPERATURE
from ..circuit.opamp_figures import Spread
from ..errors import QuantityError
from .dc_errors import opamp_errors
from .evaluation import compiled
from .rational import horner
from .stage import Stage

Floats = NDArray[np.float64]


class Boards:
    """The same stage with other values.

    Parameters
    ----------
    stage : Stage
        The nominal stage.
    values : mapping of str to array, each of shape (boards,)
        Part values, op-amp parameters, source levels or ``"supply"``, SI units; what is not named
        keeps the value of the stage.

    Raises
    ------
    QuantityError
        If the arrays differ in length, or there are none.
    """

    def __init__(self, stage: Stage, values: Mapping[str, Floats]) -> None:
        lengths = {np.shape(value) for value in values.values()}
        if len(lengths) != 1 or len(next(iter(lengths))) != 1:
            raise QuantityError(
                "values",
                sorted(map(str, lengths)),
                allowed="arrays of one shape (boards,)",
                remedy="Align them.",
            )
        self.stage = stage
        self.values = dict(values)

    def __len__(self) -> int:
        return len(next(iter(self.values.values())))

    @cached_property
    def network_values(self) -> dict[str, Floats]:
        """The values that network functions depend on; one nominal part if nothing varies there."""
        names = self.stage.parameters
        found = {name: value for name, value in self.values.items() if name in names}
        if found:
            return found
        name = next(iter(names))
        return {name: np.full(len(self), names[name])}

    @cached_property
    def numbers(self) -> dict[str, Any]:
        """Every parameter of the network functions: arrays where it varies."""
        return {**self.stage.parameters, **self.network_values}

    def level(self, name: str) -> Any:
        """Return a source level on every board, V.

        Parameters
        ----------
        name : str
            ``"supply"`` or a source with a level of its own.
        """
        nominal = {"supply": self.stage.supply, **self.stage.levels}
        return self.values.get(name, nominal[name])

    def response(self, function: NetworkFunction, f: Any) -> Any:
        """Return a network function of every board, complex, shape (boards,).

        Parameters
        ----------
        function : NetworkFunction
            Its common factors are cancelled first, so that DC has a value where it exists.
        f : float or array, shape (boards,)
            Hz.
        """
        s = 2j * math.pi * f
        numerator, denominator = compiled(function.reduced)(self.numbers)
        return horner(numerator, s) / horner(denominator, s) + np.zeros(len(self))

    def transfer(self, excitation: Excitation, node: str, f: Any) -> Any:
        """Return the voltage at a node per unit of an excitation, complex, shape (boards,).

        Parameters
        ----------
        excitation : str, InputError or Injection
            The excitation.
        node : str
            The node.
        f : float or array, shape (boards,)
            Hz.

        Raises
        ------
        UnknownNameError
            If the source or node does not exist.
        """
        return self.response(transfer_function(self.stage.circuit, excitation, node, self.stage.model), f)

    def resting(self, node: str) -> Floats:
        """Return the resting voltage of a node without DC errors, V, shape (boards,).

        Parameters
        ----------
        node : str
            A node with a DC path.

        Raises
        ------
        UnknownNameError
            If the node does not exist.
        """
        total = np.zeros(len(self))
        for source in ("supply", *self.stage.levels):
            total = total + self.level(source) * self.transfer(source, node, 0.0).real
        return total

    def resting_range(self, node: str, spread: Spread) -> tuple[Floats, Floats]:
        """Return the lowest and highest resting voltage with the op-amp's DC errors, V.

        Parameters
        ----------
        node : str
            A node with a DC path.
        spread : "typical" or "worst"
            Which data-sheet figures.

        Raises
        ------
        UnknownNameError
            If the node does not exist.
        """
        middle, either = self.resting(node), np.zeros(len(self))
        for cause in opamp_errors(self.stage, spread, REFERENCE_TEMPERATURE):
            moved = np.zeros(len(self))
            for excitation, amount in cause.terms:
                if amount:
                    moved = moved + amount * self.transfer(excitation, node, 0.0).real
            if cause.sign_known:
                middle = middle + moved
            else:
                either = either + np.abs(moved)
        return middle - either, middle + either

    def stage_of(self, i: int) -> Stage:
        """Return one board as a stage; op-amp parameters keep their nominal values.

        Parameters
        ----------
        i : int
            Which board.
        """
        own = {n: float(v[i]) for n, v in self.values.items()}
        supply = own.pop("supply", self.stage.supply)
        parts = {**self.stage.values, **{n: v for n, v in own.items() if n in self.stage.values}}
        levels = {**self.stage.levels, **{n: v for n, v in own.items() if n in self.stage.levels}}
        return Stage(self.stage.name, supply, parts, self.stage.opamp, self.stage.bias, levels)
