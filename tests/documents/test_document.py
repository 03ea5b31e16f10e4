"""A document says the same in every form, runs no script and fetches nothing."""

import json
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import nbformat
import pytest
from markdown_it import MarkdownIt

from singlerail_nb.documents.document import (
    Blank,
    Caution,
    Document,
    Drawing,
    Formula,
    Heading,
    Items,
    PageBreak,
    Paragraph,
    Table,
)
from singlerail_nb.documents.html import block_html, inline, to_html
from singlerail_nb.documents.markdown import block_markdown, to_markdown
from singlerail_nb.documents.notebook import to_notebook
from singlerail_nb.documents.writers import WRITERS, write_document
from singlerail_nb.errors import SingleRailError

PNG = b"\x89PNG\r\n\x1a\n invented"
BLOCKS = (
    Heading("Bias", 2),
    Paragraph("The bias is **half the rail**, $V_S/2$, at <node> *bias*."),
    Items(("first | one", "second"), numbered=True),
    Formula(r"f = \frac{1}{2 \pi R C}", "f = 1/(2*pi*R*C)"),
    Table(("part", "value"), (("$C_{in}$", "220 nF"), ("a|b", "1 < 2")), "Two rows."),
    Drawing('<svg xmlns="http://www.w3.org/2000/svg"><title>x</title></svg>', "A drawing.", "Nothing in it."),
    Drawing(PNG, "A picture.", 'Gain 11 V/V "flat"'),
    Caution("Polarity", "Put the + side where the drawing shows it."),
    Blank("Q1", "Where does it rest?", "V", 2),
    PageBreak(),
    Heading("Gain", 2),
)
DOCUMENT = Document("Hive <monitor> & stage", BLOCKS, (("Revision", "A"), ("Rail", "9 V")))


def strip_tags(html):
    return re.sub(r"<[^>]+>", " ", html)


def test_html_is_well_formed_and_complete():
    html = to_html(DOCUMENT)
    body = html[html.index("<body>") : html.index("</html>")]
    ET.fromstring(re.sub(r"<img([^>]*)>", r"<img\1/>", body))  # noqa: S314 -- our own text
    for word in ("Hive &lt;monitor&gt; &amp; stage", "half the rail", "220 nF", "Q1", "Polarity", "9 V"):
        assert word in html


def test_html_runs_nothing_and_fetches_nothing():
    html = re.sub(r'xmlns="http://www\.w3\.org/[^"]+"', "", to_html(DOCUMENT))
    assert "<script" not in html
    assert "http" not in html
    assert "@import" not in html


def test_formulas_become_mathml_also_inside_text():
    assert "<mfrac>" in block_html(BLOCKS[3])
    assert '<math xmlns="http://www.w3.org/1998/Math/MathML"' in block_html(BLOCKS[1])
    assert "$" not in block_html(BLOCKS[1])


@pytest.mark.parametrize("text", ["<script>alert(1)</script>", "<img src=x onerror=y>", "[a](javascript:b)"])
def test_text_cannot_bring_markup_in(text):
    html = inline(text)
    assert "<script" not in html
    assert "<img" not in html
    assert 'javascript:b"' not in html


def test_markdown_is_commonmark_with_the_same_words():
    markdown = to_markdown(DOCUMENT)
    rendered = strip_tags(MarkdownIt("commonmark").enable("table").render(markdown))
    for word in ("half the rail", "220 nF", "second", "Polarity", "Where does it rest?"):
        assert word in rendered
    assert MarkdownIt("commonmark").enable("table").render(markdown).count("<table>") == 2


def test_a_bar_in_a_cell_does_not_make_a_column():
    table = MarkdownIt("commonmark").enable("table").render(block_markdown(BLOCKS[4]))
    assert table.count("<td>") == 4
    assert "a|b" in table


def test_notebook_is_valid_and_cut_at_headings():
    notebook = nbformat.reads(to_notebook(DOCUMENT), as_version=4)
    nbformat.validate(notebook)
    assert [cell.source.splitlines()[0] for cell in notebook.cells[1:]] == ["### Bias", "### Gain"]
    assert len({cell.id for cell in notebook.cells}) == len(notebook.cells)


def test_the_same_document_is_written_the_same_twice():
    for writer in WRITERS.values():
        assert writer(DOCUMENT) == writer(DOCUMENT)


@pytest.mark.parametrize("suffix", list(WRITERS))
def test_the_ending_chooses_the_writer(tmp_path, suffix):
    path = write_document(DOCUMENT, tmp_path / f"rationale{suffix}")
    assert path.read_text(encoding="utf-8") == WRITERS[suffix](DOCUMENT)
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


def test_an_unknown_ending_is_refused_and_leaves_no_file(tmp_path):
    with pytest.raises(SingleRailError, match=r"\.md, \.html, \.ipynb"):
        write_document(DOCUMENT, tmp_path / "rationale.docx")
    assert not list(tmp_path.iterdir())


def test_a_failed_write_leaves_the_old_file(tmp_path, monkeypatch):
    path = write_document(DOCUMENT, tmp_path / "rationale.md")
    before = path.read_text(encoding="utf-8")

    def full(*_):
        raise OSError("disk full")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(OSError, match="disk full"):
        write_document(Document("Other", ()), path)
    assert path.read_text(encoding="utf-8") == before
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


@pytest.mark.parametrize("write", [block_markdown, block_html])
def test_what_is_no_block_is_refused(write):
    with pytest.raises(TypeError, match="no block"):
        write("text")


def test_pictures_carry_their_text():
    assert 'alt="Gain 11 V/V &quot;flat&quot;"' in block_html(BLOCKS[6])
    assert json.loads(to_notebook(DOCUMENT))["nbformat"] == 4
