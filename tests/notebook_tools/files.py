"""Reading and writing notebook files, always in the same form."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

import nbformat

if TYPE_CHECKING:
    from nbformat import NotebookNode

ROOT = Path(__file__).resolve().parents[2]
NOTEBOOKS = ROOT / "notebooks"

# What a notebook may keep.  Everything else tells about the machine that ran it, not about the lesson.
NOTEBOOK_METADATA = {
    "kernelspec": {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"},
    "language_info": {"name": "python"},
}
CELL_METADATA = frozenset({"tags"})
PICTURE_METADATA = frozenset({"alt", "height", "width"})
# A widget's id is random, and dead when the notebook is opened again: the page would show an error in
# place of the picture and the text that stand beside it.  Strict notebook testing does not compare it.
WIDGET_VIEW = "application/vnd.jupyter.widget-view+json"


def notebook_paths(names: list[str] | None = None) -> list[Path]:
    """Return the notebooks named, or every committed notebook."""
    if names:
        return [Path(name) for name in names]
    return sorted(path for path in NOTEBOOKS.rglob("*.ipynb") if ".ipynb_checkpoints" not in path.parts)


def read(path: Path) -> NotebookNode:
    """Read a notebook as format 4."""
    return nbformat.read(path, as_version=4)


def tidy(notebook: NotebookNode) -> NotebookNode:
    """Strip a notebook, in place, to what a reader needs."""
    notebook.metadata = nbformat.from_dict(NOTEBOOK_METADATA)
    for cell in notebook.cells:
        cell.metadata = nbformat.from_dict({k: v for k, v in cell.metadata.items() if k in CELL_METADATA})
        for output in cell.get("outputs", ()):
            output.get("data", {}).pop(WIDGET_VIEW, None)
            if "metadata" in output:
                output.metadata = nbformat.from_dict(tidy_output_metadata(output.metadata))
    return notebook


def tidy_output_metadata(metadata: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Return the size and the spoken text of pictures, and nothing else."""
    kept = {
        kind: {key: value for key, value in facts.items() if key in PICTURE_METADATA}
        for kind, facts in metadata.items()
        if kind.startswith("image/")
    }
    return {kind: facts for kind, facts in kept.items() if facts}


def to_text(notebook: NotebookNode) -> str:
    """Return the one text of a notebook: sorted keys, one-space indent, a newline at the end."""
    nbformat.validate(notebook)
    return nbformat.writes(notebook).rstrip("\n") + "\n"


def write(notebook: NotebookNode, path: Path) -> None:
    """Write a notebook in one step, so that a reader sees the old file or the new one."""
    text = to_text(notebook)
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.stem}.", suffix=".tmp")
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)
        Path(temporary).chmod(0o644)
        Path(temporary).replace(path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
