"""Every committed notebook runs in a real JupyterLab: no error, a quiet console, no call to another host."""

import pytest

from tests.browser.accessibility import serious_violations
from tests.notebook_tools import files

NOTEBOOKS = [path.relative_to(files.NOTEBOOKS).as_posix() for path in files.notebook_paths()]
PANELS = "() => document.querySelectorAll('.jp-NotebookPanel:not(.lm-mod-hidden) .srn').length"


def places_of_widgets(path):
    """Return which cells of a committed notebook end in a name that is a panel or a question."""
    cells = files.read(files.NOTEBOOKS / path).cells
    made = ("panel(", "ask_")
    return [
        k for k, cell in enumerate(cells) if cell.cell_type == "code" and any(m in cell.source for m in made)
    ]


@pytest.mark.parametrize("path", NOTEBOOKS)
def test_it_runs(open_notebook, path):
    notebook = open_notebook(path)
    notebook.run_all()
    for place in places_of_widgets(path):
        notebook.show_cell(place)
        notebook.page.wait_for_timeout(200)
        if notebook.page.evaluate(PANELS):
            assert serious_violations(notebook.page, ".srn") == []
            assert notebook.locator(".srn-errors:visible").count() == 0
    notebook.assert_quiet()
