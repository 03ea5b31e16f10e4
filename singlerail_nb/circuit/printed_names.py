"""How a part is called on drawings and in formulas: ``r_top`` is R_A."""

from __future__ import annotations

import re

_SPECIAL = {
    "r_source": "R_s",
    "r_top": "R_A",
    "r_bottom": "R_B",
    "r_load": "R_L",
    "supply": "V_S",
    "zener": "V_Z",
    "reference": "V_ref",
    "r_ref_top": "R_refA",
    "r_ref_bottom": "R_refB",
}
_NUMBERED = re.compile(r"(.+)_([2-9])$")


def symbol_name(name: str) -> str:
    """Return the printed symbol of a part name: ``c_in`` gives ``C_in``, ``r_source_2`` ``R_s2``.

    Parameters
    ----------
    name : str
        Argument name of a part or source.
    """
    if name in _SPECIAL:
        return _SPECIAL[name]
    numbered = _NUMBERED.match(name)
    if numbered:
        return symbol_name(numbered[1]) + numbered[2]
    head, _, tail = name.partition("_")
    return f"{head.upper()}_{tail}" if tail else head.upper()
