"""The registry of faults: each is a change of a sound board, with words for what it is and why it happens.

A kind of fault is a function of the stage that yields every fault of its kind that the stage can
have.  `kinds` holds those that exist.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from ..analysis.network import require_stage
from ..analysis.stage import Stage
from ..circuit.circuit import closest
from ..errors import UnknownNameError
from .board import Board

Change = Callable[[Board], Board]


@dataclass(frozen=True, repr=False)
class Fault:
    """One thing that is wrong with a board.

    Attributes
    ----------
    key : str
        Short name, such as ``"c_in open"``.
    kind : str
        Kind of fault, such as ``"open"``.
    part : str
        The part that it is about; ``"supply"`` or ``"bias"`` where it is no part.
    what : str
        What is broken, one sentence.
    why : str
        Why it happens, one sentence.
    assumption : str
        What the model assumes where the size of a symptom hangs on it; empty otherwise.
    change : callable
        Takes the sound board, returns the broken one.
    """

    key: str
    kind: str
    part: str
    what: str
    why: str
    assumption: str = ""
    change: Change = field(default=lambda board: board, repr=False, compare=False)

    def __str__(self) -> str:
        return self.key

    def __repr__(self) -> str:
        return f"{self.key}: {self.what}"

    def on(self, stage: Stage) -> Board:
        """Return the board that has it.

        Parameters
        ----------
        stage : Stage
            The sound stage.

        Raises
        ------
        CircuitError
            If it joins the rail or an output to another source: nothing limits the current.
        """
        return self.change(Board.of(stage)).held(stage.circuit.nodes)


Kind = Callable[[Stage], Iterator[Fault]]
_KINDS: dict[str, Kind] = {}


def fault_kind(name: str) -> Callable[[Kind], Kind]:
    """Return a decorator that enters a kind of fault.

    Parameters
    ----------
    name : str
        Name of the kind.
    """

    def enter(make: Kind) -> Kind:
        _KINDS[name] = make
        return make

    return enter


def kinds() -> tuple[str, ...]:
    """Return the names of all kinds of faults, in the order of registration."""
    return tuple(_KINDS)


def faults(stage: Stage, *only: str) -> tuple[Fault, ...]:
    """Return every fault that a stage can have.

    Parameters
    ----------
    stage : Stage
        The sound stage.
    *only : str
        Kinds of faults; all unless given.

    Raises
    ------
    QuantityError
        If ``stage`` is no stage.
    UnknownNameError
        If there is no such kind.
    """
    require_stage(stage)
    for name in only:
        if name not in _KINDS:
            raise UnknownNameError(
                "kind of fault", name, allowed="a known kind", remedy=closest(name, _KINDS)
            )
    return tuple(found for name in (only or _KINDS) for found in _KINDS[name](stage))


def fault_named(stage: Stage, key: str) -> Fault:
    """Return a fault of a stage by its short name.

    Parameters
    ----------
    stage : Stage
        The sound stage.
    key : str
        Such as ``"c_in open"``.

    Raises
    ------
    UnknownNameError
        If the stage cannot have it.
    """
    known = {found.key: found for found in faults(stage)}
    if key not in known:
        raise UnknownNameError(
            "fault", key, allowed="a fault that this stage can have", remedy=closest(key, known)
        )
    return known[key]
