"""The one gate from symbols to numbers.

A program is compiled once per set of network functions.  Values enter in a fixed order and
are checked by name; a missing, unknown or senseless value is one error that names it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..circuit.circuit import closest
from ..circuit.emit_numpy import emit_numpy
from ..circuit.network_functions import NetworkFunction, functions_program, polynomials_program
from ..circuit.program import Program
from ..errors import QuantityError, UnknownNameError
from ..quantities import read_quantity
from .rational import polynomials_at

Value = float | NDArray[np.float64]
Coefficients = tuple[Any, ...]
"""Coefficients of s in ascending powers; each a float, or an array of the common shape."""


class CompiledProgram:
    """A straight-line program, ready for numbers.

    Parameters
    ----------
    program : Program
        What to compute.
    """

    def __init__(self, program: Program) -> None:
        self.program = program
        namespace: dict[str, Any] = {}
        source = compile(emit_numpy(program), "<network functions>", "exec")
        exec(source, namespace)  # noqa: S102 -- the text comes from the emitter, never from a user
        self._call: Callable[..., tuple[Coefficients, ...]] = namespace["coefficients"]

    def __call__(self, values: Mapping[str, Value]) -> tuple[Coefficients, ...]:
        """Return the coefficients of every polynomial of the program.

        Parameters
        ----------
        values : mapping of str to float or array
            One value per input of the program, SI units; arrays broadcast together.

        Raises
        ------
        UnknownNameError
            If a value is missing.
        """
        try:
            return self._call(*[values[name] for name in self.program.inputs])
        except KeyError as missing:
            name = str(missing.args[0])
            raise UnknownNameError(
                "value", name, allowed="a value for every part", remedy=f"Give {name} a value."
            ) from None

    @cached_property
    def distinct(self) -> tuple[list[int], list[int]]:
        """Which polynomials differ, and for every polynomial its place among those."""
        places: dict[tuple[Any, ...], int] = {}
        for output in self.program.outputs:
            places.setdefault(output, len(places))
        first = [self.program.outputs.index(output) for output in places]
        return first, [places[output] for output in self.program.outputs]


@lru_cache(maxsize=512)
def compiled(*functions: NetworkFunction) -> CompiledProgram:
    """Return the program of some network functions: numerator, denominator, numerator, ...

    Parameters
    ----------
    *functions : NetworkFunction
        All of the same system.
    """
    return CompiledProgram(functions_program(functions))


@lru_cache(maxsize=512)
def compiled_factors(function: NetworkFunction) -> tuple[CompiledProgram, CompiledProgram]:
    """Return the programs of the numerator's factors and of the denominator's factors.

    Parameters
    ----------
    function : NetworkFunction
        The function whose zeros and poles are wanted.
    """
    top, bottom = (polynomials_program(function.system, half) for half in function.factors)
    return CompiledProgram(top), CompiledProgram(bottom)


def responses(
    program: CompiledProgram, values: Mapping[str, float], f: NDArray[np.float64]
) -> NDArray[np.complex128]:
    """Return the responses of several network functions that share a program, in one pass.

    The fast path for curves that follow a slider: a common denominator is evaluated once.

    Parameters
    ----------
    program : CompiledProgram
        From `compiled`: numerator, denominator, numerator, ...
    values : mapping of str to float
        One number per input of the program, SI units.
    f : array, shape (frequencies,)
        Frequencies in Hz, positive.

    Returns
    -------
    array of complex, shape (functions, frequencies)
        In the units of the functions.

    Raises
    ------
    QuantityError
        If a frequency is not positive and finite.
    UnknownNameError
        If a value is missing.
    """
    if f.size and not 0.0 < f.min() <= f.max() < math.inf:
        raise QuantityError(
            "f",
            f"{f.min():g} Hz to {f.max():g} Hz",
            allowed="positive and finite",
            remedy="Give frequencies in Hz; for DC call the network function itself.",
        )
    first, places = program.distinct
    coefficients = program(values)
    found = polynomials_at([coefficients[i] for i in first], 2.0 * math.pi * f)
    result = np.empty((len(places) // 2, f.size), dtype=np.complex128)
    for row, top, bottom in zip(result, places[::2], places[1::2], strict=True):
        np.divide(found[top], found[bottom], out=row)
    return result


def checked_values(values: Mapping[str, Any], names: tuple[str, ...]) -> dict[str, Value]:
    """Return values as floats or float arrays after checking every one of them.

    Parameters
    ----------
    values : mapping of str to float or array
        Part values in SI units.
    names : tuple of str
        The names that may occur.

    Raises
    ------
    UnknownNameError
        If a name is not among ``names``.
    QuantityError
        If a value is not positive and finite.
    """
    result: dict[str, Value] = {}
    for name, value in values.items():
        if name not in names:
            raise UnknownNameError("part", name, allowed="a part of this stage", remedy=closest(name, names))
        array = np.asarray(value, dtype=np.float64)
        if not (np.isfinite(array).all() and (array > 0).all()):
            raise QuantityError(
                name,
                str(value),
                allowed="positive and finite",
                remedy="Give the value in ohm or farad.",
            )
        result[name] = float(array) if array.ndim == 0 else array
    return result


def frequencies(f: ArrayLike, *, name: str = "f") -> NDArray[np.float64]:
    """Return frequencies as an array after checking them.

    Parameters
    ----------
    f : array_like
        Frequencies in Hz, any shape; zero is allowed.  Also one text such as ``"100 Hz"``.
    name : str
        How to call them in an error.

    Raises
    ------
    QuantityError
        If one is negative or not finite, or a text cannot be read.
    """
    if isinstance(f, str):
        return np.asarray(read_quantity(f, "Hz", name=name))
    array = np.asarray(f, dtype=np.float64)
    if not (np.isfinite(array).all() and (array >= 0).all()):
        worst = array[~(np.isfinite(array) & (array >= 0))].flat[0]
        raise QuantityError(
            name, f"{worst:g} Hz", allowed="0 Hz or more, finite", remedy="Give frequencies in Hz."
        )
    return array
