"""Which numbers changed between two runs of a notebook."""

from __future__ import annotations

import difflib
import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from nbformat import NotebookNode

NUMBER = re.compile(r"(?<![\w.])[-+−]?\d+(?:\.\d+)?(?:e[-+]?\d+)?", re.IGNORECASE)
TEXT_TYPES = ("text/plain", "text/markdown", "text/latex", "text/html")


def output_text(output: NotebookNode) -> str:
    """Return all that an output says in text."""
    if output.output_type == "stream":
        return output.text
    if output.output_type == "error":
        return f"{output.ename}: {output.evalue}"
    return "\n".join(output.data[kind] for kind in TEXT_TYPES if kind in output.data)


def cell_text(cell: NotebookNode) -> str:
    """Return the text of all outputs of a code cell."""
    return "\n".join(output_text(output).rstrip("\n") for output in cell.get("outputs", ()))


def differences(old: NotebookNode, new: NotebookNode) -> Iterator[str]:
    """Describe each change of the text outputs, numbers first.

    Parameters
    ----------
    old, new : NotebookNode
        The same notebook before and after a run: same cells, in the same order.
    """
    for index, (before, after) in enumerate(zip(old.cells, new.cells, strict=True)):
        for line in _line_differences(cell_text(before).splitlines(), cell_text(after).splitlines()):
            yield f"cell {index}: {line}"


def _line_differences(before: list[str], after: list[str]) -> Iterator[str]:
    matcher = difflib.SequenceMatcher(a=before, b=after, autojunk=False)
    for kind, i, j, k, m in matcher.get_opcodes():
        if kind == "equal":
            continue
        pairs = list(zip(before[i:j], after[k:m], strict=False))
        if j - i == m - k and all(NUMBER.sub("#", old) == NUMBER.sub("#", new) for old, new in pairs):
            yield from (_number_change(old, new) for old, new in pairs if old != new)
        else:
            yield from (f"- {line}" for line in before[i:j])
            yield from (f"+ {line}" for line in after[k:m])


def _number_change(old: str, new: str) -> str:
    changed = [f"{a} -> {b}" for a, b in zip(NUMBER.findall(old), NUMBER.findall(new), strict=True) if a != b]
    return f"{', '.join(changed)}   in: {new.strip()}"
