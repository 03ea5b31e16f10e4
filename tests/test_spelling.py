"""Common misspellings in everything that people read: package, tests, notebooks and documents.

The word lists are those of codespell; it needs no network.
"""

import subprocess
import sys

import pytest

from tests.test_project_text import ROOT, committed, text_of

ALLOWED = {
    "pease": "a name",
    "rin": "a resistor as a source calls it",
    "numer": "sympy calls a numerator so",
    "fro": "as in to and fro",
    "trough": "the lowest point of a wave",
    "worstcase": "a class",
    **dict.fromkeys(
        ("bais", "filterd", "folower", "invertin", "outptu", "suply", "unifrom"),
        "misspelt on purpose, to see what the error says",
    ),
}
"""Words that codespell would change, with the reason why they stay."""


def misspelt(folder, *, allowed=()):
    """Return codespell's lines about the files of a folder."""
    command = [sys.executable, "-m", "codespell_lib", "--builtin", "clear,rare"]
    if allowed:
        command.append(f"--ignore-words-list={','.join(allowed)}")
    result = subprocess.run([*command, "."], capture_output=True, text=True, cwd=folder, check=False)
    assert result.returncode in (0, 65), result.stderr  # 65: something was found
    return sorted(result.stdout.splitlines())


@pytest.fixture(scope="module")
def texts(tmp_path_factory):
    """Return a folder with the text of every committed file, notebooks without their pictures."""
    folder = tmp_path_factory.mktemp("texts")
    own = [name for name in committed() if name != "tests/test_spelling.py"]
    for name in own:
        path = folder / f"{name.replace('/', ' ')}.txt"
        path.write_text(text_of(ROOT / name), encoding="utf-8")
    return folder


def test_nothing_is_misspelt(texts):
    found = misspelt(texts, allowed=ALLOWED)
    assert not found, "\n".join(found)


def test_every_allowed_word_is_needed(texts):
    found = {line.split(": ")[1].split(" ==> ")[0].lower() for line in misspelt(texts)}
    assert set(ALLOWED) == found


def test_a_misspelling_is_found(tmp_path):
    (tmp_path / "a.txt").write_text("The cut-off of the wohle stage.\n", encoding="utf-8")
    assert [line.partition(": ")[2] for line in misspelt(tmp_path)] == ["wohle ==> whole"]
    assert misspelt(tmp_path, allowed=["wohle"]) == []
