"""Temperature codes of ceramics, ageing and the leakage rule against published figures.

Sources: Texas Instruments SLAA701B, Table 1-16 (EIA class 2 and 3 code); Holy Stone, general information,
p. 53, which prints 1.2 % instead of 1.5 % for the letter B; Nippon Chemi-Con, frequently asked questions,
leakage current (2200 uF, 35 V: 770 uA at 20 degC after 2 minutes).  The rule "0.01 C V or 3 uA, whichever is
greater" was read in many part lists; IEC 60384-4 itself was not read.
"""

import pytest

from singlerail_nb.analysis.capacitor_classes import capacitor_class, temperature_code
from singlerail_nb.analysis.dc_errors import electrolytic_leakage
from tests.sensible_stages import follower


@pytest.mark.parametrize(
    ("code", "lowest", "highest", "change"),
    [
        ("X7R", -55, 125, (-0.15, 0.15)),
        ("X5R", -55, 85, (-0.15, 0.15)),
        ("Y5V", -30, 85, (-0.82, 0.22)),
        ("Z5U", 10, 85, (-0.56, 0.22)),
        ("X6T", -55, 105, (-0.33, 0.22)),
        ("X8B", -55, 150, (-0.015, 0.015)),
    ],
)
def test_eia_codes(code, lowest, highest, change):
    found = temperature_code(code)
    assert (found.lowest, found.highest, found.change) == (lowest, highest, change)


@pytest.mark.parametrize("code", ["X7R", "X5R"])
def test_demonstration_classes_follow_their_code(code):
    assert capacitor_class(code).temperature == temperature_code(code).change


def test_leakage_of_a_published_part():
    assert electrolytic_leakage(2200e-6, 35.0) == pytest.approx(770e-6)


def test_leakage_floor():
    # 10 uF, 16 V would be 1.6 uA; the rule says 3 uA.  Through 50 kohm that is 150 mV.
    assert electrolytic_leakage(10e-6, 16.0) * 50e3 == pytest.approx(0.150)


@pytest.mark.parametrize(("loss", "factor"), [(0.15, 1.176), (0.82, 5.56)])
def test_what_a_loss_does_to_a_coupling_corner(loss, factor):
    # With one capacitor in the path the cut-off goes with 1/C: 1/(1 - loss).
    stage = follower(c_out=None, r_load=None, c_bias=9.9e-3)
    whole = stage.transfer("signal", "output")
    less = stage.with_parts(c_in=stage.values["c_in"] * (1.0 - loss)).transfer("signal", "output")
    assert less.low_cutoff() / whole.low_cutoff() == pytest.approx(factor, rel=2e-3)
