"""The stage model behind every panel: values, history, a frozen version, requirements.

A plain observable object: it knows no widget and no browser, and is tested without them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import traitlets

from ..analysis.stage import Stage
from ..circuit.supplies import Supply
from ..errors import UnknownNameError
from ..quantities import write_quantity
from .check import Check, checked
from .figures import Figure, Limit, standard_figures

if TYPE_CHECKING:
    from ..designing.requirements import Requirements

Change = dict[str, float]
"""Former values of the parts that one step changed."""


@lru_cache(maxsize=64)
def _figures_of(stage: Stage, figures: tuple[Figure, ...]) -> dict[str, float | None]:
    return {figure.id: figure.value(stage) for figure in figures}


class StageModel(traitlets.HasTraits):
    """A stage that can be changed, step by step, with its figures.

    Parameters
    ----------
    stage : Stage
        The stage at the start.
    limits : iterable of Limit
        Requirements to check.
    figures : iterable of Figure
        What is shown; the standard figures of the stage unless given.
    title : str
        Heading; the title of the stage and its rail unless given.
    told : callable, optional
        Takes a stage, returns further checks that no figure stands for.
    rail : Supply, optional
        Range, ripple and rise time of the rail, as far as they are known.
    requirements : Requirements, optional
        What the stage was designed for; the design file keeps them.

    Raises
    ------
    UnknownNameError
        If a limit names a figure that the model does not have.
    """

    stage = traitlets.Instance(Stage)
    frozen = traitlets.Instance(Stage, allow_none=True)
    past = traitlets.Any(())  # a tuple of Change, oldest first
    future = traitlets.Any(())  # a tuple of Change, next to redo last

    def __init__(
        self,
        stage: Stage,
        *,
        limits: Iterable[Limit] = (),
        figures: Iterable[Figure] | None = None,
        title: str = "",
        told: Callable[[Stage], tuple[Check, ...]] | None = None,
        rail: Supply | None = None,
        requirements: Requirements | None = None,
    ) -> None:
        super().__init__(stage=stage)
        self.rail, self.requirements = rail, requirements
        self.start = stage
        self.limits = tuple(limits)
        self._given = None if figures is None else tuple(figures)
        self.shown = standard_figures(stage) if self._given is None else self._given
        self._title = title
        self._told = told
        for limit in self.limits:
            self.figure(limit.figure)

    def figure(self, name: str) -> Figure:
        """Return the description of a figure.

        Parameters
        ----------
        name : str
            Its id.

        Raises
        ------
        UnknownNameError
            If the model has no such figure.
        """
        for figure in self.shown:
            if figure.id == name:
                return figure
        names = ", ".join(figure.id for figure in self.shown)
        raise UnknownNameError("figure", name, allowed=names, remedy="Use one of these.")

    @property
    def title(self) -> str:
        """Heading: as given, else the kind of stage and its rail."""
        return self._title or f"{self.stage.title} on {write_quantity(self.stage.supply, 'V')}"

    @property
    def values(self) -> dict[str, float]:
        """Present value of every part, SI units."""
        return dict(self.stage.values)

    @property
    def figures(self) -> dict[str, float | None]:
        """Present value of every figure, by id; computed when asked for."""
        return dict(_figures_of(self.stage, self.shown))

    @property
    def checks(self) -> tuple[Check, ...]:
        """Every requirement with the present figure: first those with limits, then those told."""
        present = self.figures
        own = (checked(l, self.figure(l.figure), present[l.figure]) for l in self.limits)
        return (*own, *self.told)

    @property
    def told(self) -> tuple[Check, ...]:
        """The checks that no figure stands for."""
        return self._told(self.stage) if self._told else ()

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
            self.replace(self.start)

    def replace(self, stage: Stage, rail: Supply | None = None) -> None:
        """Put another stage in the place of the present one: a new start without history.

        Parameters
        ----------
        stage : Stage
            The new stage.
        rail : Supply, optional
            The rail that it now runs on; the present one unless given.
        """
        self.rail = rail or self.rail
        self.shown = self._figures_for(stage)
        with self.hold_trait_notifications():
            self.past = self.future = ()
            self.frozen = None
            self.start = self.stage = stage

    def _figures_for(self, stage: Stage) -> tuple[Figure, ...]:
        """Return the figures of another stage: those given, or its standard ones and what is limited."""
        if self._given is not None:
            return self._given
        own = {figure.id: figure for figure in standard_figures(stage)}
        return tuple({**own, **{limit.figure: self.figure(limit.figure) for limit in self.limits}}.values())

    def freeze(self) -> None:
        """Keep the present version as A, to compare with."""
        self.frozen = self.stage

    def release(self) -> None:
        """Forget the frozen version."""
        self.frozen = None

    def snapshot(self) -> dict[str, Any]:
        """Return the state as plain data: values, past, future and frozen values."""
        frozen = None if self.frozen is None else self._adjustable(self.frozen)
        return {
            "values": self._adjustable(self.stage),
            "past": self.past,
            "future": self.future,
            "frozen": frozen,
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
        frozen = snapshot["frozen"] and self.stage.with_parts(**snapshot["frozen"])
        with self.hold_trait_notifications():
            self.past, self.future = tuple(snapshot["past"]), tuple(snapshot["future"])
            self.frozen = frozen
            self.stage = changed

    def summary(self) -> str:
        """Return title, parts, figures and checks as text: what the panel says without a picture."""
        parts = ", ".join(
            f"{p.name} {write_quantity(self.stage.values[p.name], p.unit)}" for p in self.stage.parts
        )
        present = self.figures
        shown = [
            f"{f.label}: {'none' if (value := present[f.id]) is None else write_quantity(value, f.unit)}"
            for f in self.shown
            if not f.hidden
        ]
        return "\n".join(
            [self.title, f"Parts: {parts}", *shown, *(f"Check. {check}" for check in self.checks)]
        )


def _differences(before: Mapping[str, float], after: Mapping[str, float]) -> Change:
    return {name: before[name] for name in after if name in before and before[name] != after[name]}
