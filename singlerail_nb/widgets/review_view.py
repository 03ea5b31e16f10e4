"""The review as a view: every requirement at the lowest, nominal and highest rail."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from ..analysis.stage import Stage
from ..quantities.tables import unbroken
from .computed import Computed, Progress

if TYPE_CHECKING:
    from ..designing.requirements import Requirements
    from ..designing.review import Review


def review_view(needed: Requirements) -> Computed:
    """Return the table of a design review; it follows the sliders, its button looks for mends.

    Parameters
    ----------
    needed : Requirements
        What the stage must do.
    """

    def table(stage: Stage, _progress: Progress) -> dict[str, Any]:
        return _answer(_review(stage, needed))

    def mended(stage: Stage, progress: Progress) -> dict[str, Any]:
        found = _review(stage, needed)
        notes = []
        for k, row in enumerate(found.failed):
            progress(k / len(found.failed), f"{row.id} {row.requirement}")
            notes.append(found.mend_note(row))
        return _answer(found, notes or ["Nothing fails, so nothing needs mending."])

    return Computed(title="Review", follow=table, compute=mended, action="What would mend a failure?")


def _review(stage: Stage, needed: Requirements) -> Review:
    from ..designing.review import review  # optimisers load with it: on first use

    return review(stage, needed.demands, needed)


def _answer(found: Review, notes: Iterable[str] = ()) -> dict[str, Any]:
    failed = ", ".join(row.id for row in found.failed)
    return {
        "tables": [
            {"head": _without_method(found.header), "rows": [_without_method(r.cells) for r in found.rows]}
        ],
        "remarks": [*notes, *found.cautions],
        "summary": f"fails: {failed}" if failed else f"all {len(found.rows)} requirements hold at every rail",
    }


def _without_method(cells: tuple[str, ...]) -> list[str]:
    """Return the cells of a row but the last but one, which the rationale has room for."""
    return [*unbroken((*cells[:-2], cells[-1]))]
