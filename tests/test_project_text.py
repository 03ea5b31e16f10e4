"""What is committed: the agreed top level, and text that fits every reader and every machine."""

import json
import re
import shutil
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
CARD = {"README.md", "DEVELOPERS.md", "pyproject.toml", "singlerail_nb", "notebooks", "tests"}

# Each pattern spells a letter as a class, so that this file does not find itself.
UNWANTED = {
    "a recording as a source": r"\b(?:[t]alks?|[w]ebinars?|[p]odcasts?|[t]ranscripts?|lecture [v]ideo)\b",
    "a helper program": r"\b(?:[c]laude|[a]nthropic|[c]hatgpt|[c]opilot|[s]ubagent|[s]ession tool)",
    "a folder of one machine": r"(?<![\w.])/(?:[h]ome|[r]oot|[U]sers|[w]ork)/\w",
    "a package host": r"\b(?:[p]ypi\.org|[p]ythonhosted\.org|[n]pmjs\.org|[d]eb\.debian\.org)",
}


def committed():
    """Return the committed files, or skip outside a checkout."""
    if not shutil.which("git") or not (ROOT / ".git").exists():
        pytest.skip("no git checkout: nothing to compare")
    names = subprocess.check_output(["git", "ls-files", "-z"], cwd=ROOT, text=True).split("\0")
    return [name for name in names if name and (ROOT / name).is_file()]


def text_of(path):
    """Return what a person would read in a file: notebooks without pictures, nothing of other data."""
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return ""
    if path.suffix != ".ipynb":
        return text
    notebook = json.loads(text)
    pieces = []
    for cell in notebook["cells"]:
        pieces += cell["source"]
        for output in cell.get("outputs", ()):
            pieces += output.get("text", [])
            texts = (data for kind, data in output.get("data", {}).items() if "image" not in kind)
            pieces += [line for data in texts for line in data]
    return "\n".join(pieces)


def unwanted(name, text):
    """Yield a sentence for each unwanted piece of text."""
    for what, pattern in UNWANTED.items():
        for found in re.finditer(pattern, text, re.IGNORECASE):
            line = text.count("\n", 0, found.start()) + 1
            yield f"{name}:{line}: {what}: {found.group()}"


def beyond_card(names):
    """Return the top-level entries that are not on the card."""
    top = {name.split("/")[0] for name in names}
    return sorted(entry for entry in top - CARD if not entry.startswith("."))


def test_top_level_holds_the_card():
    names = committed()
    assert beyond_card(names) == []
    assert {"README.md", "pyproject.toml", "singlerail_nb", "tests"} <= {name.split("/")[0] for name in names}


def test_text_fits_every_reader():
    found = [fault for name in committed() for fault in unwanted(name, text_of(ROOT / name))]
    assert not found, "\n".join(found)


def test_text_files_end_with_a_newline_and_have_no_trailing_blanks():
    faults = []
    for name in committed():
        text = text_of(ROOT / name) if not name.endswith(".ipynb") else ""
        if text and not text.endswith("\n"):
            faults.append(f"{name}: no newline at the end")
        if re.search(r"[ \t]+$", text, re.MULTILINE):
            faults.append(f"{name}: blanks at the end of a line")
    assert not faults, "\n".join(faults)


def test_rules_find_what_is_unwanted(tmp_path):
    bad = {
        "as said in the t" + "alk": "a recording as a source",
        "/ho" + "me/bee/hive.csv": "a folder of one machine",
        "from py" + "pi.org": "a package host",
        "ask Co" + "pilot": "a helper program",
    }
    for text, what in bad.items():
        assert [fault.split(": ")[1] for fault in unwanted("a.py", text)] == [what]
    assert not list(unwanted("a.py", "crosstalk at ../home/a, homework, the stalk"))
    assert beyond_card(["README.md", ".ci/run", "LICENSE", "src/a.py"]) == ["LICENSE", "src"]

    cell = {"source": ["see the t" + "alk"], "outputs": [{"data": {"image/png": "t" + "alk"}}]}
    path = tmp_path / "a.ipynb"
    path.write_text(json.dumps({"cells": [cell]}), encoding="utf-8")
    assert len(list(unwanted("a.ipynb", text_of(path)))) == 1
