"""The live handout: one HTML file with sliders, curves and numbers that works from disk."""

from __future__ import annotations

import base64
import gzip
import json
from collections.abc import Iterable, Sequence
from functools import cache
from html import escape
from pathlib import Path

from ..analysis.stage import Stage
from ..designing.synthesis import Design
from . import bundle
from .controls import Control, sliders
from .model import StageModel
from .payload import payload
from .requirements import as_model
from .views import View, standard_views

_PAGE_STYLE = """
body { margin: 0 auto; padding: 16px; max-width: 1240px; background: #fff; color: #22262b;
  font: 15px/1.5 system-ui, "Segoe UI", "Noto Sans", sans-serif; }
@media screen and (prefers-color-scheme: dark) { body { background: #14171a; color: #eceae4; } }
"""

# The view script is packed to keep the file small; a browser unpacks it without any library.
_START = """
const bytes = Uint8Array.from(atob(packed), (letter) => letter.charCodeAt(0));
const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
const mount = new Function(`${await new Response(stream).text()}\nreturn mount;`)();
mount(document.getElementById("panel"), payload, null);
"""


@cache
def _packed_script() -> str:
    """Return the view script, without its exports, as base64 text of a gzip file."""
    plain = bundle.compact(bundle.script()).replace("\nexport default { render };", "").replace("\nexport ", "\n")
    return base64.b64encode(gzip.compress(plain.encode(), mtime=0)).decode("ascii")


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
    data = payload(model, controls, views) | {"choosers": []}
    # "<" could end the script element early; inside a JSON text it is only ever part of a string.
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")
    return (
        f'<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n<title>{escape(model.title)}</title>\n'
        f'<meta name="viewport" content="width=device-width">\n'
        f"<style>{bundle.compact(bundle.style())}{_PAGE_STYLE}</style>\n</head>\n<body>\n"
        f'<main id="panel"><noscript>{_as_list(model)}</noscript></main>\n'
        f'<script type="module">\nconst payload = {text};\nconst packed = "{_packed_script()}";\n{_START}</script>\n'
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
    """
    model = as_model(stage)
    shown = list(standard_views(model) if views is None else views)
    turned = list(sliders(model.stage) if controls is None else controls)
    target = Path(path)
    target.write_text(live_handout(model, turned, shown), encoding="utf-8")
    return target
