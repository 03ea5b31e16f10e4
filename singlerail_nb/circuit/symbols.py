"""The one place where symbols are made.

Two symbols of one name but different assumptions are unequal, so every symbol of the
package comes from here, positive where the part can only be positive.
"""

from __future__ import annotations

from functools import cache

import sympy

from .printed_names import symbol_name

S = sympy.Symbol("s")
OMEGA = sympy.Symbol("omega", positive=True)
GAIN = sympy.Symbol("G", positive=True)


@cache
def part_symbol(name: str) -> sympy.Symbol:
    """Return the positive symbol of a part or op-amp parameter.

    Parameters
    ----------
    name : str
        Argument name, such as ``"r_f"``.
    """
    return sympy.Symbol(symbol_name(name), positive=True)
