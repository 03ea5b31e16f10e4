"""Sensitivities: against differences, against scaling laws, and as formulas."""

import numpy as np
import pytest
import sympy

from singlerail_nb.analysis.sensitivity import _by_difference, log_shares, sensitivities, sensitivity_formula
from singlerail_nb.analysis.tolerance_catalogue import standard_figures
from singlerail_nb.analysis.tolerance_stage_figures import Settling
from singlerail_nb.circuit.symbols import S, part_symbol
from singlerail_nb.errors import UnknownNameError
from tests.sensible_stages import SENSIBLE, noninverting

STAGE = noninverting(r_bottom="47k")


@pytest.mark.parametrize("name", SENSIBLE)
def test_exact_against_central_difference(name):
    stage = SENSIBLE[name]
    for figure in standard_figures(stage).values():
        if isinstance(figure, Settling):
            continue
        found = sensitivities(stage, figure)
        differences = _by_difference(stage, figure, found.value)
        assert found.shares == pytest.approx(differences, abs=1e-6), figure.name


def test_scaling_laws():
    kinds = {part.name: part.kind for part in STAGE.circuit.parts}

    def total(figure, kind):
        shares = sensitivities(STAGE, standard_figures(STAGE)[figure]).shares
        return sum(share for name, share in shares.items() if kinds.get(name) == kind)

    # Every capacitance times k divides every frequency by k, and so does every resistance.
    assert total("low_cutoff", "capacitor") == pytest.approx(-1, abs=1e-12)
    assert total("low_cutoff", "resistor") == pytest.approx(-1, abs=1e-12)
    assert total("midband_gain", "resistor") == pytest.approx(0, abs=1e-12)
    assert total("input_impedance", "resistor") == pytest.approx(1, abs=1e-12)
    assert total("bias_voltage", "resistor") == pytest.approx(0, abs=1e-12)


def test_ranking_of_the_bias():
    # V_S R_B/(R_A + R_B): the shares of the resistors are R_A/(R_A + R_B), of opposite sign.
    ranked = sensitivities(STAGE, standard_figures(STAGE)["bias_voltage"]).ranked()
    assert ranked[0][0] == "supply"
    assert dict(ranked) == pytest.approx({"supply": 1.0, "r_top": -33 / 80, "r_bottom": 33 / 80})


def test_formula_of_the_midband_gain():
    r_f, r_g = part_symbol("r_f"), part_symbol("r_g")
    found = sensitivity_formula(STAGE.transfer("signal", "output"), "r_f", midband=True)
    assert sympy.simplify(found - r_f / (r_f + r_g)) == 0


@pytest.mark.parametrize("part", ["c_in", "r_bias", "c_g", "r_load"])
def test_formula_gives_the_number(part):
    transfer = STAGE.transfer("signal", "output")
    formula = sensitivity_formula(transfer, part)
    numbers = {part_symbol(name): value for name, value in STAGE.parameters.items()} | {S: 2j * np.pi * 30.0}
    shares = log_shares(transfer.function, STAGE.parameters, 30.0)
    assert complex(formula.subs(numbers)) == pytest.approx(shares[part], rel=1e-9)


def test_formula_of_an_unknown_part():
    with pytest.raises(UnknownNameError, match="r_x"):
        sensitivity_formula(STAGE.transfer("signal", "output"), "r_x")
