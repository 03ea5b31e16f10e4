"""The command line of the notebook tools."""

from __future__ import annotations

import argparse
import copy
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from nbclient import NotebookClient
from nbclient.exceptions import CellExecutionError

from tests.notebook_tools import changes, files, hygiene, percent

if TYPE_CHECKING:
    from nbformat import NotebookNode


_WIDEST = 300
"""Characters of a printed change; a drawing in a line is longer."""


def execute(notebook: NotebookNode, folder: Path) -> NotebookNode:
    """Return a tidy, freshly executed copy."""
    fresh = copy.deepcopy(notebook)
    for cell in fresh.cells:
        if cell.cell_type == "code":
            cell.outputs, cell.execution_count = [], None
    client = NotebookClient(
        fresh,
        timeout=600,
        kernel_name="python3",
        resources={"metadata": {"path": str(folder)}},
        store_widget_state=False,
        coalesce_streams=True,
    )
    client.execute()
    return files.tidy(fresh)


def refresh(paths: list[Path], *, write: bool) -> int:
    """Run notebooks again, say what changed, and write them if asked; return the number of failures."""
    failures = 0
    for path in paths:
        old = files.read(path)
        try:
            new = execute(old, path.parent)
        except CellExecutionError as error:
            print(f"{path}: stopped, file left as it was\n{error}")
            failures += 1
            continue
        changed = list(changes.differences(old, new))
        print(f"{path}: {len(changed)} changes of text")
        print("".join(f"    {line[:_WIDEST]}\n" for line in changed), end="")
        untidy = hygiene.problems(new)
        print("".join(f"    untidy: {line}\n" for line in untidy), end="")
        failures += bool(untidy) or (bool(changed) and not write)
        if write:
            files.write(new, path)
    return failures


def new(paths: list[Path], folder: Path) -> int:
    """Turn texts with cell marks into executed notebooks in a folder; never overwrite one."""
    for source in paths:
        target = folder / f"{source.stem}.ipynb"
        if target.exists():
            print(f"{target} exists: edit it, or delete it first")
            return 1
        files.write(percent.from_percent(source.read_text(encoding="utf-8")), target)
        if refresh([target], write=True):
            return 1
    return 0


def main(arguments: list[str] | None = None) -> int:
    """Read the command line and do what it says."""
    parser = argparse.ArgumentParser(prog="python -m tests.notebook_tools", description=__doc__)
    commands = parser.add_subparsers(dest="command", required=True)
    for name, text in (("refresh", "run again and write"), ("check", "run again, write nothing")):
        commands.add_parser(name, help=text).add_argument("paths", nargs="*", metavar="NOTEBOOK")
    make = commands.add_parser("new", help="make notebooks from texts with '# %%' marks")
    make.add_argument("paths", nargs="+", metavar="TEXT")
    make.add_argument("--folder", type=Path, default=files.NOTEBOOKS)
    chosen = parser.parse_args(arguments)
    if chosen.command == "new":
        return new([Path(name) for name in chosen.paths], chosen.folder)
    return min(refresh(files.notebook_paths(chosen.paths), write=chosen.command == "refresh"), 1)


if __name__ == "__main__":
    sys.exit(main())
