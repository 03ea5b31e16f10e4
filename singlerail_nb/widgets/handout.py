"""The live handout: one HTML file with sliders, curves and numbers that works from disk."""

from __future__ import annotations

import base64
import gzip
import json
from collections.abc import Iterable, Sequence
from functools import cache
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..analysis.stage import Stage
from ..errors import QuantityError
from ..files import write_at_once
from . import bundle
from .controls import Control, sliders
from .model import StageModel
from .payload import payload
from .requirements import as_model
from .view_kinds import View
from .views import standard_views

if TYPE_CHECKING:
    from ..designing.synthesis import Design

_PAGE_STYLE = """
body { margin: 0 auto; padding: 16px; max-width: 1240px; background: #fff; color: #22262b;
  font: 15px/1.5 system-ui, "Segoe UI", "Noto Sans", sans-serif; }
@media screen and (prefers-color-scheme: dark) { body { background: #14171a; color: #eceae4; } }
"""

# Script, style and data are packed to keep the file small; a browser unpacks them without any library.
_START = """
const bytes = Uint8Array.from(atob(packed), (letter) => letter.charCodeAt(0));
const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
const start = new Function("element", await new Response(stream).text());
start(document.getElementById("panel"));
"""


@cache
def _plain_script() -> str:
    """Return the view script as plain statements, without its exports."""
    source = bundle.compact(bundle.script())
    return source.replace("\nexport default { render };", "").replace("\nexport ", "\n")


def _packed(data: dict[str, Any]) -> str:
    """Return script, style and data as base64 text of a gzip file."""
    text, look = (
        json.dumps(item, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
        for item in (data, bundle.compact(bundle.style()))
    )
    dressed = f'document.head.append(html("style", {{}}, {look}));'
    program = f"{_plain_script()}\n{dressed}\nmount(element, {text}, null);\n"
    return base64.b64encode(gzip.compress(program.encode(), mtime=0)).decode("ascii")


def live_handout(model: StageModel, controls: Sequence[Control], views: Sequence[View]) -> str:
    """Return the page as text.

    Parameters
    ----------
    model : StageModel
        The model shown; the page starts from its present stage.
    controls : sequence of Control
        Sliders and choosers (choosers need Python and are left out).
    views : sequence of View
        What to show.

    Raises
    ------
    UnknownNameError
        If a control or view names what the stage does not have.
    """
    stored = [view.stored(model) for view in views]
    data = payload(model, controls, views) | {"choosers": [], "views": stored}
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<title>{escape(model.title)}</title>\n<meta name="viewport" content="width=device-width">\n'
        f"<style>{_PAGE_STYLE}</style>\n</head>\n<body>\n"
        f'<main id="panel"><noscript>{_as_list(model)}</noscript></main>\n'
        f'<script type="module">\nconst packed = "{_packed(data)}";\n{_START}</script>\n'
        "</body>\n</html>\n"
    )


def _as_list(model: StageModel) -> str:
    return "".join(f"<p>{escape(line)}</p>" for line in model.summary().splitlines())


def write_live_handout(
    stage: Stage | Design | StageModel,
    path: str | Path,
    *,
    controls: Iterable[Control] | None = None,
    views: Iterable[View] | None = None,
) -> Path:
    """Write a stage as one HTML file that works offline, without any installation.

    Parameters
    ----------
    stage : Stage, Design or StageModel
        What to show; a design brings its requirements with it.
    path : str or Path
        Where to write; the folder must exist.
    controls : iterable of Control, optional
        Sliders; one for every part unless given.
    views : iterable of View, optional
        What to show; the standard views unless given.

    Raises
    ------
    UnknownNameError
        If a control or view names what the stage does not have.
    QuantityError
        If the name of the file does not end in .html, or the first argument is no stage.
    """
    if Path(path).suffix.lower() not in {".html", ".htm"}:
        raise QuantityError(
            "path", Path(path).name, allowed="a name that ends in .html",
            remedy="A live handout is one page for a browser: change the ending.",
        )  # fmt: skip
    model = as_model(stage)
    shown = list(standard_views(model) if views is None else views)
    turned = list(sliders(model.stage) if controls is None else controls)
    return write_at_once(path, live_handout(model, turned, shown))
