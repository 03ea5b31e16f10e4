"""The stage model behind every panel: values, history, a frozen version, requirements.

A plain observable object: it knows no widget and no browser, and is tested without them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import lru_cache
from typing import TYPE_CHECKING

from ..analysis.stage import Stage
from ..circuit.supplies import Supply
from ..errors import UnknownNameError
from ..quantities import write_quantity
from .check import Check, checked
from .figures import Figure, Limit, natural_limits, standard_figures
from .history import History

if TYPE_CHECKING:
    from ..designing.requirements import Requirements


@lru_cache(maxsize=64)
def _figures_of(stage: Stage, figures: tuple[Figure, ...]) -> dict[str, float | None]:
    return {figure.id: figure.value(stage) for figure in figures}


class StageModel(History):
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
        super().__init__(stage)
        self.rail, self.requirements = rail, requirements
        self._asked = tuple(limits)
        self._given = None if figures is None else tuple(figures)
        self.shown = standard_figures(stage) if self._given is None else self._given
        self.limits = self._limits_for(stage)
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

    def replace(self, stage: Stage, rail: Supply | None = None) -> None:
        """Put another stage in the place of the present one: a new start; a frozen version stays.

        Parameters
        ----------
        stage : Stage
            The new stage.
        rail : Supply, optional
            The rail that it now runs on; the present one unless given.
        """
        self.rail = rail or self.rail
        self.shown = self._figures_for(stage)
        self.limits = self._limits_for(stage)
        self.begin(stage)

    def _limits_for(self, stage: Stage) -> tuple[Limit, ...]:
        """Return the limits asked, and that of the rail where the output could rest beyond it."""
        named = {limit.figure for limit in self._asked}
        shown = {figure.id for figure in self.shown}
        own = [limit for limit in natural_limits(stage) if limit.figure in shown - named]
        return (*self._asked, *own)

    def _figures_for(self, stage: Stage) -> tuple[Figure, ...]:
        """Return the figures of another stage: those given, or its standard ones and what is limited."""
        if self._given is not None:
            return self._given
        own = {figure.id: figure for figure in standard_figures(stage)}
        return tuple({**own, **{limit.figure: self.figure(limit.figure) for limit in self._asked}}.values())

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
