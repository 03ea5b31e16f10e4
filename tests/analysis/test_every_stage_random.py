"""Facts of physics that hold for any values: hypothesis looks for values that break them."""

import math
from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

import singlerail_nb as sr
from tests.circuits_for_tests import CASES, stages, works_back

FREQUENCIES = np.geomspace(0.1, 100e6, 31)
ROUNDING = 1 + 1e-9
ONE_OPAMP = [case for case in CASES if len(case.circuit.opamps) == 1 and case.has_bias]
PASSIVE_BIAS = [case for case in ONE_OPAMP if not works_back(case.circuit)]
PASSIVE = [c for c in CASES if not c.single_pole and len(c.circuit.opamps) == 1 and not works_back(c.circuit)]
"""One ideal op-amp that drives no branch in its middle: what surrounds it is resistors and capacitors."""

few = settings(max_examples=40)
factors = st.floats(1.01, 30.0)


@few
@given(stages())
def test_nothing_is_ever_not_a_number(stage):
    for source in ("signal", "supply"):
        for node in stage.circuit.nodes:
            transfer = stage.transfer(source, node)
            assert np.isfinite(transfer(FREQUENCIES)).all()
            assert np.isfinite(transfer.poles()).all()
            assert np.isfinite(transfer.zeros()).all()
            assert np.isfinite(transfer.group_delay(FREQUENCIES)).all()
            assert 0 <= transfer.midband_gain() < math.inf
            assert 0 <= transfer.low_cutoff() < math.inf
            assert transfer.high_cutoff() > transfer.low_cutoff()


@few
@given(stages([case for case in CASES if not case.single_pole]))
def test_stages_of_ideal_op_amps_settle(stage):
    """With ideal op-amps what is left are resistors and capacitors: no pole on the right.

    None is complex either, unless an op-amp drives the middle of a branch.
    """
    poles = stage.transfer("signal", "output").poles()
    assert np.all(poles.real < 0)
    if not works_back(stage.circuit):
        assert np.all(np.abs(poles.imag) <= 1e-6 * np.abs(poles))


@few
@given(stages(PASSIVE_BIAS))
def test_passive_nodes_take_power(stage):
    """An impedance of resistors and capacitors has no negative real part."""
    assert np.all(stage.node_impedance("bias")(FREQUENCIES).real >= 0)


@few
@given(stages([case for case in CASES if case.has_bias]))
def test_the_bias_is_never_more_than_the_supply(stage):
    assert 0 <= stage.transfer("supply", "bias")(0.0).real <= ROUNDING


@few
@given(stages(PASSIVE_BIAS))
def test_without_a_buffer_the_bias_only_divides(stage):
    assert np.all(np.abs(stage.transfer("supply", "bias")(FREQUENCIES)) <= ROUNDING)


@few
@given(stages())
def test_a_real_signal_has_a_real_answer_at_dc_and_conjugate_poles(stage):
    transfer = stage.transfer("supply", "amp_out")
    assert transfer(0.0).imag == 0
    poles = transfer.poles()
    assert np.allclose(np.sort_complex(poles), np.sort_complex(poles.conj()), rtol=1e-6)


def having(part, cases):
    """Return the cases that have a part."""
    return [case for case in cases if part in {p.name for p in case.parts}]


def gains(stage, changed, source="signal", node="output"):
    """Return the gains of a stage and of a changed one."""
    return (np.abs(s.transfer(source, node)(FREQUENCIES)) for s in (stage, changed))


@few
@given(stages(having("c_out", CASES)), factors)
def test_a_larger_output_capacitor_never_lowers_the_gain(stage, factor):
    if stage.values["c_out"] * factor <= 1e-2:
        one, other = gains(stage, stage.with_parts(c_out=stage.values["c_out"] * factor))
        assert np.all(other >= one / ROUNDING)


@few
@given(stages(having("c_in", PASSIVE)), factors)
def test_a_larger_input_capacitor_never_lowers_the_gain(stage, factor):
    """What the source sees is resistive or capacitive, so no resonance can help the smaller one."""
    one, other = gains(stage, stage.with_parts(c_in=stage.values["c_in"] * factor))
    assert np.all(other >= one / ROUNDING)


@few
@given(stages(having("r_source", PASSIVE)), factors)
def test_a_larger_source_resistance_never_raises_the_gain(stage, factor):
    one, other = gains(stage, stage.with_parts(r_source=stage.values["r_source"] * factor))
    assert np.all(other <= one * ROUNDING)


@few
@given(stages(having("r_load", PASSIVE)), factors)
def test_a_lighter_load_never_lowers_the_gain(stage, factor):
    one, other = gains(stage, stage.with_parts(r_load=stage.values["r_load"] * factor))
    assert np.all(other >= one / ROUNDING)


@few
@given(stages(having("c_bias", PASSIVE)), factors, st.sampled_from(["bias", "output"]))
def test_a_larger_filter_capacitor_lets_less_ripple_through(stage, factor, node):
    """At every frequency: it lies from the bias node to ground, beside an impedance that is passive."""
    larger = stage.with_parts(c_bias=stage.values["c_bias"] * factor)
    one, other = gains(stage, larger, "supply", node)
    assert np.all(other <= one * ROUNDING)


@st.composite
def sensible_noninverting(draw):
    """Draw a stage as somebody would build it: R_bias well above the divider's filtered impedance."""

    def log(low, high):
        return low * (high / low) ** draw(st.floats(0.0, 1.0))

    return sr.stage(
        "noninverting",
        supply=9,
        r_source=log(10, 1e3),
        c_in=log(10e-9, 10e-6),
        r_bias=log(22e3, 1e6),
        r_top=log(10e3, 100e3),
        r_bottom=log(10e3, 100e3),
        c_bias=log(10e-6, 100e-6),
        r_f=log(10e3, 220e3),
        r_g=log(470, 4.7e3),
        c_g=log(1e-6, 100e-6),
        c_out=log(1e-6, 100e-6),
        r_load=log(1e3, 100e3),
    )


@few
@given(sensible_noninverting(), st.sampled_from(["c_in", "c_g", "c_out"]), factors)
def test_a_larger_coupling_capacitor_never_raises_the_low_cut_off(stage, part, factor):
    larger = stage.with_parts(**{part: stage.values[part] * factor})
    one, other = (s.transfer("signal", "output").low_cutoff() for s in (stage, larger))
    assert 0 < other <= one * ROUNDING


@few
@given(sensible_noninverting())
def test_the_whole_cuts_off_above_each_of_its_sections(stage):
    """Every section of the low end loses something, so the whole loses more than any of them."""
    whole = stage.transfer("signal", "output").low_cutoff()
    for section in stage.sections():
        assert section.transfer.low_cutoff() <= whole * ROUNDING


@few
@given(stages([case for case in ONE_OPAMP if case.single_pole]), factors)
def test_a_faster_op_amp_reaches_higher(stage, factor):
    """Far above every corner the gain grows with the gain-bandwidth product."""
    faster = replace(stage, opamp=replace(stage.opamp, gbw=stage.opamp.gbw * factor))
    one, other = (abs(s.transfer("signal", "amp_out")(1e12)) for s in (stage, faster))
    assert other >= one
