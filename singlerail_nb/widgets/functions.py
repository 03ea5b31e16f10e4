"""Network functions by name: one vocabulary for figures, curves and the browser's program.

"signal->output" is a node's voltage per volt of a source, "plus=>amp_out" one node over another;
the other names are those of `SPECIAL`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import lru_cache

from ..analysis.stage import Stage
from ..analysis.supply_rejection import supply_rejection
from ..analysis.transfer import Transfer
from ..circuit.bias_derivation import bias_alone
from ..circuit.emit_javascript import emit_javascript
from ..circuit.network_functions import NetworkFunction, functions_program, source_impedance_seen
from ..circuit.nodal_analysis import InputError, NodalSystem


def _rail_load(stage: Stage) -> Transfer:
    function = source_impedance_seen(bias_alone(stage.circuit), "supply", stage.model)
    return Transfer(function, dict(stage.parameters), "supply", "impedance of the bias source")


SPECIAL: dict[str, Callable[[Stage], Transfer]] = {
    "input impedance": Stage.input_impedance,
    "bias filter": Stage.bias_filter,
    "rail load": _rail_load,
    "noise gain": lambda stage: stage.transfer(InputError("opamp"), "amp_out"),
}
"""Network functions that are not from a source to a node."""


_REJECTION = "rejection: "


def rejection_name(path: str, number: int) -> str:
    """Return the name of one term of a way from the rail to the output.

    Parameters
    ----------
    path : str
        Such as "connected bias_path" or "open opamp_path", as in `supply_rejection`.
    number : int
        Which of its terms.
    """
    return f"{_REJECTION}{path} {number}"


def _rejection_term(stage: Stage, name: str) -> Transfer:
    source, path, number = name.removeprefix(_REJECTION).split(" ")
    found = supply_rejection(stage, source="open" if source == "open" else "connected")
    paths = {"bias_path": found.bias_path, "opamp_path": found.opamp_path}
    return paths[path].terms[int(number)][0]


@lru_cache(maxsize=128)
def transfer_named(stage: Stage, name: str) -> Transfer:
    """Return the network function of a name; the same object for the same stage, with what it has found.

    Parameters
    ----------
    stage : Stage
        The stage.
    name : str
        Such as "signal->output", "plus=>amp_out" or "input impedance".

    Raises
    ------
    UnknownNameError
        If the stage has no such source or node.
    """
    if name in SPECIAL:
        return SPECIAL[name](stage)
    if name.startswith(_REJECTION):
        return _rejection_term(stage, name)
    start, ratio, end = name.partition("=>")
    if ratio:
        return stage.section(start, end)
    source, _, node = name.partition("->")
    return stage.transfer(source, node)


def programs(stage: Stage, names: Iterable[str]) -> list[str]:
    """Return JavaScript programs for network functions, one for each network among them.

    Parameters
    ----------
    stage : Stage
        The stage.
    names : iterable of str
        As for `transfer_named`.

    Raises
    ------
    UnknownNameError
        If the stage has no such source or node.
    """
    groups: dict[NodalSystem, dict[str, NetworkFunction]] = {}
    for name in dict.fromkeys(names):
        function = transfer_named(stage, name).function.reduced
        groups.setdefault(function.system, {})[name] = function
    return [
        emit_javascript(functions_program(tuple(group.values())), tuple(group)) for group in groups.values()
    ]
