"""The table of published figures: every circuit against a formula by hand, every verdict with its reason.

The notebook that compares books with circuits prints the same table.  Sources stand beside the figures in
`singlerail_nb/documents/published_figures.py`; checked here is that the circuits behind them are right.
"""

import math

import pytest

from singlerail_nb.documents.published import PublishedFigure, PublishedTable
from singlerail_nb.documents.published_figures import AN581, published
from singlerail_nb.errors import UnknownNameError

TWO_PI = 2 * math.pi
TABLE = published()
KEYS = [figure.key for figure in TABLE]
BOLTZMANN = 1.380649e-23


def two_corners(ratio):
    """Return the half-power point of two high-passes, in units of the higher corner."""
    a = ratio**-2
    return math.sqrt(((1 + a) + math.sqrt((1 + a) ** 2 + 4 * a)) / 2)


def three_equal():
    return 1 / math.sqrt(2 ** (1 / 3) - 1)


BY_HAND = {
    "divider alone": 20 * math.log10(2),
    "zener resistor": (12 - 6.2) / 1.15e3,
    "bias filter": 1 / (TWO_PI * 50e3 * 0.1e-6),
    "stiff bias filter": 1 / (TWO_PI * 500 * 0.1e-6),
    "settling": 50e3 * 3e-6 * math.log(100),
    "whole corner": 13.234,  # derived for this project from the product of its network, 1.1 of the list
    "leg forgotten": 37.92,
    "inverting input": 1 / (TWO_PI * 150 * 0.1e-6),
    "output capacitor": 1 / (TWO_PI * 600 * 8.2e-6),
    "two corners": two_corners(2.0),
    "two corners, next line": two_corners(2.1),
    "root of squares": 300.76,  # half-power point of the product of three high-passes
    "corner of each": 25 / three_equal(),
    "gain": 1 + 150 / 16.5,
    "inverting gain": 50 / 2,
    "input room": 5 - 1.8 - 2.5,
    "case 1 slope": 180 / 190 * 3.7,
    "case 2 slope": 1 + 180e3 / (20e3 + 820 * 75e3 / 75820),
    "case 3 slope": -56 / 10,
    "gain of minus one": 1e6 / 2,
    "slowest of three": 97.02e3,  # half-power point of the product of three low-passes
    "two equal stages": 1e6 / math.sqrt(1000) * math.sqrt(math.sqrt(2) - 1),
    "12 bits": 12 * math.log(2),
    "16 bits": 16 * math.log(2),
    "resistor noise": math.sqrt(4 * BOLTZMANN * 298 * 100e3 * 19980),
    "bias current": 80e-9 * 2.2e6,
}


def test_every_figure_is_calculated_by_hand():
    assert set(BY_HAND) == set(KEYS)
    assert len(KEYS) == len(set(KEYS))


@pytest.mark.parametrize("key", KEYS)
def test_the_circuit_says_what_the_formula_says(key):
    assert TABLE.figure(key).computed == pytest.approx(BY_HAND[key], rel=4e-4)


@pytest.mark.parametrize("key", KEYS)
def test_a_reason_is_given_where_and_only_where_the_figure_is_off(key):
    figure = TABLE.figure(key)
    assert bool(figure.why) == (figure.verdict != "agrees")


@pytest.mark.parametrize("key", KEYS)
def test_where_a_figure_comes_from_is_stated(key):
    figure = TABLE.figure(key)
    assert all((figure.source.full, figure.source.read, figure.place, figure.what, figure.given))
    assert figure.value != 0
    assert figure.printed in repr(figure)


def test_good_figures_and_misprints_are_both_there():
    counts = {verdict: len(TABLE.judged(verdict)) for verdict in ("agrees", "last digit", "differs")}
    assert sum(counts.values()) == len(TABLE)
    assert min(counts.values()) >= 3
    assert counts["agrees"] >= 10
    assert counts["differs"] >= 10


def figure_of(printed, computed, unit="Hz", **more):
    return PublishedFigure("key", AN581, "text", "what", "given", printed, unit, lambda: computed, **more)


@pytest.mark.parametrize(
    ("printed", "computed", "verdict"),
    [
        ("31.8 Hz", 31.8499, "agrees"), ("31.8 Hz", 31.86, "last digit"), ("31.8 Hz", 37.9, "differs"),
        ("10.61 kHz", 10614.0, "agrees"), ("10.61 kHz", 10616.0, "last digit"), ("-5.6 V/V", -5.64, "agrees"),
        ("-5.6 V/V", 5.6, "differs"), ("0.15 s", 0.154, "agrees"),
    ],
)  # fmt: skip
def test_a_verdict_follows_from_the_printed_digits(printed, computed, verdict):
    assert figure_of(printed, computed, printed.split()[-1].removeprefix("k")).verdict == verdict


def test_a_figure_that_is_meant_exactly_has_no_last_digit():
    assert figure_of("10 Hz", 10.4).verdict == "agrees"
    assert figure_of("10 Hz", 10.4, is_exact=True).verdict == "differs"


def test_a_table_is_chosen_from_and_shown():
    some = TABLE.of("leg forgotten", "gain")
    assert [figure.key for figure in some] == ["leg forgotten", "gain"]
    assert isinstance(some.judged("differs"), PublishedTable)
    assert "37.9" not in some.as_printed
    assert "31.8 Hz" in some.as_printed
    assert "37.9" in repr(some)
    assert some._repr_markdown_().count("\n") == 3
    assert [source.short for source in some.sources] == ["Gayakwad", "AN-581"]
    with pytest.raises(UnknownNameError, match="leg forgotten"):
        TABLE.figure("leg")
    with pytest.raises(UnknownNameError, match="verdict: got wrong; allowed: agrees, last digit, differs"):
        TABLE.judged("agrees", "wrong")
