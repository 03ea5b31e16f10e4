"""The algebra of every stage in every form: identities hold, and its numbers are those of the network."""

import math
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
import sympy

import singlerail_nb as sr
from singlerail_nb.analysis.part_values import present
from singlerail_nb.analysis.stage import Stage
from singlerail_nb.circuit.bias_derivation import bias_alone
from singlerail_nb.circuit.checks import check_circuit
from singlerail_nb.circuit.derivation import derivation, with_ideal_bias
from singlerail_nb.circuit.derivation_steps import Equation, Identity
from singlerail_nb.circuit.elements import GROUND
from singlerail_nb.circuit.network_functions import transfer_function
from singlerail_nb.circuit.printed_names import symbol_name
from singlerail_nb.circuit.stages import build_circuit, stage_type
from singlerail_nb.circuit.symbols import GAIN, S, part_symbol
from singlerail_nb.errors import UnknownNameError

# Values of our own: a contact pickup on a hive, through a load.
PARTS = {
    "r_source": 680.0, "c_in": 470e-9, "r_bias": 82e3, "r_in": 9.1e3, "r_top": 39e3, "r_bottom": 56e3,
    "c_bias": 6.8e-6, "r_f": 62e3, "r_g": 3.9e3, "c_g": 15e-6, "c_f": 120e-12, "c_out": 3.3e-6,
    "r_load": 15e3,
}  # fmt: skip
LEVEL = 2.5
"""Of every reference, V."""
OTHER_PARTS = {"resistor": 12e3, "capacitor": 330e-9}
BY_HAND = ("noninverting", "inverting", "follower", "leg_without_capacitor", "input_without_bias_path")
"""Stages whose corners are worked out by hand below."""

FIRM = 1e9
"""A bias capacitor, F, that holds the bias node at any frequency of interest."""


def _forms():
    """Yield (stage, bias, absent parts, ideal source): every set of optional parts, and the plain divider."""
    for name in sr.stages():
        usual = stage_type(name).usual_bias
        optional = [p.name for p in build_circuit(name).parts if p.when_absent != "required"]
        sizes = range(len(optional) + 1) if len(optional) <= 3 else (0, 1, len(optional))
        gone = [some for n in sizes for some in combinations(optional, n)]
        yield from ((name, usual, absent, False) for absent in gone)
        for absent in (gone[0], gone[-1]):
            yield name, usual, absent, True
            if stage_type(name).uses_bias:
                yield name, "divider", absent, False


def _values(name, bias, absent, ideal_source):
    kept = [p for p in build_circuit(name, bias).parts if p.name not in absent]
    values = {
        part.name: PARTS.get(part.name, OTHER_PARTS[part.kind] * (1.0 + 0.13 * i))
        for i, part in enumerate(kept)
    }
    return values | ({"r_source": 0.0} if ideal_source and "r_source" in values else {})


def _circuit(form):
    name, bias, *_ = form
    return present(build_circuit(name, bias), _values(*form))


def _stage(form, **changes):
    name, bias, *_ = form
    levels = {source.name: LEVEL for source in build_circuit(name, bias).level_sources}
    return Stage(name, 9.0, _values(*form) | changes, bias=bias, levels=levels)


def _sound(form):
    return all(fault.node in stage_type(form[0]).fault_nodes for fault in check_circuit(_circuit(form)))


FORMS = [form for form in _forms() if _sound(form)]


def _name(form):
    name, bias, absent, ideal_source = form
    return "-".join([name, bias, *(f"no {part}" for part in absent), *(["ideal source"] * ideal_source)])


EVERY_FORM = pytest.mark.parametrize("form", FORMS, ids=_name)


def _plain(latex):
    return latex.replace("{", "").replace("}", "").replace("\\", "")


def _number(expression, values):
    known = {part_symbol(name): value for name, value in values.items()}
    return float(expression.subs(known))


def test_every_registered_stage_is_covered():
    assert {form[0] for form in FORMS} == set(sr.stages())
    assert len(FORMS) > 5 * len(sr.stages())


@EVERY_FORM
def test_each_step_is_identical_to_the_network(form):
    steps = derivation(_circuit(form))
    assert steps.check()
    assert all(step.identities for step in steps)
    keys = [step.key for step in steps]
    assert keys[-1] == "whole"
    assert (keys[0] == "bias") == stage_type(form[0]).uses_bias
    assert ("line" in keys) == (not stage_type(form[0]).uses_bias)
    assert len(set(keys)) == len(keys)


@EVERY_FORM
def test_formulas_use_parts_of_the_circuit_and_names_of_their_own_step(form):
    circuit = _circuit(form)
    parts = {symbol_name(name) for name in circuit.part_names}
    for step in derivation(circuit):
        assert step.title
        assert step.question.endswith("?")
        assert step.remark.endswith(".")
        names = {_plain(equation.name) for equation in step.equations}
        assert len(names) == len(step.equations)
        extra = {"s", "G"} if step.key == "cascade" else {"s"}
        for equation in step.equations:
            assert {x.name for x in equation.expression.free_symbols} <= parts | extra
            assert {x.name for x in equation.right_side.free_symbols} <= parts | extra | names
            assert equation.text.count(" = ") >= 1
            left, _, right = equation.latex.partition(" = ")
            assert left
            assert right
        assert step.text.splitlines() == [equation.text for equation in step.equations]
        assert step.latex.count("&=") == len(step.equations)
        assert step.title in step._repr_markdown_()


@pytest.mark.parametrize("name", sr.stages())
def test_a_symbol_means_one_thing_in_a_derivation(name):
    names = [equation.name for step in derivation(build_circuit(name)) for equation in step.equations]
    assert len(names) == len(set(names))


def test_a_second_stage_has_symbols_of_its_own():
    steps = derivation(build_circuit("two_stages"))
    between, second = (steps.step(key) for key in ("coupling", "amplifier_2"))
    assert [e.text.split(" = ")[0] for e in between.equations] == ["k_12", "f_12", "H_12(s)"]
    assert second.equation("f_{z,a2}").text == "f_z,a2 = f_a2/G_2"
    assert str(between.equation("f_{12}").expression) == "1/(2*pi*C_in2*R_bias2)"


@EVERY_FORM
def test_a_displayed_formula_is_the_formula(form):
    for step in derivation(_circuit(form)):
        stand_for = {sympy.Symbol(_plain(e.name)): e.expression for e in step.equations}
        for equation in step.equations:
            shown = equation.right_side
            for _ in range(2):  # f_z = f_a/G stands for two names of its own
                shown = shown.subs({x: stand_for[x] for x in shown.free_symbols & set(stand_for)})
            assert sympy.cancel(shown - equation.expression) == 0, equation.text


@EVERY_FORM
def test_numbers_put_into_the_formulas_are_those_of_the_network(form):
    name, bias, _, ideal_source = form
    values = _values(*form)
    stage = _stage(form)
    steps = derivation(stage.circuit)
    whole = steps.step("whole").equation("H(s)").expression
    numbers = whole.xreplace({part_symbol(n): sympy.Float(v) for n, v in values.items() if v})
    f = np.array([3.0, 47.0, 2.2e3, 91e3])
    got = sympy.lambdify([S], numbers, "numpy")(2j * math.pi * f)
    assert got == pytest.approx(stage.transfer("signal", "output")(f), rel=1e-12)
    if "line" in [step.key for step in steps]:
        for key, source in (("m", "signal"), ("b/V_{ref}", "reference")):
            at_rest = _number(steps.step("line").equation(key).expression, values)
            assert at_rest == pytest.approx(stage.transfer(source, "output")(0.0).real, rel=1e-12)
        return
    r_a, r_b = values["r_top"], values["r_bottom"]
    assert _number(steps.step("bias").equation("k").expression, values) == pytest.approx(r_b / (r_a + r_b))
    if bias == "filtered_divider":
        f_b = _number(steps.step("bias").equation("f_b").expression, values)
        assert f_b == pytest.approx((r_a + r_b) / (2 * math.pi * r_a * r_b * values["c_bias"]), rel=1e-12)
        assert f_b == pytest.approx(float(abs(stage.bias_filter().poles()[0])) / (2 * math.pi), rel=1e-12)
    if name in BY_HAND and not stage_type(name).fault_nodes:  # without a bias path R_s carries no current
        assert whole.has(part_symbol("r_source")) != ideal_source


def _corner_formulas(values):
    """Return the textbook corners, Hz, by the name of their equation, for the parts that are there."""
    corner = lambda resistance, capacitance: 1.0 / (2.0 * math.pi * resistance * capacitance)  # noqa: E731
    v = values
    found = {}
    if "r_bias" in v:
        found["f_{in}"] = corner(v["r_source"] + v["r_bias"], v["c_in"])
    if "r_in" in v:
        found["f_{a}"] = corner(v["r_source"] + v["r_in"], v["c_in"])
    if "c_g" in v:
        found["f_{a}"] = corner(v["r_g"], v["c_g"])
        found["f_{z,a}"] = found["f_{a}"] / (1.0 + v["r_f"] / v["r_g"])
    if "c_out" in v:
        found["f_{out}"] = corner(v["r_load"], v["c_out"])
    return found


@pytest.mark.parametrize(
    "form", [f for f in FORMS if f[0] in BY_HAND and ("c_f" in f[2] or f[0] == "follower")], ids=_name
)
def test_each_corner_is_a_pole_or_zero_of_the_network_with_a_firm_bias(form):
    name, bias, *_ = form
    values = _values(*form)
    equations = {e.name: e for step in derivation(_circuit(form)) for e in step.equations}
    expected = _corner_formulas(values)
    assert set(equations) & {"f_{in}", "f_{a}", "f_{z,a}", "f_{out}"} == set(expected)
    firm = values | ({"c_bias": FIRM} if bias == "filtered_divider" else {"r_bottom": 1e-6})
    whole = Stage(name, 9.0, firm, bias=bias).transfer("signal", "output")
    poles, zeros = (np.abs(x) / (2 * math.pi) for x in (whole.poles(), whole.zeros()))
    for left, hertz in expected.items():
        got = _number(equations[left].expression, values)
        assert got == pytest.approx(hertz, rel=1e-12)
        assert np.min(np.abs((zeros if left == "f_{z,a}" else poles) / hertz - 1.0)) < 1e-6


def test_the_gain_leg_is_told_as_two_impedances():
    step = derivation(build_circuit("noninverting").opened("c_f")).step("amplifier")
    r_f, r_g, c_g = (part_symbol(name) for name in ("r_f", "r_g", "c_g"))
    assert sympy.simplify(step.equation("Z_1").expression - (r_g + 1 / (S * c_g))) == 0
    assert step.equation("Z_2").expression == r_f
    assert sympy.simplify(step.equation("G").expression - (1 + r_f / r_g)) == 0
    assert step.equation("f_{z,a}").text == "f_z,a = f_a/G"


def test_the_inverting_stage_has_one_pole_at_its_input():
    step = derivation(build_circuit("inverting").opened("c_f")).step("amplifier")
    r_s, r_in, r_f, c_in = (part_symbol(name) for name in ("r_source", "r_in", "r_f", "c_in"))
    assert sympy.simplify(step.equation("k_{a}").expression + r_f / (r_s + r_in)) == 0
    assert sympy.simplify(step.equation("f_{a}").expression * 2 * sympy.pi * (r_s + r_in) * c_in) == 1


def test_the_wrong_gain_leg_amplifies_at_dc_as_well():
    step = derivation(build_circuit("leg_without_capacitor").opened("c_f")).step("amplifier")
    gain = 1 + part_symbol("r_f") / part_symbol("r_g")
    assert sympy.simplify(step.equation("H_{a}(s)").expression - gain) == 0
    assert "down to DC" in step.remark
    # With a feedback capacitor the gain falls towards 1 at the top end: that is no mid-band gain.
    with_capacitor = derivation(build_circuit("leg_without_capacitor")).step("amplifier")
    assert sympy.simplify(with_capacitor.equation("k_{a}").expression - gain) == 0
    assert "G" not in {equation.name for equation in with_capacitor.equations}
    assert with_capacitor.remark == step.remark


# Two equal poles in a row.


def _factor():
    return derivation(build_circuit("noninverting")).step("cascade").equation("f_c/f_p").expression


def test_the_cascade_factor_at_its_three_corners_is_exact():
    step = derivation(build_circuit("noninverting")).step("cascade")
    exact = [equation.expression for equation in step.equations[1:]]
    assert exact == [1, sympy.sqrt(2), sympy.sqrt(1 + sympy.sqrt(2))]
    assert [e.plain for e in step.equations[1:]] == [
        "f_c/f_p at G = 1", "f_c/f_p at G = 2", "f_c/f_p for large G",
    ]  # fmt: skip
    assert _factor().free_symbols == {GAIN}
    # Two identical poles in a row: 1/sqrt(sqrt(2) - 1), bandwidth factors of identical poles (handbook
    # table, from memory; Terrell, Op Amps, 2nd ed., table 2.5, ratio 1.0 prints 1.554).
    assert float(exact[2]) == pytest.approx(1.0 / math.sqrt(math.sqrt(2.0) - 1.0), rel=1e-14)
    assert float(exact[2]) == pytest.approx(1.554, abs=5e-4)


@pytest.mark.parametrize("gain", [1.001, 1.2, math.sqrt(2), 2, 3, 7.5, 48, 1001])
@pytest.mark.parametrize("r_source", [0.0, 2.7e3])
def test_the_cascade_factor_is_the_cut_off_of_the_real_stage(gain, r_source):
    pole, r_bias, r_g = 13.0, 68e3, 1.8e3
    stage = Stage(
        "noninverting",
        5.0,
        {
            "r_source": r_source, "r_bias": r_bias, "c_in": 1 / (2 * math.pi * pole * (r_bias + r_source)),
            "r_top": 47e3, "r_bottom": 47e3, "c_bias": FIRM,
            "r_g": r_g, "r_f": (gain - 1) * r_g, "c_g": 1 / (2 * math.pi * pole * r_g),
        },
    )  # fmt: skip
    factor = float(_factor().subs(GAIN, gain))
    assert stage.transfer("signal", "output").low_cutoff() == pytest.approx(factor * pole, rel=1e-9)


def test_the_cascade_factor_only_grows_with_the_gain():
    factors = [float(_factor().subs(GAIN, gain)) for gain in np.geomspace(1, 1e4, 40)]
    assert np.all(np.diff(factors) > 0)
    assert factors[0] == 1.0
    assert factors[-1] < math.sqrt(1 + math.sqrt(2))


def test_only_a_stage_with_both_poles_has_the_cascade_step():
    forms = [form for form in FORMS if form[0] in BY_HAND]
    having = {form[0] for form in forms if "cascade" in [s.key for s in derivation(_circuit(form))]}
    assert having == {"noninverting"}


# The checks can fail.


def test_a_wrong_formula_is_caught():
    # A published misprint (Mancini, Op Amps for Everyone, ch. 10.6: 796 Hz): the divider resistors in
    # series where they are in parallel.
    step = derivation(build_circuit("noninverting")).step("bias")
    r_a, r_b, c = (part_symbol(name) for name in ("r_top", "r_bottom", "c_bias"))
    assert step.check()
    claim, truth = step.identities[0].claim, step.identities[0].from_circuit
    in_series = r_b / (r_a + r_b) / (1 + S * c * (r_a + r_b))
    wrong = replace(step, identities=(*step.identities, Identity(claim, in_series, truth)))
    assert not wrong.check()
    assert not type(derivation(build_circuit("noninverting")))([step, wrong]).check()


@pytest.mark.parametrize("key", ["bias", "input", "amplifier", "cascade", "output", "whole"])
def test_a_small_slip_in_any_step_is_caught(key):
    step = derivation(build_circuit("noninverting")).step(key)
    for identity in step.identities:
        slip = replace(identity, stated=identity.stated * (1 + sympy.Rational(1, 10**9)))
        assert not slip.holds()


def test_a_forgotten_part_breaks_the_identity_of_the_whole():
    circuit = build_circuit("inverting")
    whole = transfer_function(circuit, "signal", "output").expression
    without_source = transfer_function(circuit.shorted("r_source"), "signal", "output").expression
    assert not Identity("source resistance does not matter", whole, without_source).holds()


# Pieces taken alone, and looking things up.


def test_a_firm_bias_is_ground_for_signals():
    ideal = with_ideal_bias(build_circuit("noninverting"))
    assert "bias" not in ideal.nodes
    assert not {"r_top", "r_bottom", "c_bias"} & set(ideal.part_names)
    assert set(ideal.part("r_bias").nodes) == {GROUND, "plus"}
    assert with_ideal_bias(ideal) is ideal


def test_the_divider_alone_keeps_its_own_parts_only():
    alone = bias_alone(build_circuit("inverting"))
    assert set(alone.part_names) == {"r_top", "r_bottom", "c_bias"}
    assert alone.path == ("supply", "bias")
    assert not alone.opamps


def test_an_unknown_step_or_equation_is_named():
    steps = derivation(build_circuit("follower"))
    with pytest.raises(UnknownNameError, match=r"step: got inptu.*Did you mean 'input'"):
        steps.step("inptu")
    with pytest.raises(KeyError, match="f_x"):
        steps.step("input").equation("f_x")


def test_a_derivation_shows_itself():
    steps = derivation(build_circuit("follower"))
    assert repr(steps) == steps.text
    assert repr(steps[0]).splitlines()[0] == "The mid-rail divider"
    assert steps._repr_markdown_().count("\\begin{aligned}") == len(steps)
    assert Equation("f_c", part_symbol("r_f"), "Hz").right_side == part_symbol("r_f")
