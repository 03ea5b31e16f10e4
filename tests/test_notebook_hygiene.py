"""Every committed notebook is tidy, and every check can fail."""

import re

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output
from nbval.plugin import get_sanitize_patterns

from tests.notebook_tools import changes, files, hygiene, percent
from tests.notebook_tools.__main__ import main

NOTEBOOKS = files.notebook_paths()


@pytest.mark.parametrize("check", hygiene.CHECKS, ids=lambda check: check.__name__)
@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_committed_notebook(path, check):
    assert list(check(files.read(path))) == []


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_committed_notebook_is_written_in_the_one_form(path):
    text = path.read_text(encoding="utf-8")
    one_form = files.to_text(files.tidy(files.read(path)))
    assert text == one_form, f"python -m tests.notebook_tools refresh {path.name}"


def shown(**data):
    """An output of the display kind; `image_png` stands for the media type image/png."""
    return new_output("display_data", data={key.replace("_", "/"): value for key, value in data.items()})


def tidy_notebook():
    """A small notebook with no fault at all."""
    cells = [
        new_markdown_cell("# How loud is a hive"),
        new_code_cell("level = 41.5", execution_count=1),
        new_code_cell("hum", execution_count=2, outputs=[shown(image_png="AAAA", text_plain="<Figure 1>")]),
        new_code_cell("print(level)", execution_count=3, outputs=[new_output("stream", text="41.5 dB\n")]),
    ]
    return files.tidy(new_notebook(cells=cells))


def stored(notebook, **output):
    notebook.cells[3].outputs = [new_output(**output)]


def set_source(notebook, source):
    notebook.cells[1].source = source


FAULTS = {
    "valid_format": [lambda nb: nb.cells[1].pop("source")],
    "executed_in_order": [
        lambda nb: nb.cells[1].update(execution_count=None),
        lambda nb: nb.cells[3].update(execution_count=7),
    ],
    "no_trailing_semicolon": [
        lambda nb: set_source(nb, "level;"),
        lambda nb: set_source(nb, "level;  # hush"),
    ],
    "metadata_only_as_listed": [
        lambda nb: nb.metadata.update(widgets={"state": {}}),
        lambda nb: nb.metadata.language_info.update(version="3.11.7"),
        lambda nb: nb.cells[2].metadata.update(execution={"start": "12:00"}),
        lambda nb: nb.cells[2].outputs[0].metadata.update(needs_background="light"),
        lambda nb: nb.cells[2].outputs[0].data.update({files.WIDGET_VIEW: {"model_id": "1f"}}),
    ],
    "short_cells": [
        lambda nb: set_source(nb, "\n".join(["x = 1"] * (hygiene.MOST_LINES + 1))),
        lambda nb: [c.update(source="\n".join("abcde")) for c in nb.cells],
        lambda nb: nb.cells.extend(new_code_cell("1") for _ in range(hygiene.MOST_CODE_CELLS)),
        lambda nb: set_source(nb, ""),
        lambda nb: nb.cells.clear(),
    ],
    "no_errors_stored": [
        lambda nb: stored(nb, output_type="error", ename="ValueError", evalue="no", traceback=[]),
        lambda nb: stored(nb, output_type="stream", name="stderr", text="DeprecationWarning"),
    ],
    "numbers_beside_pictures": [
        lambda nb: nb.cells[3].update(outputs=[]),
        lambda nb: stored(nb, output_type="stream", text="loud\n"),
        lambda nb: nb.cells[3].update(outputs=[shown(text_plain="IntSlider(value=7)")]),
    ],
    "no_local_paths": [
        lambda nb: set_source(nb, 'open("/home/' + 'bee/hive.csv")'),
        lambda nb: stored(nb, output_type="stream", text="C:" + r"\hive\a.csv"),
    ],
}


def test_every_check_has_a_fault_to_find():
    assert set(FAULTS) == {check.__name__ for check in hygiene.CHECKS}
    assert hygiene.problems(tidy_notebook()) == []


@pytest.mark.parametrize(
    ("check", "spoil"),
    [(check, spoil) for check in hygiene.CHECKS for spoil in FAULTS[check.__name__]],
    ids=lambda part: part.__name__.strip("<>"),
)
def test_check_finds_its_fault(check, spoil):
    notebook = tidy_notebook()
    spoil(notebook)
    assert list(check(notebook))


def test_tidying_removes_what_the_metadata_check_finds():
    notebook = tidy_notebook()
    for spoil in FAULTS["metadata_only_as_listed"]:
        spoil(notebook)
    assert list(hygiene.metadata_only_as_listed(files.tidy(notebook))) == []


def test_changed_numbers_are_named():
    old, new = tidy_notebook(), tidy_notebook()
    new.cells[3].outputs[0].text = "41.6 dB\n"
    assert list(changes.differences(old, new)) == ["cell 3: 41.5 -> 41.6   in: 41.6 dB"]
    new.cells[3].outputs[0].text = "no signal\n"
    assert list(changes.differences(old, new)) == ["cell 3: - 41.5 dB", "cell 3: + no signal"]
    assert list(changes.differences(old, old)) == []


LESSON = """# %% [markdown]
# # How loud is a hive
#
# Predict first.
# %%
level = 40 + 1.5
print(f"{level} dB")
# %% tags=raises-exception
len(3)
"""


def test_text_becomes_cells():
    notebook = percent.from_percent(LESSON)
    assert [cell.cell_type for cell in notebook.cells] == ["markdown", "code", "code"]
    assert notebook.cells[0].source == "# How loud is a hive\n\nPredict first."
    assert notebook.cells[2].metadata.tags == ["raises-exception"]
    assert files.to_text(notebook) == files.to_text(percent.from_percent(LESSON))
    with pytest.raises(ValueError, match="cell mark"):
        percent.from_percent("level = 1\n" + LESSON)


def test_tool_makes_checks_and_refreshes_a_notebook(tmp_path, capsys):
    source = tmp_path / "lesson.py"
    source.write_text(LESSON.partition("# %% tags")[0], encoding="utf-8")
    assert main(["new", str(source), "--folder", str(tmp_path)]) == 0
    path = tmp_path / "lesson.ipynb"
    first = path.read_text(encoding="utf-8")
    assert hygiene.problems(files.read(path)) == []
    assert main(["check", str(path)]) == 0
    capsys.readouterr()

    path.write_text(first.replace("+ 1.5", "+ 2.5"), encoding="utf-8")
    assert main(["check", str(path)]) == 1
    assert "41.5 -> 42.5" in capsys.readouterr().out
    assert main(["refresh", str(path)]) == 0
    assert path.read_text(encoding="utf-8") == first.replace("1.5", "2.5")
    assert main(["new", str(source), "--folder", str(tmp_path)]) == 1


def test_sanitise_file_removes_noise_and_keeps_numbers():
    text = (files.ROOT / "tests" / "notebook_sanitise.cfg").read_text(encoding="utf-8")

    def sanitise(output):
        for pattern, replacement in get_sanitize_patterns(text):
            output = re.sub(pattern, replacement, output)
        return output

    same = [
        ("<Figure at 0x7f3a5c0b1d90>", "<Figure at 0x7f11deadbeef>"),
        ('<path id="m0a1b2c3d4e5" d="M 0 0"/>', '<path id="mfedcba9876f" d="M 0 0"/>'),
        ("url(#p0123456789ab)", "url(#pba9876543210)"),
        ("<dc:date>2001-01-01T00:00:00</dc:date>", "<dc:date>2002-02-02T11:11:11</dc:date>"),
        ("IPY_MODEL_" + "0" * 32, "IPY_MODEL_" + "f" * 32),
        ("File /tmp" + "/ipykernel_12/345.py:1", "File /var/folders/ipykernel_98/765.py:1"),
    ]
    for one, other in same:
        assert sanitise(one) == sanitise(other)
    kept = "mid-band gain 40.02 (32.05 dB), low-end cut-off 72.3 Hz, 4k7, 1.234e-05 V"
    assert sanitise(kept) == kept
    assert nbformat.current_nbformat >= 4
