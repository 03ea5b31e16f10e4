"""Published level shifts: R. Mancini (ed.), Op Amps for Everyone, TI SLOD006, chapter 4 (read as text).

The printed slopes and intercepts, the printed parts, and what these parts really draw.  Two printed
results are loose; they are marked, and are no figures to reproduce.
"""

import pytest

import singlerail_nb as sr
from singlerail_nb.designing.level_shift import level_shift


def line_of(name, reference, supply=12, **parts):
    """Return slope and intercept of a stage at rest."""
    stage = sr.stage(name, supply=supply, reference=reference, r_source=0, **parts)
    slope, share = (stage.transfer(source, "output")(0.0).real for source in ("signal", "reference"))
    return slope, share * reference


@pytest.mark.parametrize(
    ("points", "reference", "slope", "intercept", "form"),
    [
        ([(0.1, 1), (0.2, 4)], 5, 30, -2, "+m -b"),  # eq. 4-17 to 4-22
        ([(0.01, 1), (1, 4.5)], 5, 3.535, 0.9646, "+m +b"),  # case 1, eq. 4-23 to 4-36
        ([(0.2, 1.5), (0.5, 4.5)], 5, 10, -0.5, "+m -b"),  # case 2, eq. 4-37 to 4-45
        ([(-0.1, 1), (-1, 6)], 10, -5.56, 0.444, "-m +b"),  # case 3, eq. 4-46 to 4-55
    ],
)
def test_slope_and_intercept_from_two_points(points, reference, slope, intercept, form):
    shift = level_shift(points=points, reference=reference, supply=12)
    assert shift.slope == pytest.approx(slope, rel=2e-3)
    assert shift.intercept == pytest.approx(intercept, rel=2e-3)
    assert shift.form == form


def test_case_1_exact_ratios():
    """Printed R2/R1 = 18.316 and (RF + RG)/RG = 3.73, from rounded slopes; exact 18.3246 and 3.72828."""
    shift = level_shift(points=[(0.01, 1), (1, 4.5)], reference=5, supply=12)
    parts = shift.exact.values
    assert parts["r_ref"] / parts["r_in"] == pytest.approx(18.316, rel=1e-3)
    assert parts["r_ref"] / parts["r_in"] == pytest.approx(18.3246, rel=1e-5)
    assert 1 + parts["r_f"] / parts["r_g"] == pytest.approx(3.73, rel=1e-3)
    # m = k G and b = V_ref (1 - k) G, so G = m + b/V_ref, whatever k.
    assert 1 + parts["r_f"] / parts["r_g"] == pytest.approx(3.5353535 + 0.9646465 / 5, rel=1e-7)


def test_case_1_printed_parts():
    """10 k, 180 k, 10 k, 27 k: the text states 3.5 and 0.97; measured there 0.98 V and 4.53 V."""
    slope, intercept = line_of("shift_up", 5, r_in=10e3, r_ref=180e3, r_g=10e3, r_f=27e3)
    assert (slope, intercept) == pytest.approx((3.5, 0.97), rel=5e-3)
    assert (slope, intercept) == pytest.approx((3.5053, 0.97368), rel=1e-4)
    for x, derived, measured in ((0.01, 1.0087, 0.98), (1.0, 4.4789, 4.53)):
        assert slope * x + intercept == pytest.approx(derived, rel=1e-4)
        assert slope * x + intercept == pytest.approx(measured, rel=0.03)


def test_case_2_printed_parts_are_loose():
    """20 k, 180 k, 0.82 k, 75 k: the text blames 3 % on b alone, but neglected R1 || R2 in the gain leg."""
    slope, intercept = line_of("shift_down", 5, r_g=20e3, r_f=180e3, r_ref_bottom=820, r_ref_top=75e3)
    assert slope == pytest.approx(9.6492, rel=1e-4)
    assert intercept == pytest.approx(-0.46771, rel=1e-4)
    assert abs(slope / 10 - 1) > 0.03
    # Neglecting the divider's resistance gives what the text had in mind: 1 + RF/RG = 10.
    bare = 820 * 75e3 / 75820
    assert line_of("shift_down", 5, r_g=20e3 - bare, r_f=180e3, r_ref_bottom=820, r_ref_top=75e3)[
        0
    ] == pytest.approx(10, rel=1e-9)


def test_case_2_the_design_sees_the_resistance_of_the_divider():
    """R1 = 89 R2 is printed; with R2 = 0.82 k that is 72.98 k, and the gain leg is smaller by R1 || R2."""
    shift = level_shift(points=[(0.2, 1.5), (0.5, 4.5)], reference=5, supply=12)
    parts = shift.exact.values
    assert parts["r_ref_top"] / parts["r_ref_bottom"] == pytest.approx(89, rel=1e-9)
    behind = parts["r_ref_top"] * parts["r_ref_bottom"] / (parts["r_ref_top"] + parts["r_ref_bottom"])
    assert 1 + parts["r_f"] / (parts["r_g"] + behind) == pytest.approx(10, rel=1e-9)
    assert shift.error < 0.002


def test_case_3_printed_parts():
    """10 k, 56 k, 2 k, 300 k: printed 65 mV at the + input (66.23 mV exact) and 60 mA into 100 ohm."""
    parts = {"r_in": 10e3, "r_f": 56e3, "r_ref_bottom": 2e3, "r_ref_top": 300e3}
    slope, intercept = line_of("inverting_shift_up", 10, **parts)
    assert slope == pytest.approx(-5.6, rel=1e-9)
    assert intercept == pytest.approx(0.43709, rel=1e-4)
    stage = sr.stage("inverting_shift_up", supply=12, reference=10, r_source=0, r_load=100, **parts)
    assert sr.operating_point(stage, signal=-1.0).voltage("plus") == pytest.approx(0.065, rel=0.02)
    assert sr.operating_point(stage, signal=-1.0).voltage("plus") == pytest.approx(66.23e-3, rel=1e-3)
    assert sr.operating_point(stage, signal=-1.0).voltage("output") / 100 == pytest.approx(60e-3, rel=0.01)


def test_case_3_exact_ratio_is_printed_one_too_high():
    """147.64 is printed as R2/R1, from rounded figures; (R1 + R2)/R1 is 147.5, so R2/R1 is 146.5.

    "RF = 56.6 k" there is a misprint of 55.6 k.
    """
    shift = level_shift(points=[(-0.1, 1), (-1, 6)], reference=10, supply=12)
    parts = shift.exact.values
    ratio = parts["r_ref_top"] / parts["r_ref_bottom"]
    assert 1 + ratio == pytest.approx(147.64, rel=1.5e-3)
    assert 1 + ratio == pytest.approx(147.5, rel=1e-9)
    assert parts["r_f"] / parts["r_in"] == pytest.approx(5.5556, rel=1e-4)


def test_the_fourth_form():
    """Circuit equations of case 4: m = -RF/RG1, b = -VREF RF/RG2."""
    slope, intercept = line_of("inverting_shift_down", 5, r_in=10e3, r_ref=51e3, r_f=33e3)
    assert slope == pytest.approx(-3.3, rel=1e-12)
    assert intercept == pytest.approx(-5 * 33 / 51, rel=1e-12)


def test_minus_ten_times_plus_five():
    """S. Franco, Design with Op Amps, 3rd ed., problem 1.5 (via a textbook companion): Vo = -(10 Vi) + 5
    from -15 V: R1 10 k, Rf 100 k, R2 300 k.  Here the reference is +15 V and the sign of b turns."""
    slope, intercept = line_of("inverting_shift_down", 15, supply=16, r_in=10e3, r_f=100e3, r_ref=300e3)
    assert (slope, intercept) == pytest.approx((-10, -5), rel=1e-12)
