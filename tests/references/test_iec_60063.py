"""The E series against published counts, irregular figures and resistors chosen from them.

Sources: IEC 60063, Preferred number series for resistors and capacitors (counts and irregular figures
as given by secondary pages, the standard itself was not read); Analog Devices AN-581, Biasing and
Decoupling Op Amps in Single Supply Applications, Table 3.
"""

import pytest

from singlerail_nb.designing.preferred_values import SERIES, half_gap, preferred, series

COUNTS = {"E3": 3, "E6": 6, "E12": 12, "E24": 24, "E48": 48, "E96": 96, "E192": 192}


@pytest.mark.parametrize(("name", "count"), COUNTS.items())
def test_counts_without_duplicates(name, count):
    figures = series(name)
    assert len(figures) == len(set(figures)) == count
    assert list(figures) == sorted(figures)


def test_series_are_complete():
    assert set(SERIES) == set(COUNTS)


@pytest.mark.parametrize(
    ("name", "figures"),
    [
        ("E3", "10 22 47"),
        ("E6", "10 15 22 33 47 68"),
        ("E12", "10 12 15 18 22 27 33 39 47 56 68 82"),
        ("E24", "10 11 12 13 15 16 18 20 22 24 27 30 33 36 39 43 47 51 56 62 68 75 82 91"),
    ],
)
def test_two_digit_series(name, figures):
    assert series(name) == tuple(map(int, figures.split()))


def test_irregular_figures_of_e24():
    ideal = {figure: round(10 * 10 ** (i / 24)) for i, figure in enumerate(series("E24"))}
    irregular = {figure: rounded for figure, rounded in ideal.items() if figure != rounded}
    assert irregular == {27: 26, 30: 29, 33: 32, 36: 35, 39: 38, 43: 42, 47: 46, 82: 83}


@pytest.mark.parametrize(("name", "irregular"), [("E48", {}), ("E96", {}), ("E192", {920: 919})])
def test_irregular_figures_of_three_digits(name, irregular):
    figures = series(name)
    ideal = {figure: round(100 * 10 ** (i / len(figures))) for i, figure in enumerate(figures)}
    assert {figure: rounded for figure, rounded in ideal.items() if figure != rounded} == irregular


def test_e24_is_mostly_not_in_the_fine_series():
    shared = {name: [f for f in series("E24") if 10 * f in series(name)] for name in ("E96", "E192")}
    assert shared["E192"] == [10, 11, 12, 13, 15, 16, 18, 20, 24, 47, 75]
    assert shared["E96"] == [10, 11, 13, 15, 20, 75]


# Computed from the series; secondary pages print 40, 20, 10, 5, 2, 1 and 0.5 % as "maximum error",
# which does not hold: the nominal tolerances leave gaps from E12 up.
@pytest.mark.parametrize(
    ("name", "percent", "printed"),
    [
        ("E3", 37.5, 40),
        ("E6", 20.0, 20),
        ("E12", 11.1, 10),
        ("E24", 7.14, 5),
        ("E48", 2.59, 2),
        ("E96", 1.48, 1),
        ("E192", 0.97, 0.5),
    ],
)
def test_worst_half_gap(name, percent, printed):
    assert 100 * half_gap(name) == pytest.approx(percent, rel=0.005)
    assert (half_gap(name) * 100 > printed + 1e-9) == (name not in ("E3", "E6"))


# AN-581 Table 3: supply, Zener voltage, Zener current, printed resistor. The printed one is the
# nearest E96 value of (V_S - V_Z) / I_Z in all eight rows.
AN_581_TABLE_3 = [
    (15, 7.5, 0.5e-3, 15e3),
    (15, 7.5, 5e-3, 1.5e3),
    (12, 6.2, 0.5e-3, 11.5e3),
    (12, 6.2, 5e-3, 1.15e3),
    (9, 4.3, 0.5e-3, 9.31e3),
    (9, 4.3, 5e-3, 931.0),
    (5, 2.4, 0.5e-3, 5.23e3),
    (5, 2.7, 5e-3, 464.0),
]


@pytest.mark.parametrize(("supply", "zener", "current", "printed"), AN_581_TABLE_3)
def test_zener_resistors_of_an_581(supply, zener, current, printed):
    assert preferred((supply - zener) / current, "E96") == printed
