"""The records of a derivation: equations, identities, steps."""

from __future__ import annotations

from dataclasses import dataclass, replace

import sympy

from ..errors import UnknownNameError
from .circuit import closest
from .standard_forms import same
from .typeset import latex, sentence, upright


@dataclass(frozen=True)
class Equation:
    """A named result.

    Attributes
    ----------
    name : str
        Its left side as LaTeX, such as ``"H_{in}(s)"``.
    expression : sympy expression
        Its right side.
    unit : str
        "V/V", "V", "ohm", "F", "s", "Hz" or "ratio" for a pure number.
    shown : sympy expression, optional
        The right side in the abbreviations of the step, for display; the same value.
    plain : str
        The left side in plain text, where the LaTeX does not read well.
    """

    name: str
    expression: sympy.Expr
    unit: str
    shown: sympy.Expr | None = None
    plain: str = ""

    @property
    def right_side(self) -> sympy.Expr:
        """The right side as it is displayed."""
        return self.expression if self.shown is None else self.shown

    @property
    def latex(self) -> str:
        """The equation as LaTeX."""
        return f"{upright(self.name)} = {latex(self.right_side)}"

    @property
    def text(self) -> str:
        """The equation as plain text."""
        plain = self.plain or self.name.translate(str.maketrans("", "", "\\{}"))
        return f"{plain} = {self.right_side}"


@dataclass(frozen=True)
class Identity:
    """A claim that two expressions are the same.

    Attributes
    ----------
    claim : str
        In words.
    stated, from_circuit : sympy expression
        What the step states, and what the network function of the circuit gives.
    """

    claim: str
    stated: sympy.Expr
    from_circuit: sympy.Expr

    def holds(self) -> bool:
        """Return whether the two are identical."""
        return same(self.stated, self.from_circuit)


@dataclass(frozen=True)
class DerivationStep:
    """One step of a derivation.

    Attributes
    ----------
    key : str
        Short name: "bias", "follower", "input", "coupling", "amplifier", "cascade", "output", "line" or
        "whole", with a number if there are several, such as "amplifier_2".
    title, question, remark : str
        Heading, the question the step answers, and what to learn from it.
    equations : tuple of Equation
        Results in reading order.
    identities : tuple of Identity
        The machine checks.
    """

    key: str
    title: str
    question: str
    remark: str
    equations: tuple[Equation, ...]
    identities: tuple[Identity, ...]

    @property
    def latex(self) -> str:
        """All equations as one aligned block of LaTeX."""
        rows = r" \\ ".join(equation.latex.replace(" = ", " &= ", 1) for equation in self.equations)
        return rf"\begin{{aligned}} {rows} \end{{aligned}}"

    @property
    def text(self) -> str:
        """All equations as plain text, one a line."""
        return "\n".join(equation.text for equation in self.equations)

    def __repr__(self) -> str:
        return f"{self.title}\n{self.text}"

    def _repr_markdown_(self) -> str:
        question, remark = sentence(self.question), sentence(self.remark)
        return f"**{self.title}.** {question}\n\n$${self.latex}$$\n\n{remark}"

    def check(self) -> bool:
        """Return whether every identity of the step holds."""
        return all(identity.holds() for identity in self.identities)

    def equation(self, name: str) -> Equation:
        """Return an equation by its left side.

        Parameters
        ----------
        name : str
            LaTeX of the left side.

        Raises
        ------
        KeyError
            If the step has no such equation.
        """
        for equation in self.equations:
            if equation.name == name:
                return equation
        raise KeyError(name)


class Derivation(tuple[DerivationStep, ...]):
    """The steps of a derivation in reading order; shows itself with typeset formulas in a notebook."""

    __slots__ = ()

    def step(self, key: str) -> DerivationStep:
        """Return a step by its key.

        Parameters
        ----------
        key : str
            As in `DerivationStep`.

        Raises
        ------
        UnknownNameError
            If the derivation has no such step.
        """
        for step in self:
            if step.key == key:
                return step
        keys = [step.key for step in self]
        raise UnknownNameError("step", key, allowed="a step of this derivation", remedy=closest(key, keys))

    def check(self) -> bool:
        """Return whether every identity of every step holds."""
        return all(step.check() for step in self)

    @property
    def text(self) -> str:
        """All steps as plain text."""
        return "\n\n".join(f"{step.title}\n{step.text}" for step in self)

    def __repr__(self) -> str:
        return self.text

    def _repr_markdown_(self) -> str:
        return "\n\n".join(step._repr_markdown_() for step in self)


def with_unique_keys(steps: list[DerivationStep]) -> list[DerivationStep]:
    """Return the steps with a number after every key that was used before: ``amplifier_2``.

    Parameters
    ----------
    steps : list of DerivationStep
        In reading order.
    """
    seen: dict[str, int] = {}
    unique = []
    for step in steps:
        seen[step.key] = count = seen.get(step.key, 0) + 1
        title = step.title if count == 1 else f"{step.title}, {_ORDINALS.get(count, str(count))} stage"
        key = step.key if count == 1 else f"{step.key}_{count}"
        unique.append(replace(step, key=key, title=title))
    return unique


_ORDINALS = {2: "second", 3: "third", 4: "fourth"}
