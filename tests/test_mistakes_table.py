"""The table of mistakes in DEVELOPERS.md names sections that exist, and leaves no mistake out."""

import re

import pytest

from tests.notebook_tools import files

ROW = re.compile(r"^\| (\d+) \| ([^|]+) \| ([^|]+) \|$", re.MULTILINE)
MISTAKES = 25


def table(text):
    """Return [(number, mistake, [(notebook number, section), ...])] of the table."""
    section = text.split("## Mistakes, and where a reader meets them", 1)[1].split("\n## ", 1)[0]
    found = []
    for number, mistake, places in ROW.findall(section):
        named = [tuple(place.strip().split(" ", 1)) for place in places.split(";")]
        found.append((int(number), mistake, named))
    return found


def headings():
    """Return {"05": {"Predict", ...}} of all notebooks."""
    found = {}
    for path in files.notebook_paths():
        cells = [cell.source for cell in files.read(path).cells if cell.cell_type == "markdown"]
        titles = re.findall(r"^## (.+)$", "\n".join(cells), re.MULTILINE)
        found[path.name[:2]] = {title.strip() for title in titles}
    return found


def missing(rows, known):
    """Yield a sentence for each section that is named and not there."""
    for number, _, places in rows:
        for notebook, section in places:
            if section not in known.get(notebook, set()):
                yield f"mistake {number}: notebook {notebook} has no section {section!r}"


@pytest.fixture(scope="module")
def rows():
    return table((files.ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"))


def test_every_mistake_has_a_row(rows):
    assert [number for number, *_ in rows] == list(range(1, MISTAKES + 1))


def test_every_named_section_exists(rows):
    assert list(missing(rows, headings())) == []


def test_a_section_that_is_gone_is_found():
    heading = "## Mistakes, and where a reader meets them"
    text = f"{heading}\n\n| 1 | Lost | 05 Look; 05 Nowhere |\n\n## Next\n| 2 | x | y |"
    assert list(missing(table(text), {"05": {"Look"}})) == ["mistake 1: notebook 05 has no section 'Nowhere'"]
