"""Tables: aligned as text, escaped as Markdown."""

import pytest

from singlerail_nb.quantities.tables import markdown_table, text_table, unbroken

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


def test_a_number_stays_with_its_unit():
    cells = unbroken(("560 nF", "16 V, 60 % used", "47.9 nF to 64.7 nF", "40 V/V ± 2 V/V", "+ at bias"))
    shown = [cell.replace("\N{NO-BREAK SPACE}", "_") for cell in cells]
    assert shown == ["560_nF", "16_V, 60_% used", "47.9_nF to 64.7_nF", "40_V/V ±_2_V/V", "+ at bias"]
