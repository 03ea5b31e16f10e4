"""Formulas turned over, and the record of a choice."""

import pytest
import sympy

import singlerail_nb as sr
from singlerail_nb.circuit.symbols import part_symbol
from singlerail_nb.designing.draft import Draft, circuit_and_derivation, solved_for
from singlerail_nb.errors import UnknownNameError

NEEDED = sr.Requirements("9 V", 5, "22k", "40 Hz", source_resistance="1k")


@pytest.mark.parametrize("topology", ["noninverting", "inverting", "follower"])
@pytest.mark.parametrize("loaded", [False, True])
def test_every_equation_can_be_solved_for_its_parts(topology, loaded):
    _, steps = circuit_and_derivation(topology, loaded)
    solved = 0
    for key, step in steps.items():
        for equation in step.equations:
            if equation.unit != "Hz" or key == "cascade":
                continue
            for name in ("c_in", "c_bias", "c_g", "c_out", "r_bias", "r_load"):
                part = part_symbol(name)
                if equation.expression.has(part):
                    target = sympy.Symbol("f_x", positive=True)
                    formula = solved_for(name, equation.expression, "f_x")
                    assert not formula.has(part)
                    assert sympy.simplify(equation.expression.subs(part, formula) - target) == 0
                    solved += 1
    assert solved >= 2


def test_a_number_needs_all_its_values():
    draft = Draft(NEEDED, "noninverting")
    corner = draft.equation("input", "f_{in}")
    with pytest.raises(KeyError):
        draft.number(corner)
    assert draft.number(corner, R_bias=99e3, C_in=1e-6) == pytest.approx(1.5915, rel=1e-4)


def test_a_draft_starts_with_what_is_given():
    assert Draft(NEEDED, "follower").values == {"r_source": 1e3}
    loaded = sr.Requirements("9 V", 5, "22k", "40 Hz", load="10k")
    assert Draft(loaded, "noninverting").values == {"r_source": 0.0, "r_load": 10e3}
    assert "c_out" in Draft(loaded, "noninverting").circuit.part_names
    assert "c_out" not in Draft(NEEDED, "noninverting").circuit.part_names


def test_each_kind_of_part_is_rounded_in_its_own_series():
    draft = Draft(NEEDED, "noninverting")
    assert draft.rounded("r_f", 10.4e3, "nearest") == (10e3, "nearest, E24")
    assert draft.rounded("c_in", 1.04e-6, "up") == (1.5e-6, "up, E6")
    assert draft.rounded("c_in", 1.04e-6, "down") == (1e-6, "down, E6")


def test_an_unknown_equation_is_refused():
    draft = Draft(NEEDED, "follower")
    with pytest.raises(KeyError):
        draft.equation("input", "f_{nothing}")
    with pytest.raises(UnknownNameError):
        Draft(NEEDED, "followr")
