"""Tables: aligned as text, escaped as Markdown."""

import pytest

from singlerail_nb.quantities.tables import markdown_table, text_table

HEADER = ("part", "value")
ROWS = [("c_in", "68 nF"), ("r_bottom", "5 %")]


def test_columns_are_aligned_and_lines_end_clean():
    assert text_table(HEADER, ROWS) == "part      value\nc_in      68 nF\nr_bottom  5 %"


def test_a_bar_in_a_cell_does_not_split_it():
    table = markdown_table(HEADER, [("gain |H|", "40")])
    assert table == "| part | value |\n| --- | --- |\n| gain \\|H\\| | 40 |"


def test_a_row_of_another_length_is_refused():
    with pytest.raises(ValueError, match="shorter"):
        text_table(HEADER, [("c_in",)])
