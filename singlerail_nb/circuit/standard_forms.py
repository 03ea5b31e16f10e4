"""Write a function the way a reader knows it: a constant, a pole, perhaps a zero; or f_0 and Q."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import sympy

from .symbols import S

Shape = Literal[
    "constant", "low-pass", "high-pass", "shelf", "second-order low-pass", "second-order high-pass", "other"
]


@dataclass(frozen=True)
class StandardForm:
    """A network function in standard form.

    Attributes
    ----------
    shape : "constant", "low-pass", "high-pass", "shelf", "second-order ..." or "other"
        What kind of function it is; "other" has more poles or zeros.
    constant : sympy expression
        The flat value: at DC for a constant, low-pass or shelf, at infinity for a high-pass.
    pole, zero : sympy expression or None
        Time constants in seconds: the denominator is 1 + s*pole, the numerator 1 + s*zero.
    natural, quality : sympy expression or None
        Of second order, omega_0 in rad/s and Q: the denominator is s^2 + s omega_0/Q + omega_0^2.
    """

    shape: Shape
    constant: sympy.Expr
    pole: sympy.Expr | None = None
    zero: sympy.Expr | None = None
    natural: sympy.Expr | None = None
    quality: sympy.Expr | None = None

    @property
    def expression(self) -> sympy.Expr:
        """The function put together again from its constants."""
        if self.shape == "low-pass":
            return self.constant / (1 + S * self.pole)
        if self.shape == "high-pass":
            return self.constant * S * self.pole / (1 + S * self.pole)
        if self.shape == "shelf":
            return self.constant * (1 + S * self.zero) / (1 + S * self.pole)
        if self.natural is not None:
            power = self.natural**2
            top = S**2 if self.shape == "second-order high-pass" else power
            return self.constant * top / (S**2 + S * self.natural / self.quality + power)
        return self.constant

    def shown(self, constant: str, pole: str, zero: str = "") -> sympy.Expr:
        """Return the function with its constants abbreviated, for display.

        Parameters
        ----------
        constant, pole, zero : str
            Symbols for the constant and the two frequencies in Hz, such as ``"k"`` and ``"f_b"``.
        """
        k, low, high = (sympy.Symbol(n.replace("{", "").replace("}", "")) for n in (constant, pole, zero))
        over = S / (2 * sympy.pi)
        if self.shape == "low-pass":
            return k / (1 + over / low)
        if self.shape == "high-pass":
            return k * S / (S + 2 * sympy.pi * low)
        if self.shape == "shelf":
            start = 1 if self.constant == 1 else k
            return start * (1 + over / high) / (1 + over / low)
        return self.constant

    @property
    def natural_frequency(self) -> sympy.Expr:
        """Frequency f_0 of a second-order form, Hz."""
        return self.natural / (2 * sympy.pi)

    @property
    def pole_frequency(self) -> sympy.Expr:
        """Frequency of the pole, 1/(2 pi tau), Hz."""
        return 1 / (2 * sympy.pi * self.pole)

    @property
    def zero_frequency(self) -> sympy.Expr:
        """Frequency of the zero, 1/(2 pi tau), Hz."""
        return 1 / (2 * sympy.pi * self.zero)


def standard_form(expression: sympy.Expr) -> StandardForm:
    """Return the standard form of a network function.

    Parameters
    ----------
    expression : sympy expression
        A ratio of polynomials in s.
    """
    top, bottom = (sympy.Poly(part, S) for part in sympy.fraction(sympy.together(expression)))
    if top.degree() > 1 or bottom.degree() > 1:
        return _second_order(top, bottom) or StandardForm("other", expression)
    n1, n0 = top.coeff_monomial(S), top.coeff_monomial(1)
    d1, d0 = bottom.coeff_monomial(S), bottom.coeff_monomial(1)
    if d1 == 0 and n1 == 0:
        return StandardForm("constant", sympy.factor(n0 / d0))
    if d1 == 0:
        return StandardForm("other", expression)
    pole = sympy.factor(d1 / d0)
    if n0 == 0:
        return StandardForm("high-pass", sympy.factor(n1 / d1), pole)
    if n1 == 0:
        return StandardForm("low-pass", sympy.factor(n0 / d0), pole)
    return StandardForm("shelf", sympy.factor(n0 / d0), pole, sympy.factor(n1 / n0))


def _second_order(top: sympy.Poly, bottom: sympy.Poly) -> StandardForm | None:
    """Return the form of a pure second-order low-pass or high-pass; None if it is something else."""
    n2, n1, n0 = (top.coeff_monomial(S**power) for power in (2, 1, 0))
    d2, d1, d0 = (bottom.coeff_monomial(S**power) for power in (2, 1, 0))
    pure = bottom.degree() == 2 and top.degree() <= 2 and n1 == 0 and d1 != 0 and d0 != 0
    if not pure or bool(n2 != 0) == bool(n0 != 0):
        return None
    natural = sympy.sqrt(sympy.factor(d0 / d2))
    quality = sympy.sqrt(sympy.factor(d0 * d2)) / sympy.factor(d1)
    if n2 == 0:
        return StandardForm("second-order low-pass", sympy.factor(n0 / d0), natural=natural, quality=quality)
    return StandardForm("second-order high-pass", sympy.factor(n2 / d2), natural=natural, quality=quality)


def limit_large(expression: sympy.Expr, symbol: sympy.Symbol) -> sympy.Expr:
    """Return the limit of a ratio of polynomials as a positive symbol grows without bound.

    Parameters
    ----------
    expression : sympy expression
        A ratio of polynomials whose coefficients are all of one sign.
    symbol : sympy symbol
        The part that grows.
    """
    top, bottom = (sympy.Poly(part, symbol) for part in sympy.fraction(sympy.together(expression)))
    if top.degree() != bottom.degree():
        return sympy.Integer(0) if top.degree() < bottom.degree() else sympy.oo
    return sympy.cancel(top.LC() / bottom.LC())


def same(one: sympy.Expr, other: sympy.Expr) -> bool:
    """Return whether two ratios of polynomials, square roots in the coefficients allowed, are identical.

    Parameters
    ----------
    one, other : sympy expression
        What to compare.
    """
    return bool(sympy.expand(sympy.numer(sympy.together(one - other))) == 0)
