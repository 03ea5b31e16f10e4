"""Formulas typed by a reader, turned into sympy objects by a small parser of our own.

Only numbers, the names that a question allows, ``+ - * / ^ ( )``, ``sqrt`` and ``pi`` exist.  The
text is never evaluated as Python; length, depth and exponents are bounded.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import sympy

from .errors import QuantityError

LONGEST_FORMULA = 200
DEEPEST_NESTING = 20
LARGEST_EXPONENT = 12
LARGEST_NUMBER_BITS = 4096

_TOKEN = re.compile(
    r"\s*(?:(?P<number>[0-9]+\.?[0-9]*(?:[eE][+-]?[0-9]{1,2})?|\.[0-9]+)|(?P<name>[^\W\d]\w*)|(?P<sign>\*\*|[-+*/^()]))"
)
_SAME_SIGNS = str.maketrans({"−": "-", "·": "*", "×": "*", "÷": "/", "[": "(", "]": ")", "π": " pi "})
_FUNCTIONS = {"sqrt": sympy.sqrt}
_CONSTANTS = {"pi": sympy.pi}


@dataclass(frozen=True)
class _Token:
    kind: str
    text: str


def parse_formula(text: str, symbols: Mapping[str, sympy.Symbol]) -> sympy.Expr:
    """Return a typed formula as a sympy expression.

    Parameters
    ----------
    text : str
        Such as ``"1/(2 pi R_b C_in)"``; a product needs no sign between its factors if they are
        separated by a space or bracket.
    symbols : mapping of str to sympy.Symbol
        The names that may occur; capital and small letters differ, underscores may be left out.

    Raises
    ------
    QuantityError
        If the text is no such formula.
    """
    if not isinstance(text, str) or len(text) > LONGEST_FORMULA:
        raise _refused(str(text)[:40], f"Write it in at most {LONGEST_FORMULA} characters.")
    parser = _Parser(text, symbols)
    expression = parser.sum(0)
    if parser.current is not None:
        raise _refused(text, f'Something is wrong before "{parser.current.text}".')
    return expression


def same_formula(one: sympy.Expr, other: sympy.Expr) -> bool:
    """Return whether two formulas are algebraically the same, for positive values of their symbols.

    Both are evaluated with 60 digits at several points without any pattern.  Different formulas of
    the size that `parse_formula` lets through agree there only by a miracle, and unlike symbolic
    simplification this takes a bounded time for whatever a reader types.

    Parameters
    ----------
    one, other : sympy expression
        Formulas without s or j.
    """
    names = sorted(one.free_symbols | other.free_symbols, key=str)
    return all(_agree(one, other, _point(names, seed)) for seed in range(_POINTS))


_POINTS, _DIGITS, _AGREE = 5, 60, 1e-40


def _point(symbols: list[sympy.Symbol], seed: int) -> dict[sympy.Symbol, sympy.Rational]:
    """Return a positive fraction of large primes for each symbol."""
    primes = [sympy.prime(200 + 31 * seed + 7 * k) for k in range(len(symbols))]
    return {x: sympy.Rational(p, 997 + seed) for x, p in zip(symbols, primes, strict=True)}


def _agree(one: sympy.Expr, other: sympy.Expr, point: dict[sympy.Symbol, sympy.Rational]) -> bool:
    values = [expression.evalf(_DIGITS, subs=point) for expression in (one, other)]
    if not all(value.is_finite for value in values):
        return False
    return bool(abs(values[0] - values[1]) <= _AGREE * (abs(values[0]) + abs(values[1])))


def _bits(number: sympy.Rational) -> int:
    return max(int(number.p).bit_length(), int(number.q).bit_length())


def _refused(text: str, remedy: str) -> QuantityError:
    allowed = "numbers, the names of the question, + - * / ^ ( ), sqrt and pi"
    return QuantityError("formula", text, allowed=allowed, remedy=remedy)


class _Parser:
    """Recursive descent over a list of tokens."""

    def __init__(self, text: str, symbols: Mapping[str, sympy.Symbol]) -> None:
        self._text = text
        self._names = {**symbols, **{name.replace("_", ""): symbol for name, symbol in symbols.items()}}
        self._tokens = list(_tokens(text))
        self._at = 0

    @property
    def current(self) -> _Token | None:
        return self._tokens[self._at] if self._at < len(self._tokens) else None

    def _take(self, *signs: str) -> str | None:
        """Step over one of some signs, if it is next."""
        token = self.current
        if token is None or token.kind != "sign" or token.text not in signs:
            return None
        self._at += 1
        return token.text

    def sum(self, depth: int) -> sympy.Expr:
        if depth > DEEPEST_NESTING:
            raise _refused(self._text, f"Nest at most {DEEPEST_NESTING} brackets.")
        total = self.product(depth)
        while sign := self._take("+", "-"):
            term = self.product(depth)
            total = total + term if sign == "+" else total - term
        return total

    def product(self, depth: int) -> sympy.Expr:
        value = self.signed(depth)
        while True:
            if sign := self._take("*", "/"):
                factor = self.signed(depth)
                value = value * factor if sign == "*" else self._quotient(value, factor)
            elif self._starts_factor():
                value = value * self.power(depth)
            else:
                return value

    def _quotient(self, top: sympy.Expr, bottom: sympy.Expr) -> sympy.Expr:
        if bottom == 0:
            raise _refused(self._text, "It divides by zero.")
        return top / bottom

    def _starts_factor(self) -> bool:
        token = self.current
        return token is not None and (token.kind != "sign" or token.text == "(")

    def signed(self, depth: int) -> sympy.Expr:
        if self._take("-"):
            return -self.signed(depth + 1)
        if self._take("+"):
            return self.signed(depth + 1)
        return self.power(depth)

    def power(self, depth: int) -> sympy.Expr:
        base = self.atom(depth)
        if not self._take("^", "**"):
            return base
        exponent = self.signed(depth + 1)
        if not exponent.is_Rational or max(abs(exponent.p), exponent.q) > LARGEST_EXPONENT:
            raise _refused(self._text, f"Exponents are whole numbers or fractions up to {LARGEST_EXPONENT}.")
        if base == 0 and exponent < 0:
            raise _refused(self._text, "It divides by zero.")
        if base.is_Rational and _bits(base) * abs(exponent) > LARGEST_NUMBER_BITS:
            raise _refused(self._text, "A power of numbers in it is too large to be written out.")
        return base**exponent

    def atom(self, depth: int) -> sympy.Expr:
        token = self.current
        if token is None:
            raise _refused(self._text, "It ends too early.")
        self._at += 1
        if token.kind == "number":
            return sympy.Rational(token.text)
        if token.kind == "name":
            return self._named(token.text, depth)
        if token.text != "(":
            raise _refused(self._text, f'A number, name or bracket is missing before "{token.text}".')
        return self._bracket(depth)

    def _bracket(self, depth: int) -> sympy.Expr:
        inside = self.sum(depth + 1)
        if not self._take(")"):
            raise _refused(self._text, "A closing bracket is missing.")
        return inside

    def _named(self, name: str, depth: int) -> sympy.Expr:
        if name in self._names:
            return self._names[name]
        if name in _CONSTANTS:
            return _CONSTANTS[name]
        if name in _FUNCTIONS:
            if not self._take("("):
                raise _refused(self._text, f"Write {name} with brackets: {name}(...).")
            return _FUNCTIONS[name](self._bracket(depth))
        known = ", ".join(dict.fromkeys(symbol.name for symbol in self._names.values()))
        raise _refused(self._text, f"There is no {name} here; the names are {known}.")


def _tokens(text: str) -> Iterator[_Token]:
    plain = text.translate(_SAME_SIGNS).rstrip()
    at = 0
    while at < len(plain):
        match = _TOKEN.match(plain, at)
        if match is None:
            raise _refused(text, f'The sign "{plain[at:].strip()[:1]}" has no place in a formula.')
        yield _Token(match.lastgroup or "", match[match.lastgroup or 0])
        at = match.end()
