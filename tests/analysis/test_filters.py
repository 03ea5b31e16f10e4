"""Second-order filters on a mid-rail bias: closed forms, and the bias resistor as a part of the filter."""

import math

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.circuit.symbols import part_symbol

FIRM = {"r_top": 1.0, "r_bottom": 1.0, "c_bias": 10e-3}
HIGH = {"r_source": 0, "c_in": "22n", "c_link": "22n", "r_link": "33k", "r_bias": "120k"}
LOW = {
    "r_source": 0, "c_in": 10e-3, "r_bias": "220k", "r_in": "15k", "r_link": "18k", "c_link": "10n",
    "c_low": "3n3",
}  # fmt: skip


def high(**changes):
    """Return the rumble filter of a hive monitor."""
    return sr.stage("highpass", supply=9, **{**FIRM, **HIGH, **changes})


def low(**changes):
    """Return its anti-alias filter."""
    return sr.stage("lowpass", supply=9, **{**FIRM, **LOW, **changes})


def second_order(s, natural, quality):
    """Return the denominator 1 + s/(Q w) + (s/w)^2."""
    return 1 + s / (quality * natural) + (s / natural) ** 2


def test_the_high_pass_in_closed_form():
    """f_0 = 1/(2 pi C sqrt(R_link R_bias)), Q = sqrt(R_bias/R_link)/2 with equal capacitors."""
    natural, quality = 1 / (22e-9 * math.sqrt(33e3 * 120e3)), math.sqrt(120 / 33) / 2
    s = 2j * math.pi * np.geomspace(1.0, 1e4, 12)
    expected = (s / natural) ** 2 / second_order(s, natural, quality)
    whole = high().transfer("signal", "output")
    assert whole(s.imag / 2 / math.pi) == pytest.approx(expected, rel=1e-4)
    form = high().derivation().step("input")
    known = {part_symbol(name): high().values[name] for name in ("c_in", "c_link", "r_link", "r_bias")}
    assert float(form.equation("f_{0,in}").expression.subs(known)) == pytest.approx(natural / 2 / math.pi)
    assert float(form.equation("Q_{in}").expression.subs(known)) == pytest.approx(quality)


def test_a_maximally_flat_high_pass_has_its_cutoff_at_its_natural_frequency():
    """Q = 1/sqrt(2): R_bias twice R_link."""
    flat = high(r_bias="66k").transfer("signal", "output")
    natural = 1 / (2 * math.pi * 22e-9 * math.sqrt(33e3 * 66e3))
    assert flat.low_cutoff() == pytest.approx(natural, rel=1e-4)
    assert flat.peak().above_midband_db == pytest.approx(0.0, abs=1e-3)


@pytest.mark.parametrize("r_bias", ["220k", "470k", "1M"])
def test_a_bias_resistor_chosen_by_habit_makes_it_ring(r_bias):
    """The peak of a second-order high-pass: Q/sqrt(1 - 1/(4 Q^2))."""
    stage = high(r_bias=r_bias)
    quality = math.sqrt(stage.values["r_bias"] / 33e3) / 2
    expected = 20 * math.log10(quality / math.sqrt(1 - 1 / (4 * quality**2)))
    assert stage.transfer("signal", "output").peak().above_midband_db == pytest.approx(expected, abs=1e-3)


def test_a_soft_bias_node_is_in_series_with_the_bias_resistor():
    plain = high(bias="divider", r_top="100k", r_bottom="100k", c_bias=None, r_bias="120k")
    firm = high(r_bias="170k")
    f = np.geomspace(1, 1e4, 9)
    assert plain.transfer("signal", "output")(f) == pytest.approx(
        firm.transfer("signal", "output")(f), rel=1e-4
    )


def test_the_low_pass_in_closed_form():
    """Behind a firm source: w = 1/sqrt(R_1 R_2 C_1 C_2), 1/Q = w C_low (R_1 + R_2)."""
    natural = 1 / math.sqrt(15e3 * 18e3 * 10e-9 * 3.3e-9)
    quality = 1 / (natural * 3.3e-9 * 33e3)
    s = 2j * math.pi * np.geomspace(10.0, 1e5, 12)
    whole = low().transfer("signal", "output")
    assert whole(s.imag / 2 / math.pi) == pytest.approx(1 / second_order(s, natural, quality), rel=1e-3)


def test_the_bias_resistor_of_the_low_pass_divides_and_adds_to_its_source():
    """With a source of 22 k: mid-band R_bias/(R_s + R_bias), and R_s || R_bias in series with R_in."""
    stage = low(r_source="22k")
    whole = stage.transfer("signal", "output")
    share, behind = 220 / 242, 22e3 * 220e3 / 242e3
    natural = 1 / math.sqrt((15e3 + behind) * 18e3 * 10e-9 * 3.3e-9)
    quality = 1 / (natural * 3.3e-9 * (33e3 + behind))
    s = 2j * math.pi * np.geomspace(10.0, 1e5, 12)
    assert whole(s.imag / 2 / math.pi) == pytest.approx(share / second_order(s, natural, quality), rel=1e-3)
    assert whole.midband_gain() == pytest.approx(share, rel=1e-3)
