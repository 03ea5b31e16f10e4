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
from singlerail_nb.documents.html import block_html, inline, page_rule, to_html
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
    words = ("Hive &lt;monitor&gt; &amp; stage", "half the rail", "220\xa0nF", "Q1", "Polarity", "9\xa0V")
    for word in words:
        assert word in html


def test_a_number_is_not_parted_from_its_unit():
    kept = {"9 V", "47 kΩ", "4.7 µF", "-3 dB", "5 %", "20 V/V", "2 Vpp", "25 °C", "1 µV/√Hz", "± 5 %"}
    for text in kept:
        assert inline(text) == text.replace(" ", "\xa0")
    for text in ("5 parts", "9 Volt", "3 seconds", "step 2 is", "2 F-type nodes"[2:]):
        assert inline(text) == text


def test_html_stands_before_a_strict_parser():
    html5lib = pytest.importorskip("html5lib")
    html5lib.HTMLParser(strict=True).parse(to_html(DOCUMENT))
    with pytest.raises(html5lib.html5parser.ParseError):
        html5lib.HTMLParser(strict=True).parse(to_html(DOCUMENT).replace("</td>", "</p>", 1))


def test_the_first_cell_names_its_row():
    html = block_html(Table(("part", "value"), (("C", "1 F"), ("", "2")), "Parts."))
    assert '<tr><th scope="row">C</th><td>1\xa0F</td></tr><tr><td></td><td>2</td></tr>' in html
    assert "<caption>Parts.</caption>" in html
    assert 'class="many"' in block_html(Table(tuple("abcdefgh"), ()))
    assert 'class="many"' not in html


def test_printed_pages_carry_title_revision_and_number():
    rule = page_rule(Document('A "hive" </style>', (), (("Identifier", "HM-010"), ("Revision", "B"))))
    assert "</" not in rule
    assert 'content: "A \\22 hive\\22  \\3c \\2f style\\3e "' in rule
    assert 'content: "HM\\2d 010 revision B"' in rule
    assert "counter(page)" in rule
    assert 'top-right { content: ""' in page_rule(Document("x", ()))


def test_headings_can_be_linked_to():
    html = to_html(Document("x", (Paragraph("[to](#2-bias--gain)"), Heading("2 Bias & gain"))))
    assert '<h2 id="2-bias--gain">2 Bias &amp; gain</h2>' in html
    assert '<a href="#2-bias--gain">to</a>' in html
    levels = [int(n) for n in re.findall(r"<h(\d)", to_html(DOCUMENT))]
    assert levels == [1, 2, 2]


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
    assert notebook.cells[1].source.startswith("**How to fill this in.**")
    assert [cell.source.splitlines()[0] for cell in notebook.cells[2:]] == ["## Bias", "## Gain"]
    empty = nbformat.reads(to_notebook(Document("Nothing to fill in", ())), as_version=4)
    assert len(empty.cells) == 1
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
