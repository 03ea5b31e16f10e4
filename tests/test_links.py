"""Links inside the project lead somewhere: files, headings, and notebooks under their right number and title.

Other people's work is named by title, not by address: an address dies, and offline it is no use.
"""

import re
from pathlib import Path
from urllib.parse import unquote

import pytest
from markdown_it import MarkdownIt

from tests.notebook_tools import files

ROOT = Path(__file__).resolve().parents[1]
PARSER = MarkdownIt("commonmark").enable("table")
PAGES = (ROOT / "README.md", ROOT / "DEVELOPERS.md", *files.notebook_paths())
CALLED = re.compile(r"(\d\d)(?: (.+))?$")


def markdown_of(path):
    """Return the Markdown of a page, or of the text cells of a notebook."""
    if path.suffix != ".ipynb":
        return path.read_text(encoding="utf-8")
    cells = files.read(path).cells
    return "\n\n".join(cell.source for cell in cells if cell.cell_type == "markdown")


def tokens(text):
    """Yield (kind, target, words) of each link, picture and heading in Markdown."""
    parsed = PARSER.parse(text)
    for before, block in zip([None, *parsed], parsed, strict=False):
        if block.type != "inline":
            continue
        if before is not None and before.type == "heading_open":
            yield "heading", before.tag, block.content
        inner = block.children or []
        for at, token in enumerate(inner):
            if token.type == "link_open":
                words = "".join(t.content for t in inner[at + 1 :][: _closing(inner[at + 1 :])])
                yield "link", token.attrGet("href"), words
            elif token.type == "image":
                yield "link", token.attrGet("src"), token.content


def _closing(inner):
    return next(at for at, token in enumerate(inner) if token.type == "link_close")


def anchors(text):
    """Return the addresses of the headings, as a notebook and as a page of a repository makes them."""
    headings = [words for kind, _, words in tokens(text) if kind == "heading"]
    plain = [re.sub(r"[*_`$\\]", "", words).strip() for words in headings]
    return {words.replace(" ", "-") for words in plain} | {
        re.sub(r"[^\w\- ]", "", words.lower()).replace(" ", "-") for words in plain
    }


def title_of(text):
    return next((words for kind, tag, words in tokens(text) if (kind, tag) == ("heading", "h1")), "")


def faults(page, text, read=markdown_of):
    """Yield a sentence for each link of a page that does not lead where it says."""
    for kind, target, words in tokens(text):
        if kind != "link":
            continue
        name, _, anchor = unquote(target).partition("#")
        if "://" in name or name.startswith(("mailto:", "data:")):
            yield f"{page.name}: an address instead of a title: {target}"
            continue
        file = (page.parent / name).resolve() if name else page
        if name and not file.exists():
            yield f"{page.name}: no file {name}"
            continue
        other = read(file) if file.suffix in (".md", ".ipynb") and name else text
        if anchor and anchor not in anchors(other):
            yield f"{page.name}: no heading #{anchor} in {file.name}"
        called = CALLED.match(words)
        if called and file.suffix == ".ipynb":
            if not file.name.startswith(called[1]):
                yield f"{page.name}: {words} leads to {file.name}"
            if called[2] and words != title_of(other):
                yield f"{page.name}: {words} is called {title_of(other)}"


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_links_lead_where_they_say(page):
    assert list(faults(page, markdown_of(page))) == []


def test_every_notebook_is_reached_from_the_start_page():
    start = next(path for path in PAGES if path.name.startswith("00"))
    linked = {target for kind, target, _ in tokens(markdown_of(start)) if kind == "link"}
    assert {path.name for path in files.notebook_paths()} - {start.name} <= linked


def test_each_notebook_ends_with_the_way_to_the_next():
    paths = files.notebook_paths()
    for page, following in zip(paths, [*paths[1:], paths[0]], strict=True):
        last = files.read(page).cells[-1].source.splitlines()[-1]
        assert f"]({following.name})" in last, page.name


def test_each_kind_of_dead_link_is_found(tmp_path):
    (tmp_path / "01_one.ipynb").write_text("", encoding="utf-8")
    (tmp_path / "b.md").write_text("", encoding="utf-8")
    other = "# 01 One\n\n## Two *words*\n"
    text = (
        "[01](01_one.ipynb) [01 One](01_one.ipynb#Two-words) [b](b.md#two-words) [a](#here) [x](http://a.b/)\n"
        "[02](01_one.ipynb) [01 Other](01_one.ipynb) ![p](no.png) [b](b.md#three)\n\n# Here\n"
    )
    found = list(faults(tmp_path / "a.md", text, read=lambda _: other))
    assert found == [
        "a.md: an address instead of a title: http://a.b/",
        "a.md: 02 leads to 01_one.ipynb",
        "a.md: 01 Other is called 01 One",
        "a.md: no file no.png",
        "a.md: no heading #three in b.md",
    ]
