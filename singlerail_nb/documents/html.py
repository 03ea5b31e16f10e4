"""Write a document as one HTML file: no network, formulas as MathML, made for printing."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache, singledispatch
from html import escape

from latex2mathml.converter import convert
from markdown_it import MarkdownIt

from .document import (
    Blank,
    Block,
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
from .markdown import data_address
from .plain_text import unmarked
from .slugs import slug

_STYLE = """
:root { color-scheme: light; --ink: #20303a; --line: #c9d1d6; --tint: #f4f1e8; }
body { font: 16px/1.5 Georgia, "Noto Serif", serif; color: var(--ink); background: #fff;
       max-width: 46rem; margin: 2rem auto; padding: 0 1rem; }
h1, h2, h3, h4, th, figcaption, caption { font-family: "Noto Sans", Verdana, sans-serif; }
h1, h2, h3, h4 { line-height: 1.25; }
h1 { font-size: 1.7rem; } h2 { font-size: 1.3rem; margin-top: 2.2rem; border-bottom: 2px solid var(--ink); }
h3 { font-size: 1.1rem; } h4 { font-size: 1rem; }
table { border-collapse: collapse; width: 100%; margin: 1rem 0; font-size: 0.9rem; }
th, td { border-bottom: 1px solid var(--line); padding: 0.3rem 0.5rem;
         text-align: left; vertical-align: top; }
thead th { border-bottom: 2px solid var(--ink); } thead { display: table-header-group; }
caption, figcaption { caption-side: top; text-align: left; font-size: 0.85rem; padding: 0.3rem 0; }
caption { font-weight: bold; } tbody th { font-weight: normal; font-family: inherit; }
td:empty { min-width: 3.2rem; height: 1.6rem; }
figure { margin: 1.2rem 0; } figure img, figure svg { max-width: 100%; height: auto; }
math { font-family: "STIX Two Math", "Cambria Math", "Latin Modern Math", "DejaVu Math TeX Gyre", math; }
math[display="block"] { margin: 0.8rem 0 0.8rem 1.5rem; overflow-x: auto; text-align: left; }
.wide { font-size: 0.62rem; overflow-x: auto; }
aside { border: 2px solid var(--ink); border-left-width: 0.6rem; padding: 0.5rem 0.9rem; margin: 1rem 0; }
.room { border-bottom: 1px solid var(--ink); height: 1.9rem; text-align: right; }
.room:only-of-type { height: 2.6rem; line-height: 3.6rem; }
.many td:empty { min-width: 4.4rem; height: 2rem; }
@media screen { .page-break > p { display: none; } }
@media print {
  body { margin: 0; padding: 0; max-width: none; font-size: 10.5pt; }
  h2, h3, h4 { break-after: avoid; } figure, aside, .question { break-inside: avoid; }
  math[display="block"] { overflow: visible; } table { font-size: 8.5pt; hyphens: auto; }
  figure svg { max-height: 90mm; } figure img { max-height: 110mm; } a { color: inherit; }
  caption, p:has(+ ul), p:has(+ ol), h4 + p { break-after: avoid; } .many { font-size: 7.5pt; }
  .many th, .many td { padding: 0.2rem 0.3rem; }
  p { orphans: 3; widows: 3; }
  .wide { font-size: 5.5pt; overflow: visible; }
  tr, caption { break-inside: avoid; } .page-break { break-before: page; }
  aside { print-color-adjust: exact; }
}
"""


_MANY = 8
"""Columns from which a table is set smaller."""
_LONG = 160
"""Characters of plain text from which a formula is set smaller, so that it fits on paper."""


def to_html(document: Document) -> str:
    """Return a document as the text of one self-contained HTML file.

    Parameters
    ----------
    document : Document
        What to write.
    """
    facts = Table(("", ""), document.facts)
    head = f"<h1>{inline(document.title)}</h1>" + (_facts(facts) if document.facts else "")
    body = "\n".join(block_html(block) for block in document.blocks)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(document.title)}</title>\n<style>{_STYLE}{page_rule(document)}</style>\n</head>\n"
        f"<body>\n<main>\n{head}\n{body}\n</main>\n</body>\n</html>\n"
    )


def page_rule(document: Document) -> str:
    """Return the style of printed pages: title and revision or student above, page numbers below.

    Parameters
    ----------
    document : Document
        What will be printed.
    """
    facts = dict(document.facts)
    named = [facts.get("Identifier", ""), f"revision {facts['Revision']}" if facts.get("Revision") else ""]
    if facts.get("Student", "").strip():
        named.append(unmarked(f"{facts['Student']}, sheet {facts['Sheet code']}"))
    return (
        "@page { size: A4; margin: 20mm 16mm 18mm;\n"
        f"  @top-left {{ content: {_css_text(document.title)}; {_SMALL} }}\n"
        f"  @top-right {{ content: {_css_text(' '.join(filter(None, named)))}; {_SMALL} }}\n"
        f'  @bottom-right {{ content: "page " counter(page) " of " counter(pages); {_SMALL} }} }}\n'
        "@page :first { @top-left { content: none } @top-right { content: none } }\n"
    )


_SMALL = 'font: 8pt "Noto Sans", Verdana, sans-serif; color: #20303a;'
_MAIN = re.compile(r"<main>\n(.*)\n</main>", re.DOTALL)
_HEADING_ID = re.compile(r'(<h[2-6]) id="[^"]*"')


def joined(title: str, pages: Sequence[tuple[str, str]]) -> str:
    """Return several files as one for printing: each begins on a page of its own and counts its pages.

    Parameters
    ----------
    title : str
        Title of the whole.
    pages : sequence of (str, str)
        What stands above each printed page of a file, and the file: complete HTML of this module.
    """
    rules, bodies = [], []
    for number, (owner, page) in enumerate(pages, 1):
        found = _MAIN.search(page)
        name, body = f"part{number}", found[1] if found else ""
        rules.append(
            f".{name} {{ page: {name} }} @page {name} {{ counter-increment: {name};"
            f" @top-right {{ content: {_css_text(owner)}; {_SMALL} }}"
            f' @bottom-right {{ content: "page " counter({name}); {_SMALL} }} }}\n'
        )
        body = _HEADING_ID.sub(r"\1", body)  # ids occur once in a file
        bodies.append(f'<section class="{name} page-break">\n{body}\n</section>')
    head, tail = to_html(Document(title, ())).split("</style>", 1)
    opening, closing = tail.split("<main>\n", 1)
    end = closing[closing.index("\n</main>") :]
    return f"{head}{''.join(rules)}</style>{opening}<main>\n" + "\n".join(bodies) + end


def _css_text(text: str) -> str:
    """Return a text as a string of a style sheet: all but letters, figures and spaces as code points."""
    return '"' + "".join(c if c.isalnum() or c == " " else f"\\{ord(c):x} " for c in text) + '"'


@cache
def _parser() -> MarkdownIt:
    return MarkdownIt("commonmark", {"html": False})


_FORMULA = re.compile(r"\$([^$]+)\$")
_UNIT_GAP = re.compile(
    r"(?<=\d) (?=[fpnµmkMG]?(?:Hz|V/V|V/√Hz|Vpp|Vrms|Vp|Ω|V|F|A|W|J|s)(?![\w/])|dB(?!\w)|%|°C)"
    r"|(?<=±) (?=\d)"
)


def inline(text: str) -> str:
    """Return the text of a block as HTML: strong, emphasis and formulas; all else is escaped.

    Parameters
    ----------
    text : str
        Text with the marks that `document` describes.
    """
    formulas: list[str] = []

    def keep(found: re.Match[str]) -> str:
        formulas.append(mathml(found.group(1)))
        return f"\x02{len(formulas) - 1}\x03"

    plain = _UNIT_GAP.sub("\N{NO-BREAK SPACE}", text.replace("\x02", "").replace("\x03", ""))
    rendered = _parser().renderInline(_FORMULA.sub(keep, plain))
    return re.sub("\x02(\\d+)\x03", lambda found: formulas[int(found.group(1))], rendered)


def mathml(latex: str, *, block: bool = False) -> str:
    """Return a formula as MathML, which browsers show without any script.

    Parameters
    ----------
    latex : str
        The formula.
    block : bool
        Whether it stands on a line of its own.
    """
    return str(convert(latex, display="block" if block else "inline"))


@singledispatch
def block_html(block: Block) -> str:
    """Return one block as HTML.

    Parameters
    ----------
    block : Block
        What to write.

    Raises
    ------
    TypeError
        If it is no block of a document.
    """
    raise TypeError(f"no block of a document: {type(block).__name__}")


@block_html.register
def _(block: Heading) -> str:
    level = max(2, block.level)
    return f'<h{level} id="{escape(slug(block.text))}">{inline(block.text)}</h{level}>'


@block_html.register
def _(block: Paragraph) -> str:
    return f"<p>{inline(block.text)}</p>"


@block_html.register
def _(block: Items) -> str:
    tag = "ol" if block.numbered else "ul"
    return f"<{tag}>{''.join(f'<li>{inline(item)}</li>' for item in block.items)}</{tag}>"


@block_html.register
def _(block: Formula) -> str:
    formula = mathml(block.latex, block=True)
    return f'<div class="wide">{formula}</div>' if len(block.text) > _LONG else formula


@block_html.register
def _(block: Table) -> str:
    caption = f"<caption>{inline(block.caption)}</caption>" if block.caption else ""
    header = "".join(f'<th scope="col">{inline(cell)}</th>' for cell in block.header)
    rows = "".join(f"<tr>{_cells(row)}</tr>" for row in block.rows)
    many = ' class="many"' if len(block.header) >= _MANY else ""
    return f"<table{many}>{caption}<thead><tr>{header}</tr></thead><tbody>{rows}</tbody></table>"


def _cells(row: tuple[str, ...]) -> str:
    """Return the cells of a row; the first one names it, for those who hear a table."""
    named = f'<th scope="row">{inline(row[0])}</th>' if row and row[0] else "<td></td>"
    return named + "".join(f"<td>{inline(cell)}</td>" for cell in row[1:])


def _facts(table: Table) -> str:
    rows = "".join(
        f'<tr><th scope="row">{inline(name)}</th><td>{inline(value)}</td></tr>' for name, value in table.rows
    )
    return f"<table><tbody>{rows}</tbody></table>"


@block_html.register
def _(block: Drawing) -> str:
    if block.kind == "svg":
        picture = str(block.data)
    else:
        picture = f'<img src="{data_address(block)}" alt="{escape(block.text)}">'
    return f"<figure>{picture}<figcaption>{inline(block.caption)}</figcaption></figure>"


@block_html.register
def _(block: Caution) -> str:
    return f'<aside role="note"><strong>Caution: {inline(block.title)}.</strong> {inline(block.text)}</aside>'


@block_html.register
def _(block: Blank) -> str:
    room = '<div class="room"></div>' * (block.lines - 1) + f'<div class="room">{escape(block.unit)}</div>'
    question = f"<p><strong>{escape(block.id)}.</strong> {inline(block.text)}</p>"
    return f'<div class="question">{question}{room}</div>'


@block_html.register
def _(block: PageBreak) -> str:
    return f'<div class="page-break">{f"<p>{inline(block.text)}</p>" if block.text else ""}</div>'
