"""The algebra of every bias source: proven against the network, and against formulas worked out by hand."""

from dataclasses import replace
from itertools import combinations

import pytest
import sympy

import singlerail_nb as sr
from singlerail_nb.analysis.part_values import present
from singlerail_nb.circuit.bias_derivation import bias_alone, bias_steps, with_firm_bias
from singlerail_nb.circuit.bias_sources import BIAS_SOURCES, bias_circuit
from singlerail_nb.circuit.checks import check_circuit
from singlerail_nb.circuit.derivation import derivation
from singlerail_nb.circuit.network_functions import transfer_function
from singlerail_nb.circuit.stages import build_circuit, stage_type
from singlerail_nb.circuit.symbols import S, part_symbol

PI = sympy.pi
VALUES = {
    "r_top": 39e3, "r_bottom": 56e3, "c_bias": 6.8e-6, "r_zener": 1.2e3, "r_dynamic": 47.0, "r_filter": 8.2e3,
    "r_buffer": 300.0, "r_isolation": 56.0, "c_buffer": 3.3e-6, "r_reference": 1.5,
    "r_source": 680.0, "c_in": 470e-9, "r_bias": 82e3, "r_f": 62e3, "r_g": 3.9e3, "c_g": 15e-6,
}  # fmt: skip
LEVELS = {"zener": 4.1, "reference": 2.5}


def _forms():
    """Yield (bias source, absent parts): every set of its optional parts."""
    for bias in BIAS_SOURCES:
        optional = [p.name for p in bias_circuit(bias).parts if p.when_absent != "required"]
        for n in range(len(optional) + 1):
            yield from ((bias, absent) for absent in combinations(optional, n))


def _circuit(bias, absent=(), name="noninverting"):
    circuit = build_circuit(name, bias)
    own = bias_circuit(bias).part_names
    others = [p.name for p in circuit.parts if p.when_absent != "required" and p.name not in own]
    kept = {p.name: 1.0 for p in circuit.parts if p.name not in (*absent, *others)}
    return present(circuit, kept)


FORMS = [(bias, absent) for bias, absent in _forms() if not check_circuit(_circuit(bias, absent))]
EVERY_FORM = pytest.mark.parametrize(("bias", "absent"), FORMS, ids=str)


def _symbols(*names):
    return [part_symbol(name) for name in names]


def _parallel(one, other):
    return one * other / (one + other)


def _same(one, other):
    return sympy.simplify(one - other) == 0


@EVERY_FORM
def test_every_step_is_identical_to_the_network(bias, absent):
    steps = derivation(_circuit(bias, absent))
    assert steps.check()
    assert steps[0].key == "bias"
    assert ("follower" in [step.key for step in steps]) == (bias == "buffered_divider")
    assert all(step.identities for step in steps)


@pytest.mark.parametrize("name", [n for n in sr.stages() if stage_type(n).uses_bias])
def test_the_bias_of_every_stage_is_derived(name):
    for bias in stage_type(name).bias_sources:
        steps = bias_steps(_circuit(bias, (), name))
        assert steps
        assert all(step.check() for step in steps)
    assert bias_steps(build_circuit(name).opened(*bias_alone(build_circuit(name)).part_names)) == []


@EVERY_FORM
def test_a_displayed_formula_is_the_formula(bias, absent):
    for step in bias_steps(_circuit(bias, absent)):
        stand_for = {
            sympy.Symbol(e.name.translate(str.maketrans("", "", "{}\\"))): e.expression
            for e in step.equations
        }
        for equation in step.equations:
            assert _same(equation.right_side.subs(stand_for), equation.expression)


@EVERY_FORM
def test_where_it_rests_is_where_the_stage_rests(bias, absent):
    own = {n: VALUES[n] for n in bias_circuit(bias).part_names if n not in absent}
    parts = {n: VALUES[n] for n in ("r_source", "c_in", "r_bias", "r_f", "r_g", "c_g")}
    levels = {n: v for n, v in LEVELS.items() if n in bias_circuit(bias).nodes}
    stage = sr.stage("noninverting", supply=9, bias=bias, **own, **parts, **levels)
    known = {part_symbol(n): v for n, v in (own | LEVELS | {"supply": 9.0}).items()}
    step = derivation(stage.circuit).step("bias")
    names = {equation.name: equation.expression for equation in step.equations}
    resting = names.get("V_b", names.get("k", 0) * part_symbol("supply"))
    assert float(resting.subs(known)) == pytest.approx(sr.operating_point(stage).voltage("bias"), rel=1e-9)


# By hand.


def test_a_zener_divides_the_ripple_by_its_small_resistance():
    """AN-581 (Analog Devices): a Zener's dynamic resistance against its feed resistor."""
    r_z, r_d, r_f, c = _symbols("r_zener", "r_dynamic", "r_filter", "c_bias")
    step = derivation(_circuit("zener")).step("bias")
    assert _same(step.equation("k").expression, r_d / (r_z + r_d))
    assert _same(step.equation("k_{Z}").expression, r_z / (r_z + r_d))
    assert _same(step.equation("R_{th}").expression, _parallel(r_z, r_d) + r_f)
    assert _same(step.equation("f_b").expression, 1 / (2 * PI * c * (_parallel(r_z, r_d) + r_f)))
    assert step.equation("V_b").text == "V_b = V_S*k + V_Z*k_Z"
    assert "holds the node" in step.remark


def test_a_reference_has_no_rail_in_its_formula():
    r_ref, r_f, c = _symbols("r_reference", "r_filter", "c_bias")
    step = derivation(_circuit("reference")).step("bias")
    assert [equation.name for equation in step.equations][:2] == ["k_{ref}", "V_b"]
    assert step.equation("V_b").expression == part_symbol("reference")
    assert _same(step.equation(r"\tau_b").expression, c * (r_ref + r_f))
    assert part_symbol("supply") not in {x for e in step.equations for x in e.expression.free_symbols}
    assert "finite rejection" in step.remark


def test_a_follower_leaves_the_divider_unloaded():
    steps = derivation(_circuit("buffered_divider"))
    r_a, r_b, r_iso, c, c_buffer = _symbols("r_top", "r_bottom", "r_isolation", "c_bias", "c_buffer")
    assert _same(steps.step("bias").equation("f_b").expression, 1 / (2 * PI * c * _parallel(r_a, r_b)))
    follower = steps.step("follower")
    assert follower.equation("k_f").expression == 1
    assert follower.equation("R_{out}").expression == r_iso
    assert _same(follower.equation("f_f").expression, 1 / (2 * PI * r_iso * c_buffer))
    bare = derivation(_circuit("buffered_divider", ("r_isolation", "c_buffer"))).step("follower")
    assert [equation.name for equation in bare.equations] == ["k_f"]
    assert "whatever is drawn" in bare.remark


@pytest.mark.parametrize(
    ("bias", "absent", "firm"),
    [
        ("divider", (), {"R_B": 0}),
        ("filtered_divider", (), {"C_bias": sympy.oo}),
        ("zener", ("c_bias",), {"R_filter": 0, "R_dynamic": 0}),
        ("zener", ("c_bias", "r_filter"), {"R_dynamic": 0}),
        ("reference", ("c_bias", "r_filter"), {"R_reference": 0}),
        ("buffered_divider", ("c_buffer",), {"R_isolation": 0}),
    ],
)
def test_what_makes_the_node_firm(bias, absent, firm):
    circuit = _circuit(bias, absent)
    function = transfer_function(circuit, "signal", "amp_out")
    expected = function.expression
    for name, value in firm.items():
        expected = sympy.limit(expected, sympy.Symbol(name, positive=True), value)
    assert _same(with_firm_bias(circuit, function).expression, expected)


@pytest.mark.parametrize("bias", BIAS_SOURCES)
def test_a_small_slip_is_caught(bias):
    for step in bias_steps(_circuit(bias)):
        for identity in step.identities:
            assert identity.holds()
            assert not replace(identity, stated=identity.stated * (1 + S / 10**9)).holds()
