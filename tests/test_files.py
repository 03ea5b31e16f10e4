"""Reading within bounds, writing in one step; and nobody writes a file by another way."""

import ast
from pathlib import Path

import pytest

import singlerail_nb as sr
from singlerail_nb.designing.synthesis import Design
from singlerail_nb.errors import QuantityError
from singlerail_nb.files import read_file, read_text, write_at_once
from tests.sensible_stages import noninverting

PACKAGE = Path(__file__).resolve().parents[1] / "singlerail_nb"
MAY_WRITE = {"files.py"}


def writes(source):
    """Return the calls in a module that write a file directly: line and name."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if not isinstance(node, ast.Call):
            continue
        name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        texts = [
            a.value for a in (*node.args, *(k.value for k in node.keywords)) if isinstance(a, ast.Constant)
        ]
        opens = name == "open" and any(
            isinstance(t, str) and set(t) & set("wxa") and len(t) <= 3 for t in texts
        )
        draws = name == "savefig" and not (node.args and getattr(node.args[0], "id", "") == "buffer")
        if name in ("write_text", "write_bytes") or opens or draws:
            found.append((node.lineno, name))
    return found


def test_the_package_writes_files_in_one_place():
    found = {
        path.relative_to(PACKAGE).as_posix(): writes(path.read_text(encoding="utf-8"))
        for path in PACKAGE.rglob("*.py")
    }
    assert {name for name, calls in found.items() if calls} == MAY_WRITE


@pytest.mark.parametrize(
    "line",
    [
        "p.write_text('a')",
        "open(p, 'w')",
        "p.open('xb')",
        "p.open(mode='a')",
        "f.savefig(p)",
        "p.write_bytes(b'')",
    ],
)
def test_a_direct_write_is_found(line):
    assert [number for number, _ in writes(f"x = 1\n{line}\n")] == [2]
    assert not writes("open(p)\np.open('rb')\nf.savefig(buffer, format='png')\np.open(encoding='utf-8')\n")


def design_of(stage):
    return Design(sr.Requirements("9 V", 40, "30k", low_cutoff="200 Hz"), stage.name, stage, ())


WRITERS = {
    "design file": ("stage.json", sr.save_design),
    "parts list": ("parts.csv", lambda path, stage: sr.parts_list(design_of(stage)).write(path)),
    "drawing": ("stage.svg", lambda path, stage: sr.schematic(stage).save(path)),
    "picture": ("response.png", lambda path, stage: sr.response_picture(stage).save(path)),
    "live handout": ("live.html", lambda path, stage: sr.write_live_handout(stage, path)),
}


@pytest.mark.parametrize("kind", WRITERS)
def test_whoever_writes_leaves_the_old_file_whole_when_the_disk_is_full(kind, tmp_path, monkeypatch):
    name, write = WRITERS[kind]
    path = tmp_path / name
    write(path, noninverting())
    before = path.read_bytes()
    assert before

    def fail(_handle):
        raise OSError("disk full")

    monkeypatch.setattr("os.fsync", fail)
    with pytest.raises(OSError, match="disk full"):
        write(path, noninverting(c_in="470n"))
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def test_text_keeps_its_line_ends(tmp_path):
    path = write_at_once(tmp_path / "a.csv", "Ω\r\n\n")
    assert path.read_bytes() == b"\xce\xa9\r\n\n"
    assert read_text(path, "table", largest=5) == "Ω\r\n\n"


@pytest.mark.parametrize(
    ("name", "quantity", "says"),
    [
        ("no/such/folder/x.html", "folder of x.html", "no/such/folder"),
        ("", "file", "add a name"),
        ("a\0b", "file", "can be written"),
        ("x" * 300, "file", "can be written"),
    ],
)
def test_a_place_where_nothing_can_be_written_is_named(name, quantity, says, tmp_path):
    with pytest.raises(QuantityError, match=says) as caught:
        write_at_once(tmp_path / name, "text")
    assert caught.value.quantity == quantity
    assert ".new" not in str(caught.value)
    assert list(tmp_path.iterdir()) == []


def test_a_picture_of_an_unknown_kind_is_refused(tmp_path):
    with pytest.raises(QuantityError, match=r"\.png, \.svg, \.pdf"):
        sr.response_picture(noninverting()).save(tmp_path / "response.doc")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("content", "says"),
    [(b"12345678", "up to 7 bytes"), (b"\xff\xfea", "text in UTF-8"), (None, "can be read")],
)
def test_what_cannot_be_read_is_named(content, says, tmp_path):
    path = tmp_path / "table.csv"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(QuantityError, match=says) as caught:
        read_text(path, "table", largest=7)
    assert "table" in caught.value.quantity
    assert caught.value.remedy


def test_a_name_that_no_file_has_is_refused(tmp_path):
    for name in ("a\0b", "x" * 5000, tmp_path):
        with pytest.raises(QuantityError, match="can be read"):
            read_file(name, "table", largest=7)
