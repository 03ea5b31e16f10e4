"""The overall cut-off of two equal poles in a row: input coupling and gain leg."""

from __future__ import annotations

import sympy

from .circuit import Circuit
from .derivation_steps import DerivationStep, Equation, Identity
from .network_functions import transfer_function
from .standard_forms import limit_large
from .symbols import GAIN, S, part_symbol


def is_equal_pole_case(ideal: Circuit) -> bool:
    """Return whether a stage has one op-amp with a coupled input and a coupled gain leg.

    Parameters
    ----------
    ideal : Circuit
        The stage with a firm bias node.
    """
    return len(ideal.opamps) == 1 and {"c_in", "c_g", "r_bias"} <= set(ideal.part_names)


def cascade_step(ideal: Circuit) -> DerivationStep:
    """Return the step that derives the overall cut-off of input coupling and gain leg with equal poles.

    Parameters
    ----------
    ideal : Circuit
        The stage with a firm bias node.
    """
    output = next(opamp.output for opamp in ideal.opamps)
    whole = transfer_function(ideal.opened(*_present(ideal, "c_f")), "signal", output).expression
    equal = _equal_poles(whole)
    ratio = squared_ratio(equal)
    root = _half_power(ratio)
    factor = sympy.sqrt(root)
    limits = (
        (r"\left. f_c/f_p \right|_{G=1}", "f_c/f_p at G = 1", factor.subs(GAIN, 1)),
        (r"\left. f_c/f_p \right|_{G=2}", "f_c/f_p at G = 2", factor.subs(GAIN, 2)),
        (r"\lim_{G \to \infty} f_c/f_p", "f_c/f_p for large G", sympy.limit(factor, GAIN, sympy.oo)),
    )
    return DerivationStep(
        "cascade",
        "Two equal poles in a row",
        "Input coupling and gain leg have the same pole f_p. Where is the stage really 3 dB down?",
        "The corners do not add and do not stay: the stage cuts off above f_p unless its gain is 1.",
        (
            Equation("f_c/f_p", factor, "ratio"),
            *(Equation(name, v, "ratio", plain=plain) for name, plain, v in limits),
        ),
        (Identity("half the power at that frequency", sympy.Rational(1, 2), ratio.subs(_X, factor)),),
    )


_X = sympy.Symbol("x", positive=True)
_TAU = sympy.Symbol("tau", positive=True)


def _present(circuit: Circuit, *names: str) -> list[str]:
    return [name for name in names if name in circuit.part_names]


def _equal_poles(expression: sympy.Expr) -> sympy.Expr:
    """Put in equal time constants tau, the gain G, and s = j x / tau."""
    source = part_symbol("r_source") if expression.has(part_symbol("r_source")) else sympy.Integer(0)
    series = part_symbol("r_bias") + source
    values = {
        part_symbol("c_in"): _TAU / series,
        part_symbol("c_g"): _TAU / part_symbol("r_g"),
        part_symbol("r_f"): (GAIN - 1) * part_symbol("r_g"),
    }
    return sympy.cancel(expression.subs(values).subs(S, sympy.I * _X / _TAU))


def squared_ratio(response: sympy.Expr) -> sympy.Expr:
    """Return |H|^2 over its limit at high frequency, for a response in the real variable x.

    Parameters
    ----------
    response : sympy expression
        H at s = j x / tau.
    """
    top, bottom = sympy.fraction(sympy.together(response))
    squares = [sympy.expand(part * part.subs(sympy.I, -sympy.I)) for part in (top, bottom)]
    power = sympy.cancel(squares[0] / squares[1])
    return sympy.cancel(power / limit_large(power, _X))


def _half_power(ratio: sympy.Expr) -> sympy.Expr:
    """Return the positive x^2 at which a squared ratio, of second degree in x^2, is one half."""
    top, bottom = (sympy.Poly(part, _X) for part in sympy.fraction(ratio))
    balance = 2 * top - bottom
    a, b, c = (balance.coeff_monomial(_X**power) for power in (4, 2, 0))
    return (-b / 2 + sympy.sqrt(sympy.expand(b**2 / 4 - a * c))) / a
