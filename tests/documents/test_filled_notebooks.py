"""Handouts handed out as notebooks, filled in by hand, and read back."""

import json
import re

from singlerail_nb.documents.filled_notebooks import read_notebook
from singlerail_nb.documents.marking import mark
from singlerail_nb.documents.notebook import to_notebook

from .lab_sheets import right_answers, small_class


def filled(sheet, answers, *, keep_unit):
    """Return a sheet's notebook with answers typed over its lines and into its table."""
    notebook = json.loads(to_notebook(sheet.document))

    def over(found):
        return (
            found[1] + answers[found[2]] + (found[3] if keep_unit else "")
            if found[2] in answers
            else found[0]
        )

    def row(found):
        cells = found[0].split("|")
        cells[6] = f" {answers[found[1]]} "
        return "|".join(cells)

    for cell in notebook["cells"]:
        text = "".join(cell["source"])
        text = re.sub(r"(\*\*([PM]\d+)\.\*\*[^\n]*\n\n)(?:\\_)+([^\n]*)(?:\n\n(?:\\_)+)?", over, text)
        cell["source"] = re.sub(r"(?m)^\| (M\d) .*$", row, text).splitlines(keepends=True)
    return json.dumps(notebook)


def write(tmp_path, name, text):
    (tmp_path / name).write_text(text, encoding="utf-8")


def test_a_filled_notebook_earns_what_its_answers_earn(tmp_path):
    first, second = small_class().sheets[:2]
    write(tmp_path, "a.ipynb", filled(first, right_answers(first), keep_unit=True))
    write(tmp_path, "b.ipynb", filled(second, right_answers(second), keep_unit=False))
    found = mark(small_class(), tmp_path)
    assert found.of(first.student).points == found.of(first.student).possible
    assert found.of(second.student).points == found.of(second.student).possible
    assert found.notices == ()


def test_an_untouched_notebook_has_no_answers():
    (one,) = read_notebook(to_notebook(small_class().sheets[0].document)).submissions
    assert one.answers == {}
    assert (one.student, one.code) == ("Ada Anther", small_class().sheets[0].code)


def test_a_name_with_signs_is_read_back():
    (one,) = read_notebook(to_notebook(small_class().sheets[3].document)).submissions
    assert one.student == "Dé Drone"


def test_answers_may_stand_on_lines_of_their_own():
    notebook = json.loads(to_notebook(small_class().sheets[0].document))
    notebook["cells"].append({"cell_type": "code", "source": ["P1: 4.5 V\n", "P2 = 18k\n"], "outputs": []})
    (one,) = read_notebook(json.dumps(notebook)).submissions
    assert one.answers == {"P1": "4.5 V", "P2": "18k"}


def test_a_notebook_that_is_none_is_reported(tmp_path):
    bad = {
        "a.ipynb": "not json",
        "b.ipynb": "[1, 2]",
        "c.ipynb": '{"cells": [{"source": 3}]}',
        "d.ipynb": "[" * 100_000,
        "e.ipynb": '{"cells": []}',
    }
    for name, text in bad.items():
        write(tmp_path, name, text)
    first = small_class().sheets[0]
    write(tmp_path, "f.ipynb", filled(first, right_answers(first), keep_unit=True))
    found = mark(small_class(), tmp_path)
    assert len(found.notices) == len(bad)
    assert found.of(first.student).points == found.of(first.student).possible


def test_a_notebook_under_another_name_counts_for_nobody(tmp_path):
    first, second = small_class().sheets[:2]
    text = filled(first, right_answers(first), keep_unit=True).replace(first.student, second.student)
    write(tmp_path, "a.ipynb", text)
    found = mark(small_class(), tmp_path)
    assert found.of(first.student).marks == found.of(second.student).marks == ()
    assert "not that of Bo Brood" in found.notices[0]
