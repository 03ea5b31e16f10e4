"""What the README promises: its example runs, and its commands are the ones that are tested."""

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(language):
    """Return the fenced blocks of a language."""
    return re.findall(rf"^```{language}\n(.*?)^```$", README, re.DOTALL | re.MULTILINE)


def test_example_runs_and_prints_what_is_shown(tmp_path):
    (example,) = blocks("python")
    (shown,) = blocks("text")
    command = [sys.executable, "-W", "error", "-c", example]
    result = subprocess.run(command, capture_output=True, text=True, cwd=tmp_path, check=False)
    assert (result.returncode, result.stderr) == (0, "")
    assert result.stdout == shown


def test_two_commands_do_all_set_up():
    start, test = (block.strip() for block in blocks("sh"))
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    for command in (start, test):
        assert command.startswith("python3 -m venv .venv && .venv/bin/pip install ")
        assert set(re.search(r'"\.\[(.*)\]"', command)[1].split(",")) <= set(extras)
    assert (ROOT / start.split()[-1]).is_file(), "the first notebook is missing"
    assert test.endswith("&& .venv/bin/pytest"), "plain pytest runs everything"


def test_ci_runs_the_command_of_the_readme():
    if sys.platform == "win32":
        pytest.skip("the CI script is for a Unix shell")
    shown = subprocess.check_output(["bash", str(ROOT / ".ci" / "run"), "--show"], text=True)
    assert shown.strip() == blocks("sh")[1].strip()


def test_first_paragraph_names_the_three_readers():
    paragraph = README.split("\n\n")[1]
    assert all(reader in paragraph for reader in ("student", "engineer", "instructor"))
