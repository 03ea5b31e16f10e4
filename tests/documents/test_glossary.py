"""The glossary: the vocabulary is in it, documents use what they need of it, and no word is idle."""

import json
from pathlib import Path

import pytest

import singlerail_nb as sr
from singlerail_nb.documents.document import Drawing, Heading, Paragraph
from singlerail_nb.documents.glossary import Glossary, words_section
from singlerail_nb.errors import UnknownNameError
from tests.documents.lab_sheets import sheet

ROOT = Path(__file__).resolve().parents[2]
VOCABULARY = (
    "mid-rail bias", "summing node", "gain leg", "bias filter", "bias resistor", "coupling capacitor",
    "low-end cut-off", "mid-band gain", "signal gain", "noise gain", "supply rejection", "common-mode range",
    "output swing", "headroom", "start-up", "settling", "worst case", "preferred value", "Vp, Vpp, Vrms",
)  # fmt: skip
"""The words that the whole project keeps to."""


def course():
    """Return the text of all notebooks, as a student reads it, without the glossary that they show."""
    texts = []
    for path in (ROOT / "notebooks").glob("*.ipynb"):
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
        for cell in cells:
            if "sr.glossary(" not in "".join(cell["source"]):
                texts += cell["source"] if cell["cell_type"] == "markdown" else plain_outputs(cell)
    return "\n".join(texts)


def plain_outputs(cell):
    return [
        line
        for output in cell["outputs"]
        for line in (*output.get("text", ()), *output.get("data", {}).get("text/plain", ()))
    ]


AVOIDED = "virtual ground"
"""In the glossary for those who look for it, and in no text of the course."""


@pytest.mark.parametrize("word", VOCABULARY)
def test_the_vocabulary_is_in_the_glossary(word):
    (found,) = sr.glossary(word)
    assert found.word == word
    assert found.meaning.endswith(".")


def test_every_word_is_used_in_the_course():
    text = course()
    assert [word.word for word in sr.glossary() if not word.is_in(text)] == [AVOIDED]


def test_words_stand_in_the_order_of_the_alphabet_and_once():
    words = [word.word.lower() for word in sr.glossary()]
    assert words == sorted(set(words))


def test_a_meaning_uses_no_word_that_is_to_be_avoided():
    for word in sr.glossary():
        assert AVOIDED not in word.meaning


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("The gain leg is open.", {"gain leg"}), ("Gain-leg corners", {"gain leg"}), ("gain legume", set()),
        ("two summing nodes", {"summing node"}), ("2 Vpp at the rail", {"Vp, Vpp, Vrms", "rail"}),
        ("the railway settles", {"settling"}), ("nothing", set()),
    ],
)  # fmt: skip
def test_the_words_of_a_text_are_found(text, words):
    assert {word.word for word in sr.glossary().used_in(text)} == words


def test_a_document_explains_the_words_that_it_uses_and_no_others():
    blocks = (Heading("Noise gain"), Paragraph("It rests on the rail."), Drawing("<svg/>", "", "headroom"))
    heading, words = words_section(blocks)
    assert heading.text == "Words"
    assert [item.split("**")[1] for item in words.items] == ["noise gain", "rail"]
    assert words_section((Paragraph("Nothing to explain."),)) == ()


def test_handout_and_rationale_have_their_words():
    design = sr.design(sr.Requirements("9 V", 40, "30k", low_cutoff="60 Hz", source_resistance="220R"))
    for paper in (sheet().document, sr.rationale(design)):
        (listed,) = (block for block in paper.section("Words").blocks if hasattr(block, "items"))
        names = [item.split("**")[1] for item in listed.items]
        assert {"gain leg", "mid-rail bias", "bias filter"} <= set(names)
        text = paper.markdown.replace(paper.section("Words").markdown, "")
        assert all(word.is_in(text) for word in sr.glossary(*names))


def test_the_table_shows_itself_and_names_what_it_lacks():
    some = sr.glossary("summing node", "noise gain")
    assert isinstance(some, Glossary)
    assert repr(some).count("\n") == 2
    assert some._repr_markdown_().startswith("| word | meaning | not to be mistaken for |")
    with pytest.raises(UnknownNameError, match="summing node"):
        sr.glossary("summing nod")


@pytest.mark.parametrize(
    ("called", "word"),
    [
        ("E24", "preferred value"), ("E-series", "preferred value"), ("Preferred values", "preferred value"),
        ("virtual ground", "virtual ground"), ("Virtual Earth", "virtual ground"), ("Vpp", "Vp, Vpp, Vrms"),
    ],
)  # fmt: skip
def test_a_word_is_found_by_any_of_its_spellings(called, word):
    assert [found.word for found in sr.glossary(called)] == [word]


def test_a_word_asked_for_twice_stands_once():
    assert [word.word for word in sr.glossary("E24", "preferred value", "rail")] == [
        "preferred value",
        "rail",
    ]


@pytest.mark.parametrize(
    ("called", "remedy"),
    [
        ("virtual grounding", "'virtual ground'"),
        ("E-serie", "'preferred value'"),
        ("zebra", "Choose one of: "),
    ],
)
def test_an_unknown_word_is_answered_with_a_near_one(called, remedy):
    with pytest.raises(UnknownNameError) as caught:
        sr.glossary(called)
    assert remedy in caught.value.remedy


def test_the_word_that_is_not_used_says_which_two_it_would_mix_up():
    (word,) = sr.glossary(AVOIDED)
    assert {"mid-rail bias", "summing node"} <= {known.word for known in sr.glossary().used_in(word.meaning)}
