"""The history of a stage: values that change in steps, undo, a frozen version to compare with."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import traitlets

from ..analysis.stage import Stage

Change = dict[str, float]
"""Former values of the parts that one step changed."""


class History(traitlets.HasTraits):
    """A stage that can be changed, step by step, and every step taken back.

    Parameters
    ----------
    stage : Stage
        The stage at the start.
    """

    stage = traitlets.Instance(Stage)
    frozen = traitlets.Instance(Stage, allow_none=True)
    past = traitlets.Any(())  # a tuple of Change, oldest first
    future = traitlets.Any(())  # a tuple of Change, next to redo last

    def __init__(self, stage: Stage) -> None:
        super().__init__(stage=stage)
        self.start = stage

    def set(self, **values: float | str) -> None:
        """Change parts in one step that can be undone; nothing changes if a value is refused.

        Parameters
        ----------
        **values : float or str
            New values: SI numbers or text such as "4k7".

        Raises
        ------
        UnknownNameError
            If the stage has no such part.
        QuantityError
            If a value cannot be read or is implausible.
        CircuitError
            If the stage would not be a sound circuit.
        """
        changed = self.stage.with_parts(**values)
        if changed.values == self.stage.values:
            return
        step = _differences(self.stage.values, changed.values)
        same_circuit = changed.circuit == self.stage.circuit
        with self.hold_trait_notifications():
            self.past = (*self.past, step) if same_circuit else ()
            self.future = ()
            self.stage = changed

    def undo(self) -> None:
        """Take back the last step, if there is one."""
        self._travel("past", "future")

    def redo(self) -> None:
        """Repeat the step taken back last, if there is one."""
        self._travel("future", "past")

    def _travel(self, origin: str, target: str) -> None:
        *rest, step = getattr(self, origin) or [{}]
        changed = self.stage.with_parts(**step)
        with self.hold_trait_notifications():
            setattr(self, origin, tuple(rest))
            if step:
                setattr(
                    self, target, (*getattr(self, target), _differences(self.stage.values, changed.values))
                )
            self.stage = changed

    def reset(self) -> None:
        """Return to the stage at the start; this step too can be undone."""
        if self.stage.circuit == self.start.circuit:
            self.set(**self.start.values)
        else:
            self.begin(self.start)

    def begin(self, stage: Stage) -> None:
        """Start again from a stage, without steps to take back; a frozen version stays.

        Parameters
        ----------
        stage : Stage
            The new stage.
        """
        with self.hold_trait_notifications():
            self.past = self.future = ()
            self.start = self.stage = stage

    def freeze(self) -> None:
        """Keep the present version as A, to compare with."""
        self.frozen = self.stage

    def release(self) -> None:
        """Forget the frozen version."""
        self.frozen = None

    @property
    def frozen_is_another(self) -> bool:
        """Whether the frozen version has another circuit, op-amp or rail than the present one."""
        return self.frozen is not None and frame(self.frozen) != frame(self.stage)

    def snapshot(self) -> dict[str, Any]:
        """Return the state as plain data: values, past, future and frozen values."""
        frozen = None if self.frozen is None else self._adjustable(self.frozen)
        return {
            "values": self._adjustable(self.stage),
            "past": self.past,
            "future": self.future,
            "frozen": frozen,
            "another": self.frozen_is_another,
        }

    @staticmethod
    def _adjustable(stage: Stage) -> dict[str, float]:
        return {name: stage.values[name] for name in stage.circuit.part_names}

    def load(self, snapshot: Mapping[str, Any]) -> None:
        """Take over a state; nothing changes if a value in it is refused.

        Parameters
        ----------
        snapshot : mapping
            As returned by `snapshot`.

        Raises
        ------
        UnknownNameError
            If the stage has no such part.
        QuantityError
            If a value cannot be read or is implausible.
        """
        changed = self.stage.with_parts(**snapshot["values"])
        frozen = self.frozen
        if not snapshot.get("another"):
            frozen = snapshot["frozen"] and self.stage.with_parts(**snapshot["frozen"])
        with self.hold_trait_notifications():
            self.past, self.future = tuple(snapshot["past"]), tuple(snapshot["future"])
            self.frozen = frozen
            self.stage = changed


def frame(stage: Stage) -> tuple[object, ...]:
    """Return what the description of a panel depends on beside the part values.

    Parameters
    ----------
    stage : Stage
        The stage.
    """
    return stage.circuit, stage.opamp, stage.supply, tuple(stage.levels.items())


def _differences(before: Mapping[str, float], after: Mapping[str, float]) -> Change:
    return {name: before[name] for name in after if name in before and before[name] != after[name]}
