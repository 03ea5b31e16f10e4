"""The live handout as a file."""

import re

import pytest

import singlerail_nb as sr
from singlerail_nb.errors import QuantityError
from singlerail_nb.widgets import bundle
from singlerail_nb.widgets.caution_markup import cautions_html


def test_it_is_one_small_file_that_asks_nobody(stage, tmp_path):
    path = sr.write_live_handout(stage, tmp_path / "handout.html")
    page = path.read_text(encoding="utf-8")
    assert len(page.encode()) <= 60_000
    assert re.findall(r"(?:src|href)=|url\(|@import|https?:", page) == []
    assert "Low-end cut-off: 39.87 Hz" in page


def test_it_is_the_same_every_time(stage, tmp_path):
    pages = [sr.write_live_handout(stage, tmp_path / f"{k}.html").read_bytes() for k in range(2)]
    assert pages[0] == pages[1]


def test_another_ending_is_refused(stage, tmp_path):
    with pytest.raises(QuantityError, match=r"handout\.pdf.*ends in \.html"):
        sr.write_live_handout(stage, tmp_path / "handout.pdf")
    assert list(tmp_path.iterdir()) == []


def test_a_title_cannot_break_out(stage, tmp_path):
    model = sr.panel(stage, title="</script><b>1 & 2").stage_model
    page = sr.write_live_handout(model, tmp_path / "handout.html").read_text(encoding="utf-8")
    assert "</script><b>" not in page


def test_every_script_file_is_in_the_bundle():
    names = {
        path.name.removesuffix(".js")
        for path in (bundle.files("singlerail_nb.widgets") / "browser").iterdir()
    }
    assert names - {"panel.css", "question"} == set(bundle.MODULES)


def test_compacting_keeps_the_lines_of_code():
    source = "  // a remark\n  const x = 1; // stays\n\n    y();\n"
    assert bundle.compact(source) == "const x = 1; // stays\ny();\n"


def test_cautions_come_with_the_parts(stage):
    assert "right way round" in cautions_html(stage)
    assert cautions_html(stage.with_parts(c_bias="100n", c_g="100n", c_out="100n")) == ""
